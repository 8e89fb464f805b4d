"""Write a sheet to a file: format by its extension, atomically."""

import errno
import os
from pathlib import Path

from wheelsim.report.sheet.blocks import PAPERS, Paper, Sheet

KINDS = (".pdf", ".html")


class SheetError(ValueError):
    """A wish for a sheet can't be met; the message says what was expected."""


def sheet_kind(path: str | os.PathLike[str]) -> str:
    """".pdf" or ".html", by the path's extension.

    Raises
    ------
    SheetError
        For any other extension.
    """
    kind = Path(path).suffix.lower()
    if kind not in KINDS:
        raise SheetError(f"{os.fspath(path)!r}; expected a sheet's name that ends in .pdf or .html")
    return kind


def paper_named(name: str) -> Paper:
    """The paper A4 or A5 by its name, in capital or small letters.

    Raises
    ------
    SheetError
        For any other name.
    """
    if name.upper() not in ("A4", "A5"):
        raise SheetError(f"{name!r}; expected A4 or A5")
    return PAPERS[name.upper()]


def render(sheet: Sheet, paper: Paper, kind: str) -> bytes:
    """The bytes of a sheet as ".pdf" or ".html"."""
    if kind == ".html":
        from wheelsim.report.sheet.html import html_bytes

        return html_bytes(sheet, paper)
    from wheelsim.report.sheet.layout import pages
    from wheelsim.report.sheet.pdf import pdf_bytes

    return pdf_bytes(pages(sheet, paper), f"{sheet.title}: {sheet.foot}" if sheet.foot else sheet.title)


def check_place(path: str | os.PathLike[str]) -> None:
    """Check that a sheet can be written there, before time is spent on making it.

    Raises
    ------
    OSError
        When the directory doesn't exist or can't be written to, or the path is a directory.
    """
    path = Path(path)
    if path.is_dir():
        raise IsADirectoryError(errno.EISDIR, "a directory stands there", str(path))
    if not path.parent.is_dir():
        raise FileNotFoundError(errno.ENOENT, "no such directory to put the sheet in", str(path.parent))
    if not os.access(path.parent, os.W_OK):
        raise PermissionError(errno.EACCES, "the directory can't be written to", str(path.parent))


def write(sheet: Sheet, path: str | os.PathLike[str], paper: Paper) -> None:
    """Write a sheet in the format of the path's extension.

    Raises
    ------
    SheetError
        When the extension is neither .pdf nor .html.
    OSError
        When it can't be written there; an existing file is then unchanged.
    """
    path = Path(path)
    data = render(sheet, paper, sheet_kind(path))
    check_place(path)
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        part.write_bytes(data)
        os.replace(part, path)
    finally:
        part.unlink(missing_ok=True)
