"""What keeps nipples from being turned, in words."""

from collections.abc import Iterable

from wheelsim.planning.notes import Hold

HOLDS = {
    Hold.STUCK: "nipples that are stuck", Hold.LEFT_ALONE: "nipples left alone",
    Hold.ONE_SIDE: "turning one side only", Hold.LOOSEN_ONLY: "loosening only",
    Hold.TIGHTEN_ONLY: "tightening only", Hold.THREAD: "the thread left",
}


def holds_words(by: Iterable[Hold]) -> str:
    """What keeps nipples from being turned: ``nipples that are stuck, loosening only``."""
    return ", ".join(HOLDS[one] for one in by)
