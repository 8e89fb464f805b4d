"""What was typed to log a visit, as keys and values of a job file."""

import math
import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from wheelsim.cli.typed import BadWords, typed_turns
from wheelsim.files.questions import number
from wheelsim.units import RUN

if TYPE_CHECKING:
    from wheelsim.files.log import ToLog

PLACES = ("hub", "feet", "one foot")
GAUGE = ('the face it was set on, the gap in mm and where, like "right 1.2 hub" (hub, feet or one foot); by feelers '
         '"right 1.2-1.6 hub", what passes and what stops; or "right 3 threads hub"')
UNIT = r"(kgf|kg|N)"
# A decimal comma: digits follow, and no spoke number.
COMMA = re.compile(rf"(=\s*[+-]?\d+),(\d+)(?=\s*{UNIT}?\s*(?:,|$))", re.IGNORECASE)
# Among turns, where 7,9=1/4 names two spokes: after a nought, or at the end.
TURNS_COMMA = re.compile(r"(=\s*[+-]?0),(\d+)(?=\s*(?:,|$))|(=\s*[+-]?\d+),(\d+)(?=\s*$)")


def gauge_from(text: str) -> dict[str, Any]:
    """``right 1.2 hub`` as the gauge of a reading.

    Raises
    ------
    BadWords
    """
    found = re.fullmatch(r"(right|left)\s+(\S*?)\s*(mm|threads?)?\s+(?:at\s+)?(hub|feet|one\s+foot)\s*",
                         text.lstrip())
    try:
        values = [number(one) for one in re.split(r"(?<=\d)-", found[2])] if found else []
    except ValueError:
        values = []
    threads = found is not None and (found[3] or "").startswith("thread")
    if found is None or not values or len(values) > 2 - threads:
        raise BadWords(f"--gauge: {text!r}; expected {GAUGE}")
    keys = ("gap_threads",) if threads else ("gap_mm",) if len(values) == 1 else ("passes_mm", "stops_mm")
    return {"set_on": found[1], **dict(zip(keys, values, strict=True)), "gap_at": " ".join(found[4].split())}


def by_spoke(option: str, text: str) -> dict[str, float]:
    """``7=0.6,21=-0.4`` as values by spoke; a comma will do for a point.

    Raises
    ------
    BadWords
    """
    out: dict[str, float] = {}
    for part in COMMA.sub(r"\1.\2", text).split(","):
        spoke, _, value = (word.strip() for word in part.partition("="))
        try:
            number, amount = int(spoke), float(value)
        except ValueError:
            raise BadWords(f"{option}: {part.strip()!r}; expected spoke=value, like 7=0.6,21=-0.4") from None
        if not math.isfinite(amount):
            raise BadWords(f"{option}: {part.strip()!r}; expected a number, like {spoke}=0.6")
        if str(number) in out:
            raise BadWords(f"{option}: {text!r}; spoke {number} stands twice; expected it once")
        out[str(number)] = amount
    return out


def plain_row(text: str) -> list[float] | None:
    """A plain row of values, from spoke 1 on, ``0.1 0 -0,2``; None where the text is none."""
    words = text.split() if re.search(r"\s", text.strip()) else text.split(",")
    try:
        row = [number(word.removesuffix(",")) for word in words]
    except ValueError:
        return None
    return row if len(row) > 2 else None


def tension_from(option: str, text: str, kgf: bool = False) -> dict[str, Any]:
    """Tensions by spoke, in newtons or, with kgf behind every one or behind them all, in kilogram-force.

    Raises
    ------
    BadWords
    """
    at_end = re.search(rf"{UNIT}\s*$", text, re.IGNORECASE)
    row = plain_row(text[:at_end.start()] if at_end else text)
    if re.search(r"\d,\d{3}(?!\d)", text) and (row is None or re.search(r"\s\d", text)):
        raise BadWords(f"{option}: {text!r}; expected thousands without a comma, like 1=1010")
    if row is None:
        texts = COMMA.sub(r"\1.\2", text).split(",")
        parts = [re.fullmatch(rf"(.*?\d\.?)\s*{UNIT}\s*", part, re.IGNORECASE | re.DOTALL) for part in texts]
        units = ["" if one is None else one[2].lower() for one in parts]
        numbers = ",".join(part if one is None else one[1] for part, one in zip(texts, parts, strict=True))
    else:
        units = [at_end[1].lower() if at_end else ""]
    named = set(units) - {""}
    behind_all = not any(units[:-1])
    if len(named) > 1 or (named and "" in units and not behind_all) or (kgf and named == {"n"}):
        raise BadWords(f"{option}: {text!r}; expected one unit: newtons, or kgf behind them (--kgf says it too)")
    kilograms = kgf or bool(named & {"kgf", "kg"})
    return {"tension_kgf" if kilograms else "tension_N": by_spoke(option, numbers) if row is None else row}


