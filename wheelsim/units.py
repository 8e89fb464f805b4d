"""Conversion between bench units and SI, and numbers of turns and spokes as mechanics write them."""

import re
from collections.abc import Iterable
from fractions import Fraction

MM = 1e-3  # [m]
KGF = 9.80665  # [N], standard gravity (CGPM 1901)
INCH = 25.4e-3  # [m]
BAR = 1e5  # [Pa]
QUARTER = 0.25  # [turn]
MOST_TURNS = 20  # own choice: about a whole thread; more is a typing error, or degrees [turn]
# Sign, then either "whole top/bottom" or a decimal number.
TURNS = re.compile(r"([+-]?)(?:(?:(\d{1,9}) +)?(\d{1,9})/(\d{1,9})|(\d{0,9}\.?\d{1,18}|\d{1,9}\.))", re.ASCII)
RUN = re.compile(r"\s*([0-9]{1,4})\s*(?:-\s*([0-9]{1,4})\s*)?", re.ASCII)  # one spoke or a range: 7 or 3-8


def parse_turns(text: str) -> float:
    """Read a number of nipple turns from text.

    Parameters
    ----------
    text : str
        ``1/4``, ``-1/4``, ``0.25``, ``1 1/4`` or ``-1 1/4``.

    Returns
    -------
    float
        Plus tightens. [turn]

    Raises
    ------
    ValueError
        When the text has none of these forms or exceeds ``MOST_TURNS``; the message says what was expected.
    """
    match = TURNS.fullmatch(text.strip().replace("\N{MINUS SIGN}", "-"))
    if match is None:
        raise ValueError(f"{text!r}; expected turns like 1/4 (tighten), -1/4 (loosen), 0.25 or 1 1/4")
    sign, whole, top, bottom, decimal = match.groups()
    if bottom is not None and int(bottom) == 0:
        raise ValueError(f"{text!r}; expected a fraction of a turn, not one over zero")
    turns = float(decimal) if decimal else int(whole or 0) + (int(top) / int(bottom) if top else 0.0)
    if turns > MOST_TURNS:
        raise ValueError(f"{text!r}; expected turns between -{MOST_TURNS} and {MOST_TURNS}, not degrees")
    return -turns if sign == "-" else turns


def turns_of(turns: float | str) -> float:
    """Turns given as a number, or as text for ``parse_turns``. [turn]

    Raises
    ------
    ValueError
        When they are neither, or exceed ``MOST_TURNS``.
    """
    if isinstance(turns, str):
        return parse_turns(turns)
    if isinstance(turns, bool) or not abs(float(turns)) <= MOST_TURNS:
        raise ValueError(f"{turns!r}; expected turns between -{MOST_TURNS} and {MOST_TURNS}")
    return float(turns)


def turns_text(turns: float, *, signed: bool = False) -> str:
    """Turns as text, ``1 1/4``: whole turns and a fraction down to 1/64, else three decimals."""
    number = Fraction(round(turns * 64), 64)
    exact = abs(float(number) - turns) < 1e-9
    sign = "-" if turns < 0 else "+" if signed and turns > 0 else ""
    if not exact:
        return f"{sign}{abs(turns):.3f}"
    whole, rest = divmod(abs(number), 1)
    parts = [str(whole)] if whole or not rest else []
    if rest:
        parts.append(str(rest))
    return sign + " ".join(parts)


def spoke_runs(text: str, n: int) -> list[range]:
    """Read spoke numbers from text: one range for each part between commas.

    Parameters
    ----------
    text : str
        ``7``, ``3-8``, ``7,9`` or ``1-4,9``.
    n : int
        Number of spokes of the wheel.

    Returns
    -------
    list of range
        Spoke numbers, from 1.

    Raises
    ------
    ValueError
        When the text has none of these forms, or the wheel has no such spoke; the message says what was expected.
    """
    runs: list[range] = []
    for part in text.split(","):
        match = RUN.fullmatch(part)
        if match is None:
            raise ValueError(f"{text!r}; expected spoke numbers like 7, 3-8 or 7,9")
        first, last = int(match[1]), int(match[2] or match[1])
        if not 1 <= first <= last <= n:
            raise ValueError(f"{text!r}; expected spoke numbers from 1 to {n}, the lower one first")
        runs.append(range(first, last + 1))
    return runs


def number_list(numbers: Iterable[int]) -> str:
    """Sorted numbers as text, three and more in a row as a range: ``1, 3-5, 9``."""
    runs: list[list[int]] = []
    for number in sorted(int(k) for k in numbers):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    return ", ".join(str(a) if a == b else f"{a}, {b}" if b == a + 1 else f"{a}-{b}" for a, b in runs)


def rounded(value: float, digits: int) -> float:
    """A Python float rounded to so many digits, with -0.0 replaced by 0.0."""
    return round(float(value), digits) + 0.0
