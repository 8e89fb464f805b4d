"""Words that several kinds of result use."""

from collections.abc import Collection

from wheelsim.units import number_list


def spokes_words(numbers: Collection[int]) -> str:
    """Spoke numbers after the word, in the singular or the plural: ``spoke 7``, ``spokes 1, 3-5``."""
    return f"spoke{'s' * (len(numbers) > 1)} {number_list(numbers)}"
