"""Wheel and job files; pydantic lives only here."""

from wheelsim.files.errors import FileError, FileFault
from wheelsim.files.reader import examine, read_job, read_wheel, sample_job

__all__ = ["FileError", "FileFault", "examine", "read_job", "read_wheel", "sample_job"]
