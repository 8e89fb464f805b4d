"""Bench units to SI and back, and the words for turns."""

import math
from fractions import Fraction

MM = 1e-3  # [m]
KGF = 9.80665  # [N], standard gravity (CGPM 1901)
INCH = 25.4e-3  # [m]
QUARTER = 0.25  # [turn]


def parse_turns(text):
    """Nipple turns from the way a mechanic writes them.

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
        When the text is none of these; the message says what was expected.
    """
    words = text.strip().replace("\N{MINUS SIGN}", "-").split()
    try:
        if not 1 <= len(words) <= 2:
            raise ValueError
        parts = [Fraction(word) for word in words]
        if len(parts) == 2 and (
            words[1][0] in "+-" or "/" not in words[1] or "/" in words[0] or "." in text
        ):
            raise ValueError
        sign = -1 if words[0].startswith("-") else 1
        turns = float(parts[0] if len(parts) == 1 else parts[0] + sign * parts[1])
    except (ValueError, ZeroDivisionError, OverflowError):
        raise ValueError(f"{text!r}: expected turns like 1/4, -1/4, 0.25 or 1 1/4") from None
    if not math.isfinite(turns) or abs(turns) > 100:
        raise ValueError(f"{text!r}: expected turns between -100 and 100")
    return turns


def turns_text(turns, *, signed=False):
    """Turns as a mechanic writes them: whole turns and a fraction down to sixty-fourths."""
    number = Fraction(turns).limit_denominator(64)
    exact = abs(float(number) - turns) < 1e-9
    sign = "-" if turns < 0 else "+" if signed and turns > 0 else ""
    if not exact:
        return f"{sign}{abs(turns):.3f}"
    whole, rest = divmod(abs(number), 1)
    parts = [str(whole)] if whole or not rest else []
    if rest:
        parts.append(str(rest))
    return sign + " ".join(parts)