def spokes_there(reading: Mapping[str, Any], turned: Mapping[str, float], n: int) -> None:
    """Raises BadWords where something read or turned names a spoke that a wheel of n has not."""
    given = [(option, reading[key]) for key, option in OPTIONS.items() if key in reading]
    typed = [(option, int(spoke)) for option, values in given if isinstance(values, Mapping) for spoke in values]
    typed += [(OPTIONS[f"{name}_mm"], reading[f"{name}_{end}"]["spoke"]) for name in ("lateral", "radial")
              for end in ("high", "low") if f"{name}_{end}" in reading]
    typed += [("--turned", int(spoke)) for name in turned if name[0].isdigit() for spoke in name.split("-")]
    for option, values in given:
        if not isinstance(values, Mapping) and len(values) != n:
            raise BadWords(f"{option}: {len(values)} values; expected one for each of the {n} spokes, or spoke=value, "
                           "like 7=0.6,21=-0.4")
    for option, spoke in typed:
        if not 1 <= spoke <= n:
            raise BadWords(f"{option}: spoke {spoke}; expected 1 to {n}")


def dial_from(option: str, name: str, text: str) -> dict[str, Any]:
    """A dial's places: some spokes, or ``high 7=0.6, low 21=-0.4`` for the highest and the lowest of the whole rim.

    Raises
    ------
    BadWords
    """
    if not text.lstrip().startswith(("high", "low")):
        row = plain_row(text)
        return {f"{name}_mm": by_spoke(option, text) if row is None else row}
    out: dict[str, Any] = {}
    for part in re.split(r"(?:,\s*|\s+)(?=high|low)", text.strip()):
        end, _, rest = part.strip().partition(" ")
        if end not in ("high", "low") or f"{name}_{end}" in out:
            raise BadWords(f"{option}: {text!r}; expected like: high 7=0.6, low 21=-0.4")
        if rest.count("=") != 1:
            raise BadWords(f"{option}: {text!r}; expected like: high 7=0.6, low 21=-0.4")
        (spoke, mm), = by_spoke(option, rest.replace(",", ".")).items()  # of one number a comma can only be its point
        out[f"{name}_{end}"] = {"spoke": int(spoke), "mm": mm}
    if len(out) < 2:
        raise BadWords(f"{option}: {text!r}; expected the highest and the lowest, like: high 7=0.6, low 21=-0.4")
    return out


def turned_from(words: Sequence[str]) -> dict[str, float]:
    """``right=1/4``, ``7-9=-1/8`` as turns by side, spoke or run of spokes.

    Raises
    ------
    BadWords
    """
    out: dict[str, float] = {}
    for word in words:
        names: list[str] = []
        pointed = TURNS_COMMA.sub(lambda found: f"{found[1] or found[3]}.{found[2] or found[4]}", word)
        if pointed != word and re.search(r"=\s*[+-]?\d+\s*,\s*\d+\s*,", pointed):
            raise BadWords(f"--turned: {word!r}; expected decimals after a point, where one comma could be either")
        for part in pointed.split(","):
            name, equals, amount = (one.strip() for one in part.partition("="))
            names.append(_turned_name(name, word))
            if equals:
                turns = typed_turns("--turned", amount)
                out.update({key: out.get(key, 0.0) + turns for key in names})
                names = []
        if names:
            raise BadWords(f"--turned: {word!r}; expected what and turns, like right=1/4, 7-9=-1/8 or 12=1/2")
    return out


def _turned_name(name: str, word: str) -> str:
    """A side, a spoke or a run of spokes, as a job file writes it."""
    run = RUN.fullmatch(name)
    if name in ("right", "left"):
        return name
    if run is None:
        raise BadWords(f"--turned: {word!r}; expected right, left, a spoke or a run of spokes like 7-9")
    return str(int(run[1])) if run[2] is None else f"{int(run[1])}-{int(run[2])}"


def visit_from(*, done: Sequence[int], turned: Sequence[str], gauge: str | None, true: str | None, round_: str | None,
               tension: str | None, kgf: bool, label: str | None) -> "ToLog":
    """The visit that options tell.

    Raises
    ------
    BadWords
        When they can't be meant.
    """
    from wheelsim.files.log import ToLog

    reading: dict[str, Any] = {}
    if gauge is not None:
        reading["gauge"] = gauge_from(gauge)
    if true is not None:
        reading.update(dial_from("--true", "lateral", true))
    if round_ is not None:
        reading.update(dial_from("--round", "radial", round_))
    if tension is not None:
        reading.update(tension_from("--tension", tension, kgf))
    elif kgf:
        raise BadWords("--kgf: nothing to count in it; expected --tension beside it")
    if label is not None:
        if not reading:
            raise BadWords(f"--label: {label!r}; expected something read beside it")
        reading = {"label": label, **reading}
    return ToLog(tuple(dict.fromkeys(done)), turned_from(turned), reading)


OPTIONS = {"lateral_mm": "--true", "radial_mm": "--round", "tension_N": "--tension", "tension_kgf": "--tension"}
