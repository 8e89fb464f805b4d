"""A keypad for numbers with large keys, and the list of numbers that it asks for one after another."""

from collections.abc import Callable

from nicegui import ui

from wheelsim.page.around import press

KEYS = ("7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0", "-")
LONGEST = 8  # most digits of a number


def typed(text: str, key: str) -> str:
    """What stands there after one more key: digits, a point, the sign, or "back" for the last one taken away."""
    if key == "back":
        return text[:-1]
    if key == "-":
        return text[1:] if text.startswith("-") else f"-{text}"
    if (key == "." and "." in text) or len(text) >= LONGEST:
        return text
    return text + key


def number(text: str) -> float | None:
    """The number typed, or None while it is none."""
    try:
        return float(text)
    except ValueError:
        return None


class Pad:
    """Keys, what was typed, and "next".

    Parameters
    ----------
    on_next : callable
        Called with the number, or None where nothing was typed: left out.
    """

    def __init__(self, on_next: Callable[[float | None], None]) -> None:
        self.text, self._on_next = "", on_next
        self.asks = ui.label().classes("big").props("aria-live=polite")
        self.shown = ui.label().classes("shown").props('role=status aria-label="typed"')
        with ui.element("div").classes("pad").props('role=group aria-label="number keys"'):
            for key in KEYS:
                press("\N{MINUS SIGN}" if key == "-" else key, lambda key=key: self.key(key),
                      "minus" if key == "-" else "point" if key == "." else None)
            press("back", lambda: self.key("back"), "take the last figure back")
            press("next", self.next).classes("next")
        self._show()

    def ask(self, words: str, text: str = "") -> None:
        """Ask for the next number; ``text`` is what was typed of it before."""
        self.asks.text, self.text = words, text
        self._show()

    def key(self, key: str) -> None:
        """One key."""
        self.text = typed(self.text, key)
        self._show()

    def next(self) -> None:
        """Hand over what was typed."""
        value = number(self.text)
        if self.text and value is None:
            self.text = ""
            self._show()
            return
        self._on_next(value)

    def _show(self) -> None:
        self.shown.text = self.text.replace("-", "\N{MINUS SIGN}") or "\N{EN DASH}"
