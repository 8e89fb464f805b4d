"""The strip: the wheel laid out flat, drawn in the browser by ``strip.js`` from a face; its keys turn nipples."""

from collections.abc import Callable
from pathlib import Path

from nicegui import events, ui
from nicegui.element import Element

from wheelsim.page.face import Face

STRIP_STYLE = Path(__file__).with_suffix(".css").read_text()
MOST_STEPS = 40  # most steps that one drag may make; own choice


class Strip(Element, component="strip.js", default_classes="wide"):
    """The strip on the page.

    Parameters
    ----------
    face : dict
        From ``page.face``.
    on_turn : callable, optional
        Takes the spoke, how many steps, and the way: 1 tightens, -1 loosens, 0 as the page is set.
    """

    def __init__(self, face: Face, on_turn: Callable[[int, int, int], None] | None = None) -> None:
        super().__init__()
        ui.add_css(STRIP_STYLE)
        self._props["face"] = face
        self._on_turn = on_turn
        if on_turn is not None:
            self.on("turn", self._turned)

    @property
    def face(self) -> Face:
        """What is drawn."""
        face: Face = self._props["face"]
        return face

    def show(self, face: Face) -> None:
        """Draw another face."""
        self._props["face"] = face

    def _turned(self, event: events.GenericEventArguments) -> None:
        told = event.args
        if self._on_turn is None or not isinstance(told, dict):
            return
        spoke, steps, way = (told.get(key) for key in ("spoke", "steps", "way"))
        if isinstance(spoke, int) and isinstance(steps, int) and way in (-1, 0, 1) and 1 <= steps <= MOST_STEPS:
            self._on_turn(spoke, steps, int(way))
