"""Warnings of a prediction in words."""

from wheelsim.report.words.shared import spokes_words
from wheelsim.stand.warned import NearBuckling, SlackSpokes, Warned


def warning_words(one: Warned) -> str:
    """A warning, without a full stop."""
    match one:
        case SlackSpokes(spokes):
            return f"slack: {spokes_words(spokes)}; a slack spoke can't hold the rim, don't ride it"
        case NearBuckling(mean, critical, waves):
            return (f"right side at {mean:.0f} N on average is {100 * mean / critical:.0f} % of the {critical:.0f} N "
                    f"at which this wheel buckles, in {waves} waves; half of it is the practical ceiling, whatever the "
                    "spokes stand")
