"""Plans that are proven, so that an experiment finds the same on a busy machine as on an idle one."""

from wheelsim.planning.plan import plan

SECONDS = 120.0  # at most: a plan is done as soon as it is proven


def proven_plan(subject, **words):
    """A plan proven the best there is, by ``plan`` with its words.

    Raises
    ------
    RuntimeError
        If the time was not enough for the proof.
    """
    found = plan(subject, seconds=SECONDS, **words)
    if not found.proven:
        raise RuntimeError(f"{found.wheel}: the plan is {found.status}, not proven within {SECONDS:.0f} s; "
                           "run the experiment again on a machine that is less busy")
    return found
