"""Phrases used for several kinds of result."""

from collections.abc import Collection

from wheelsim.units import MM, number_list


def spokes_words(numbers: Collection[int]) -> str:
    """Spoke numbers with the word before them: ``spoke 7``, ``spokes 1, 3-5``."""
    return f"spoke{'s' * (len(numbers) > 1)} {number_list(numbers)}"


def signed_gap(gap: float) -> str:
    """A gap (twice the rim's offset, plus right [m]) in words: ``3.00 mm (rim left)``."""
    lies = "" if abs(gap) < MM / 200 else f" (rim {'right' if gap > 0 else 'left'})"
    return f"{abs(gap) / MM:.2f} mm{lies}"
