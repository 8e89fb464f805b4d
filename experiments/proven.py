"""Plans with proof of optimality, so that experiments give the same result on any machine, however busy."""

from wheelsim.planning.plan import plan

SECONDS = 120.0  # time limit; a plan returns as soon as it is proven


def proven_plan(subject, **words):
    """A plan that is proven optimal, by ``plan`` with these options.

    Raises
    ------
    RuntimeError
        If it was not proven within the time limit.
    """
    found = plan(subject, seconds=SECONDS, **words)
    if not found.proven:
        raise RuntimeError(f"{found.wheel}: the plan is {found.status}, not proven within {SECONDS:.0f} s; "
                           "run the experiment again on a machine that is less busy")
    return found
