"""Write figures to files: reproducible bytes, and atomically (a file is complete or not there)."""

import errno
import io
import os
from pathlib import Path

from matplotlib.figure import Figure

from wheelsim.report.figures.look import fixed_look

# Metadata that matplotlib writes by default and that differ by time or version; None leaves them out.
_SILENT = {
    "svg": {"Date": None, "Creator": None},
    "png": {"Software": None},
    "pdf": {"CreationDate": None, "Creator": None, "Producer": None},
}
RESOLUTION = 150  # [dots per inch] of a PNG


def picture_kind(path: str | os.PathLike[str]) -> str:
    """Format of a picture by the extension of its path: "svg", "png" or "pdf".

    Raises
    ------
    ValueError
        When the extension is none of these.
    """
    kind = Path(path).suffix.lower().removeprefix(".")
    if kind not in _SILENT:
        raise ValueError(f"{path}: expected a picture's name that ends in .svg, .png or .pdf")
    return kind


def render(figure: Figure, kind: str) -> bytes:
    """The bytes of a figure as "svg", "png" or "pdf"; its heading becomes the document's title."""
    out = io.BytesIO()
    title = " ".join(figure.get_suptitle().split()) or None
    with fixed_look():
        figure.savefig(out, format=kind, dpi=RESOLUTION, metadata=_SILENT[kind] | {"Title": title})
    return out.getvalue()


def save(figure: Figure, path: str | os.PathLike[str]) -> None:
    """Write a figure in the format of the path's extension.

    Raises
    ------
    ValueError
        When the extension is not .svg, .png or .pdf.
    OSError
        When the directory doesn't exist or can't be written to.
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
