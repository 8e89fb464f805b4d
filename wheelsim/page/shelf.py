"""The page that shows the gallery of the experiments."""

from pathlib import Path

from fastapi.responses import FileResponse, PlainTextResponse, Response
from nicegui import app, ui

from wheelsim.page.around import dressed, press
from wheelsim.page.gallery import Exhibit, gallery_of

NONE = ("No gallery was found: neither beside the jobs, nor installed with the program, nor in its own folder. It is "
        "the folder figures of the project: start the bench on a folder that holds a copy of it.")


class ShelfPage:
    """One visitor's page of the gallery."""

    def __init__(self, found: list[Exhibit], first: str | None = None) -> None:
        dressed("/shelf")
        ui.label("What the experiments show").classes("big").props("role=heading aria-level=1")
        self.found, self.at = found, 0
        if not found:
            ui.label(NONE).classes("why card")
            return
        names = [one.name for one in found]
        self.at = names.index(first) if first in names else 0
        with ui.row().classes("items-center"):
            press("before", lambda: self._go(self.at - 1), "the one before")
            self.place = ui.label().classes("why").props("role=status")
            press("next", lambda: self._go(self.at + 1), "the next one")
        self.shown = ui.column().classes("card")
        with ui.column().classes("wide shelf").props('role=navigation aria-label="all of them"'):
            for k, one in enumerate(found):
                press(one.question, lambda k=k: self._go(k)).classes("wide")
        self._go(self.at)

    def _go(self, k: int) -> None:
        self.at = k % len(self.found)
        one = self.found[self.at]
        self.place.text = f"{self.at + 1} of {len(self.found)}"
        self.shown.clear()
        with self.shown:
            ui.label(one.question).classes("big").props("role=heading aria-level=2")
            with ui.element("div").classes("flat").props('tabindex=0 role=region aria-label="picture"'):
                ui.element("img").props(f'src="/gallery/{one.name}.svg"').classes("exhibit")._props["alt"] = one.shown
            ui.label(one.answer).classes("why strong")
            for line in one.more:
                ui.label(line).classes("why")


def register(folder: Path | None) -> None:
    """Put the shelf and its pictures at their addresses."""
    there = gallery_of(folder)
    place, found = there if there is not None else (Path(), [])
    pictures = {f"{one.name}.svg": place / f"{one.name}.svg" for one in found}

    @app.get("/gallery/{name}", response_model=None)
    def picture(name: str) -> Response:
        if name not in pictures:
            return PlainTextResponse("no such picture", status_code=404)
        return FileResponse(pictures[name], media_type="image/svg+xml")

    @ui.page("/shelf", title="wheelsim shelf")
    def shelf(show: str | None = None) -> None:
        ShelfPage(found, show)
