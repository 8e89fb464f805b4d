"""What is said of a visit that was logged, or taken back, and of what the job file then holds."""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from wheelsim.report.words.shared import passes_words

if TYPE_CHECKING:
    from wheelsim.files.log import TakenBack, Written
    from wheelsim.job.job import Job
    from wheelsim.planning.plan_result import Plan

# By how a reading's keys begin.
READ = {"gauge": "gauge", "lateral": "true", "radial": "round", "tension": "tension", "meter": "tension",
        "tone": "tension"}


def told(written: "Written") -> list[str]:
    """What was written, a line each, and whether the plan asks for the gauge now."""
    found = written.as_dict()["written"]
    lines = [f"Pass {one['number']} logged: {len(one['turns'])} nipple{'s' * (len(one['turns']) > 1)} turned."
             for one in found["passes"]]
    if found["reading"] is not None:
        lines.append(f"Read and logged: {tools_of(found['reading'])}.")
        from wheelsim.job.visits import visits

        together = visits(written.job)[-1].reading
        for dial, name in (("lateral", "true"), ("radial", "round")):
            if len(getattr(written.job.readings[-1], dial)) == 1:
                by = "is taken by the dial's zero as it stood before; if the dial was moved since," \
                    if len(getattr(together, dial)) > 1 else "tells nothing, for a dial's zero is free:"
                lines.append(f"One place of {name} alone {by} read some other places with it.")
    made = [one for one in written.job.passes if one.turns is not None]
    read = {one.after_pass for one in written.job.readings}
    lines += [f"Pass {now.number} is the same as pass {was.number}, and nothing was read between: if it was turned "
              f"once and logged twice, wheelsim log {written.file} --take-back"
              f"{', once for the reading and once more,' if written.reading else ''} takes it off."
              for was, now in pairwise(made) if now.number in written.passes and now.planned is None
              and now.made == was.made and was.number not in read]
    unmade = [one.number for one in written.job.passes if one.turns is None]
    otherwise = any(one.planned is not True and dict(one.planned or ()) != dict(one.made)
                    for one in written.job.passes if one.number in written.passes)
    if unmade and otherwise:
        lines.append(f"{passes_words(unmade).capitalize()} stay{'s' * (len(unmade) < 2)} planned; "
                     f"wheelsim plan {written.file} --keep plans anew from here.")
    if found["passes"] and found["reading"] is None and _doubted_before(written):
        lines.append("What was read last was in doubt. If this pass was turned before that reading, take both back and "
                     "log them in one command, the pass with what was read after it.")
    if written.gauge_again:
        from wheelsim.report.words.passes import GAUGE_AGAIN

        lines.append(GAUGE_AGAIN)
    return lines


def _doubted_before(written: "Written") -> bool:
    """Whether a pass logged now may have been turned before the last reading, which would then be explained."""
    from dataclasses import replace

    from wheelsim.estimation.doubts import Contradicted, GaugeUnexpected
    from wheelsim.estimation.known import Known
    from wheelsim.mechanics.structure import Unstable

    passes = tuple(one for one in written.job.passes if one.number not in written.passes)
    try:
        return any(isinstance(one, Contradicted | GaugeUnexpected)
                   for one in Known(replace(written.job, passes=passes)).doubts)
    except Unstable:
        return False


def far_off(written: "Written") -> list[dict[str, Any]]:
    """What was read now and is far from what was expected, for programs, each with its sentence under ``said``."""
    if written.reading is None:
        return []
    from wheelsim.estimation.expected import unexpected
    from wheelsim.report.encode.unexpected import record

    return [record(one) for one in unexpected(written.job)]


def too_far(written: "Written") -> list[dict[str, Any]]:
    """The passes logged now that are larger than a hand gives, likewise."""
    from wheelsim.estimation.large_turns import large_turns
    from wheelsim.report.encode.unexpected import record

    return [record(one) for one in large_turns(written.job, written.passes)]


def taken_back(gone: "TakenBack") -> list[str]:
    """What was taken back, and what still stands in the job that came of it."""
    if gone.reading is not None:
        what = f"reading {gone.reading['label']!r}" if "label" in gone.reading else "reading"
        after = f" after pass {gone.reading['after_pass']}" if gone.reading["after_pass"] else ""
        lines = [f"Taken back: the {what}{after} ({tools_of(gone.reading)})."]
        if again := as_typed(gone.reading):
            lines.append(f"To log it again: wheelsim log {gone.file} {again}")
        if gone.planned:
            lines.append(f"Planned {passes_words(gone.planned)} may have come of "
                         f"it: wheelsim plan {gone.file} --keep plans anew.")
        return lines
    assert gone.made is not None, "a pass, where it was no reading"
    turns = ", ".join(f"{name} {amount}" for name, amount in gone.made["turns"].items())
    return [f"Taken back: pass {gone.made['number']} as made ({turns})"
            + ("; it is planned again." if gone.planned_again else ".")]


def as_typed(reading: Mapping[str, Any]) -> str:
    """The options that log a reading again; empty where it holds what no option tells."""
    def row(values: "Mapping[str, Any] | Sequence[float]") -> str:
        if isinstance(values, Mapping):
            return ",".join(f"{spoke}={value:g}" for spoke, value in values.items())
        return " ".join(f"{value:g}" for value in values)

    out: dict[str, str] = {}
    left = set(reading) - {"after_pass"}
    gauge = reading.get("gauge")
    if isinstance(gauge, Mapping) and "gap_at" in gauge:
        numbers = [f"{gauge[key]:g}" for key in ("gap_mm", "gap_threads", "passes_mm", "stops_mm") if key in gauge]
        gap = "-".join(numbers) + " threads" * ("gap_threads" in gauge)
        out["gauge"] = f"{gauge['set_on']} {gap} {gauge['gap_at']}"
        left -= {"gauge"}
    for dial, option in (("lateral", "true"), ("radial", "round")):
        ends = [f"{dial}_{end}" for end in ("high", "low")]
        if f"{dial}_mm" in reading:
            out[option] = row(reading[f"{dial}_mm"])
        elif all(end in reading for end in ends):
            out[option] = ", ".join(f"{end.partition('_')[2]} {reading[end]['spoke']}={reading[end]['mm']:g}"
                                    for end in ends)
        left -= {f"{dial}_mm", *ends}
    for key, unit in (("tension_N", ""), ("tension_kgf", " kgf")):
        if key in reading:
            out["tension"] = row(reading[key]) + unit
            left -= {key}
    if "label" in reading:
        out["label"] = str(reading["label"])
        left -= {"label"}
    return "" if left or '"' in "".join(out.values()) else " ".join(f'--{name} "{text}"' for name, text in out.items())


def still_planned(file: str, job: "Job", plan: "Plan") -> str:
    """What a job file still holds of passes that were planned before."""
    numbers = [one.number for one in job.passes if one.turns is None]
    passes = f"planned {passes_words(numbers)}"
    if plan.planned_in(job):
        return f"{file} holds these as {passes}."
    return f"{file} still holds {passes} of an earlier plan: --keep puts these in their place."


def tools_of(reading: Mapping[str, Any]) -> str:
    """What was read, in words."""
    tools = (key.partition("_")[0] for key in reading)
    return ", ".join(dict.fromkeys(READ[tool] for tool in tools if tool in READ))
