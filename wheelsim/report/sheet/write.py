"""A sheet to a file, in the form its name asks for; the file is whole or not there."""

import os
from pathlib import Path

from wheelsim.report.sheet.blocks import Document
from wheelsim.report.sheet.html import html_text
from wheelsim.report.sheet.pdf import pdf_bytes

KINDS = (".pdf", ".html")


class SheetError(ValueError):
    """The sheet can't be written there, or not in that form; the message says what was expected."""


def check_place(path: str | os.PathLike[str], kinds: tuple[str, ...] = KINDS) -> None:
    """See that a sheet could be written here, before anything is worked out for it.

    Raises
    ------
    SheetError
    """
    place = Path(path)
    if place.suffix.lower() not in kinds:
        raise SheetError(f"{str(path)!r}; expected a name that ends in {' or '.join(kinds)}")
    try:
        if place.is_dir() or (place.exists() and not place.is_file()):
            raise SheetError(f"{str(path)!r}; is no plain file; expected a place to write a sheet to")
        if not place.parent.is_dir():
            raise SheetError(f"{str(path)!r}; no such directory; expected one that is there")
    except (OSError, ValueError) as error:
        if isinstance(error, SheetError):
            raise
        raise SheetError(f"{str(path)!r}; is no name of a file; expected a place to write a sheet to") from None
    if not os.access(place.parent, os.W_OK) or (place.exists() and not os.access(place, os.W_OK)):
        raise SheetError(f"{str(path)!r}; no permission; expected a place to write a sheet to")


def write_sheet(document: Document, path: str | os.PathLike[str]) -> None:
    """Write a sheet as PDF or HTML, by the name's ending.

    Raises
    ------
    SheetError
        When the name ends otherwise, or it can't be written there; what was there is as it was.
    """
    check_place(path)
    place = Path(path)
    data = pdf_bytes(document) if place.suffix.lower() == ".pdf" else html_text(document).encode()
    part = place.with_name(f".{place.name[:100]}.{os.getpid()}.part")
    try:
        part.write_bytes(data)
        os.replace(part, place)
    except OSError as error:
        raise SheetError(f"{str(path)!r}; {(error.strerror or str(error)).lower()}; expected a place to write a sheet "
                         "to") from None
    finally:
        part.unlink(missing_ok=True)
