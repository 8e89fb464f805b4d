"""A blank job to fill in."""

from importlib import resources
from pathlib import Path

from wheelsim.files.errors import FileError, FileFault

BLANK = "blank.toml"


def write_blank(path: str | Path) -> None:
    """Write the blank job; a file that is there already is left alone.

    Parameters
    ----------
    path : str or Path

    Raises
    ------
    FileError
        When there is such a file already, or it can't be written.
    """
    text = resources.files("wheelsim.samples").joinpath(BLANK).read_bytes()
    try:
        with Path(path).open("xb") as file:
            file.write(text)
    except FileExistsError:
        raise FileError([FileFault(str(path), "", "is there already", "expected a new name; nothing was written")]
                        ) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise FileError([FileFault(str(path), "", f"cannot be written: {reason}", "expected a place to write to")]
                        ) from None
