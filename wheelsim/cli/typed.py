"""What was typed on the command line, checked and turned into values."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from wheelsim.readings.tap import Tapped
    from wheelsim.wheel.parts import Wheel


class BadWords(ValueError):
    """What was typed can't be meant; the message says where, what and what was expected."""


def typed_turns(option: str, text: str) -> float:
    from wheelsim.units import parse_turns

    try:
        return parse_turns(text)
    except ValueError as error:
        raise BadWords(f"{option}: {error}") from None


def spoke_turns(words: Sequence[str], wheel: "Wheel") -> dict[int, float]:
    """Turns by spoke number from ``7=1/2``, ``1-8=1/4`` and ``7,9=-1/4``; they add up.

    Raises
    ------
    BadWords
        For a spoke that is none of the wheel's, or one named by itself that is missing; a run leaves it out.
    """
    from wheelsim.units import spoke_runs

    turns: dict[int, float] = {}
    for word in words:
        numbers, equals, amount = word.partition("=")
        if not equals:
            raise BadWords(f"--spoke: {word!r}; expected spokes and turns, like 7=1/2, 1-8=1/4 or 7,9=1/4")
        try:
            runs = spoke_runs(numbers, wheel.n)
        except ValueError as error:
            alone = numbers.strip()
            raise BadWords(f"--spoke: {word!r}; expected spoke numbers from 1 to {wheel.n}" if alone.isdecimal() else
                           f"--spoke: {error}") from None
        each = typed_turns("--spoke", amount)
        for run in runs:
            for spoke in run:
                if spoke not in wheel.spokes.missing:
                    turns[spoke] = turns.get(spoke, 0.0) + each
                elif len(run) == 1:
                    raise BadWords(f"--spoke: {word!r}; spoke {spoke} is missing; expected one that is there")
    return turns


def one_of(option: str, value: str | None, words: Sequence[str]) -> None:
    if value is not None and value not in words:
        raise BadWords(f"{option}: {value!r}; expected {', '.join(words[:-1])} or {words[-1]}")


def tapped_rim(radius: float | None, mass: float | None, side_tones: str | None,
               flat_tone: float | None, height: float | None = None,
               width: float | None = None) -> "Tapped | None":
    """Stiffness of a tapped rim, None if nothing was typed of one.

    Parameters
    ----------
    radius : float or None
        Of the section's centre. [mm]
    mass : float or None
        [g]
    side_tones : str or None
        The two lowest from the side, ``84.1,282.7``. [Hz]
    flat_tone : float or None
        [Hz]
    height, width : float or None
        Of the section; left out, its rotary inertia is. [mm]

    Raises
    ------
    BadWords
        When one is missing, or they are those of no rim.
    """
    from wheelsim.readings.tap import Tones, stiffness_from_tones
    from wheelsim.wheel.rules import PartError

    typed = {"--radius": radius, "--mass": mass, "--side-tones": side_tones, "--flat-tone": flat_tone}
    absent = [option for option, value in typed.items() if value is None]
    if len(absent) == len(typed):
        return None
    if radius is None or mass is None or side_tones is None or flat_tone is None:
        raise BadWords(f"{absent[0]}: missing; expected all of {', '.join(typed)} for a tapped rim")
    try:
        low, following = (float(word) for word in side_tones.split(","))
    except ValueError:
        raise BadWords(f"--side-tones: {side_tones!r}; expected two tones in hertz, like 84.1,282.7") from None
    options = {"radius": "--radius", "mass": "--mass", "lateral2": "--side-tones", "lateral3": "--side-tones",
               "radial2": "--flat-tone", "height": "--height", "width": "--width"}
    typed |= {"--height": height, "--width": width}
    try:
        return stiffness_from_tones(Tones(radius * 1e-3, mass * 1e-3, low, following, flat_tone,
                                          (height or 0.0) * 1e-3, (width or 0.0) * 1e-3))
    except PartError as error:
        raise BadWords("\n".join(f"{options[f.field]}: {typed[options[f.field]]}; {f.expected}"
                                 for f in error.faults)) from None
