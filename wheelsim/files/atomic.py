"""Puts new contents in a file's place in one step, one writer at a time, and leaves nothing else behind.

Linux has no system call that puts an unnamed file in the place of a named one, so the new contents get a hidden name
first, which is then renamed. A process killed just between the two leaves that name; whoever reads or writes the file
next removes it.
"""

import hashlib
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

from wheelsim.files.errors import FileError, FileFault

PATIENCE = 10.0  # for another that writes to the same file [s]


@contextmanager
def one_writer(path: Path, patience: float = PATIENCE) -> Iterator[None]:
    """One writer of a file at a time, on this machine; the lock lies with the temporary files, not beside the file.

    Raises
    ------
    FileError
        When another holds it for longer than ``patience``. [s]
    """
    from filelock import FileLock, Timeout  # imported late: a reader needs it only after a writer was killed

    name = hashlib.sha256(os.path.realpath(path).encode()).hexdigest()[:24]
    lock = FileLock(Path(tempfile.gettempdir()) / f"wheelsim-{name}.lock", timeout=patience)
    try:
        lock.acquire()
    except Timeout:
        raise FileError([FileFault(str(path), "", "is being written by another", "expected to have it within "
                                   f"{patience:.0f} s; nothing was written")]) from None
    try:
        yield
    finally:
        lock.release()


def replace_contents(path: Path, data: bytes) -> None:
    """Put new contents in a file's place; a reader, or whoever comes after a crash, sees old or new. Needs the lock.

    Raises
    ------
    FileError
        When it can't be written; the file is then as it was.
    """
    try:
        path, part = _places(path)
        part.unlink(missing_ok=True)  # of one that was killed
        mode = path.stat().st_mode & 0o777
        try:
            if not _unnamed_then_in_place(path, part, data, mode):
                with os.fdopen(_opened(part, os.O_CREAT | os.O_EXCL, mode), "wb") as stream:
                    _to_disk(stream, data)
                os.replace(part, path)
        except BaseException:
            part.unlink(missing_ok=True)
            raise
    except OSError as error:
        raise FileError([FileFault(str(path), "", f"cannot be written: {error.strerror or error}",
                                   "expected room and leave to write; the file is as it was")]) from None


def remove_left_behind(path: Path) -> None:
    """Remove what a killed writer of this file left, unless another writes just now or there is no leave to."""
    with suppress(OSError, ValueError):
        part = _places(path)[1]
        if os.path.lexists(part):
            with suppress(FileError), one_writer(path, patience=0.0):
                part.unlink(missing_ok=True)


def _places(path: Path) -> tuple[Path, Path]:
    """Where the file itself lies, and the hidden name that new contents have before they take its place."""
    path = Path(os.path.realpath(path)) if path.is_symlink() else path  # of links in a circle it makes no error
    return path, path.with_name(f".{path.name}.part")


def _unnamed_then_in_place(path: Path, part: Path, data: bytes, mode: int) -> bool:
    """As ``replace_contents``, by a file that has no name until it is whole; False where that can't be had."""
    if not hasattr(os, "O_TMPFILE"):
        return False
    try:
        descriptor = _opened(part.parent, os.O_TMPFILE, mode)
    except OSError:
        return False  # not on this file system
    with os.fdopen(descriptor, "wb") as stream:
        _to_disk(stream, data)
        unnamed, hidden, named = f"/proc/self/fd/{descriptor}", str(part), str(path)
        try:
            # Any directory's descriptor makes Python call linkat, which alone follows the link in /proc.
            os.link(unnamed, hidden, src_dir_fd=descriptor, follow_symlinks=True)
        except OSError:
            return False
        os.replace(hidden, named)  # at once: a process killed between these two leaves the hidden name
    return True


def _opened(path: Path, flags: int, mode: int) -> int:
    """A new file, opened to write, with the leave (mode) of the old one: a file that a shop shares stays shared."""
    descriptor = os.open(path, os.O_WRONLY | flags, mode)
    if hasattr(os, "fchmod"):  # not on Windows
        os.fchmod(descriptor, mode)  # what the process's mask took from it
    return descriptor


def _to_disk(stream: BinaryIO, data: bytes) -> None:
    stream.write(data)
    stream.flush()
    os.fsync(stream.fileno())
