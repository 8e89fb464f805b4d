"""A learner's scores, one JSON line a session, kept on this machine and only where asked."""

import json
import os
import shutil
import tempfile
from contextlib import suppress

KEY = "practise"  # in every line: tells a file of scores from another


class ScoreError(ValueError):
    """The place for the scores can't be used; what is there is as it was."""


def check_place(path):
    """See that a line could be added here, before a session is played for it.

    Raises
    ------
    ScoreError
        If it is no file of scores, or can't be read or written.
    """
    path = os.path.realpath(path)
    folder = os.path.dirname(path)
    if os.path.isdir(path) or not os.path.isdir(folder) or not os.access(folder, os.W_OK):
        raise ScoreError(f"{path}: can't be written; expected a file in a folder that is there and can be written to")
    if os.path.exists(path) and not os.path.isfile(path):
        # A device or a pipe would be replaced by a file.
        raise ScoreError(f"{path}: is no plain file; expected a file of scores, or none")
    _lines(path)


def add_line(path, found):
    """Add one result; the file is replaced whole, or left as it was.

    Parameters
    ----------
    path : str
    found : dict

    Raises
    ------
    ScoreError
    """
    path = os.path.realpath(path)
    text = _lines(path) + json.dumps({KEY: 1, **found}, allow_nan=False) + "\n"
    handle = None
    try:
        handle, new = tempfile.mkstemp(dir=os.path.dirname(path), prefix=".scores-")
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        if os.path.exists(path):
            shutil.copymode(path, new)
        os.replace(new, path)
    except OSError as error:
        if handle is not None:
            with suppress(OSError):
                os.remove(new)
        raise ScoreError(f"{path}: {error.strerror or error}; the score was not kept") from None


def _lines(path):
    """What the file holds, ending with its line, or nothing if it is not there."""
    try:
        with open(path, encoding="utf-8") as file:
            text = file.read()
    except FileNotFoundError:
        return ""
    except (OSError, UnicodeDecodeError) as error:
        raise ScoreError(f"{path}: {getattr(error, 'strerror', None) or 'not text'}; expected a file of scores, or none"
                         ) from None
    for number, line in enumerate(text.splitlines(), 1):
        try:
            known = KEY in json.loads(line) if line.strip() else True
        except (ValueError, TypeError):
            known = False
        if not known:
            raise ScoreError(f"{path}: line {number} is no score; expected a file of scores, or none")
    return text if not text or text.endswith("\n") else text + "\n"
