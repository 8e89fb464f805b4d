"""Parts that every page has: style, links to the other pages, buttons large enough for a thumb."""

from collections.abc import Callable, Mapping
from typing import Any

from nicegui import ui

from wheelsim.page.style import STYLE

PAGES = {"/": "Bench", "/new": "New wheel", "/practise": "Practise", "/shelf": "Shelf"}


def dressed(here: str) -> None:
    """The look of a page, and links to the others; ``here`` is the address of this one."""
    ui.add_css(STYLE)
    ui.add_head_html('<script>document.documentElement.lang = "en"</script>')
    with ui.element("nav").classes("ways").props('aria-label="pages"'):
        for address, word in PAGES.items():
            link = ui.link(word, address).classes("way")
            if address == here:
                link.classes("on").props('aria-current="page"')


def press(text: str, on_click: Callable[..., Any], label: str | None = None) -> ui.button:
    """A button; ``label`` is what a screen reader says where the text alone says too little."""
    button = ui.button(text, on_click=on_click, color=None).props("no-caps flat").classes("press")
    return button.props(f'aria-label="{label}"') if label else button


class Choice:
    """A row of presses of which one is chosen."""

    def __init__(self, words: Mapping[Any, str], chosen: Any, name: str,
                 on_change: Callable[[], Any] | None = None) -> None:
        self.value, self._changed = chosen, on_change
        with ui.row().classes("choice").props(f'role=group aria-label="{name}"') as self.row:
            self._presses = {value: press(word, lambda value=value: self.choose(value))
                             for value, word in words.items()}
        self._mark()

    def choose(self, value: Any) -> None:
        """Choose another."""
        self.value = value
        self._mark()
        if self._changed is not None:
            self._changed()

    def _mark(self) -> None:
        for value, button in self._presses.items():
            on = value == self.value
            button.classes(add="on" if on else "", remove="" if on else "on")
            button.props(f"aria-pressed={'true' if on else 'false'}")
