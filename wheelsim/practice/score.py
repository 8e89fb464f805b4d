"""A learner's scores, one JSON line a session, kept on this machine and only where asked."""

import errno
import json
import os
import sys
from collections.abc import Mapping

from wheelsim.practice.made import PracticeError

if sys.platform != "win32":
    import fcntl

KEY = "practise"  # in every line: tells a file of scores from another


class ScoreError(PracticeError):
    """The place for the scores can't be used; what is there is as it was."""


def check_place(path: str) -> None:
    """See that a line could be added here, before a session is played for it.

    Raises
    ------
    ScoreError
        If it is no file of scores, or can't be read or written.
    """
    path = os.path.realpath(path)
    folder = os.path.dirname(path)
    writable = os.access(path if os.path.exists(path) else folder, os.W_OK)
    if os.path.isdir(path) or not os.path.isdir(folder) or not writable:
        raise ScoreError(f"{path}: can't be written; expected a file in a folder that is there and can be written to")
    if os.path.exists(path) and not os.path.isfile(path):
        # The file is replaced when it is written: a device or a pipe would become a plain file.
        raise ScoreError(f"{path}: is no plain file; expected a file of scores, or none")
    _lines(path)


def add_line(path: str, found: Mapping[str, object]) -> None:
    """Add one result at the end of the file, whole or not at all.

    Parameters
    ----------
    path : str
    found : dict

    Raises
    ------
    ScoreError
    """
    path = os.path.realpath(path)
    line = json.dumps({KEY: 1, **found}, allow_nan=False) + "\n"
    try:
        # Locked where the system can, so that two learners writing at once lose no line.
        with open(path, "ab", buffering=0) as file:
            if sys.platform != "win32":
                fcntl.flock(file, fcntl.LOCK_EX)
            text = _lines(path)
            line = line if not text or text.endswith("\n") else "\n" + line
            before = file.seek(0, os.SEEK_END)
            try:
                if file.write(line.encode()) != len(line.encode()):
                    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
                os.fsync(file.fileno())
            except OSError:
                file.truncate(before)
                raise
    except OSError as error:
        raise ScoreError(f"{path}: {error.strerror or error}; the score was not kept") from None


def read_scores(path: str) -> list[dict[str, object]]:
    """The results of a file of scores, in the order in which they were added.

    Raises
    ------
    ScoreError
        If there is no such file, or it is no file of scores.
    """
    if not os.path.exists(path):
        raise ScoreError(f"{path}: not found; expected a file of scores, as --score keeps them")
    return [one for line in _lines(path).split("\n") if line.strip() and (one := json.loads(line))]


def _lines(path: str) -> str:
    """What the file holds, or nothing if it is not there."""
    try:
        with open(path, encoding="utf-8-sig", newline="") as file:
            text = file.read()
    except FileNotFoundError:
        return ""
    except (OSError, UnicodeDecodeError) as error:
        raise ScoreError(f"{path}: {getattr(error, 'strerror', None) or 'not text'}; expected a file of scores, or none"
                         ) from None
    for number, line in enumerate(text.split("\n"), 1):
        try:
            one = json.loads(line) if line.strip() else {KEY: 1}
            known = isinstance(one, dict) and KEY in one
        except (ValueError, RecursionError):
            known = False
        if not known:
            raise ScoreError(f"{path}: line {number} is no score; expected a file of scores, or none")
    return text
