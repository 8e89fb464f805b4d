"""Writes a sheet to a file, whole or not at all."""

import os
from pathlib import Path

from wheelsim.report.sheet.content import Sheet

PAPERS = ("A4", "A5")


def write_sheet(sheet: Sheet, path: str | Path, paper: str = "A4") -> None:
    """Write a sheet as .pdf or .html.

    Raises
    ------
    ValueError
        For another ending or paper.
    OSError
        When it can't be written; what stood there before stays.
    """
    path = Path(path)
    if paper not in PAPERS:
        raise ValueError(f"--paper: {paper!r}; expected {' or '.join(PAPERS)}")
    if path.suffix.lower() == ".pdf":
        from wheelsim.report.sheet.pdf import pdf_bytes

        data = pdf_bytes(sheet, paper)
    elif path.suffix.lower() in (".html", ".htm"):
        from wheelsim.report.sheet.html import html_text

        data = html_text(sheet, paper).encode()
    else:
        raise ValueError(f"{str(path)!r}; expected a name that ends in .pdf or .html")
    part = path.with_name(f".{path.name}.part")
    try:
        part.write_bytes(data)
        os.replace(part, path)
    except OSError:
        part.unlink(missing_ok=True)
        raise
