"""Figures to files: the same figure gives the same bytes, and a file is whole or not there."""

import errno
import io
import os
from pathlib import Path

from matplotlib.figure import Figure

from wheelsim.report.figures.look import fixed_look

# What matplotlib would write of itself and of the clock.
_SILENT = {
    "svg": {"Date": None, "Creator": None},
    "png": {"Software": None},
    "pdf": {"CreationDate": None, "Creator": None, "Producer": None},
}
RESOLUTION = 150  # [dots per inch] of a PNG


def picture_kind(path: str | os.PathLike[str]) -> str:
    """Kind of picture a path asks for by its extension: "svg", "png" or "pdf".

    Raises
    ------
    ValueError
        When it is none of these.
    """
    kind = Path(path).suffix.lower().removeprefix(".")
    if kind not in _SILENT:
        raise ValueError(f"{path}: expected a picture's name that ends in .svg, .png or .pdf")
    return kind


def render(figure: Figure, kind: str) -> bytes:
    """The bytes of a figure as "svg", "png" or "pdf"; its sentence becomes the document's title."""
    out = io.BytesIO()
    title = " ".join(figure.get_suptitle().split()) or None
    with fixed_look():
        figure.savefig(out, format=kind, dpi=RESOLUTION, metadata=_SILENT[kind] | {"Title": title})
    return out.getvalue()


def save(figure: Figure, path: str | os.PathLike[str]) -> None:
    """Write a figure, in the kind its extension names.

    Raises
    ------
    ValueError
        When the extension is not .svg, .png or .pdf.
    OSError
        When there is no such directory, or it can't be written to.
    """
    kind, path = picture_kind(path), Path(path)
    if not path.parent.is_dir():
        raise FileNotFoundError(errno.ENOENT, "no such directory to put the picture in", str(path.parent))
    data = render(figure, kind)
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        part.write_bytes(data)
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
