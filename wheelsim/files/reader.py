"""Reads wheel and job files; the doors of this room."""

from importlib import resources
from pathlib import Path

from wheelsim.files.atomic import remove_left_behind
from wheelsim.files.checking import Checker
from wheelsim.files.errors import FileError, FileFault
from wheelsim.files.job_tables import job_from
from wheelsim.files.text import parse_toml, passes_above, read_text
from wheelsim.files.wheel_tables import wheel_from
from wheelsim.job.job import Job
from wheelsim.wheel.parts import Wheel

SAMPLE = "dished-rear.toml"
WHEEL_KEYS = ("hub", "rim", "spokes")
EITHER = "expected a wheel or job file"
NEITHER = 'expected wheel = "..." as in a job file, or [hub], [rim] and [spokes] as in a wheel file'


def read_wheel(path: str | Path) -> Wheel:
    """The wheel of a wheel file, or of a job file.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    Wheel

    Raises
    ------
    FileError
        With all that is wrong with the file and the files it names.
    """
    return read_job(path).wheel


def read_job(path: str | Path) -> Job:
    """The job of a job file; of a wheel file, a job without readings.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    Job

    Raises
    ------
    FileError
        With all that is wrong with the file and the files it names.
    """
    return examine(path)[0]


def sample_job() -> Job:
    """The shipped job, all of it invented; ``source`` says so."""
    return examine(sample_path(SAMPLE), source=f"the shipped sample (invented): {SAMPLE}")[0]


def sample_path(name: str) -> Path:
    """Where a shipped file lies."""
    return Path(str(resources.files("wheelsim.samples") / name))


def examine(path: str | Path, source: str | None = None, text: str | None = None) -> tuple[Job, tuple[FileFault, ...]]:
    """The job of a file and what is unusual about it.

    Parameters
    ----------
    path : str or Path
        Of a job or a wheel file.
    source : str, optional
        What the job calls itself; default the path.
    text : str, optional
        What the file holds, or shall hold; default what stands there.

    Returns
    -------
    job : Job
    warnings : tuple of FileFault
        Under the keys of the file.

    Raises
    ------
    FileError
    """
    path = Path(path)
    source = str(path) if source is None else source
    if text is None:
        remove_left_behind(path)
        text = read_text(path, EITHER)
    tables = parse_toml(text, path, EITHER)
    checker = Checker(str(path))
    if "wheel" in tables:
        job, wheel_checker = job_from(tables, path, checker, source, passes_above(text))
    elif any(key in tables for key in WHEEL_KEYS):
        wheel, wheel_checker = wheel_from(tables, checker, "", path.stem).wheel, checker
        job = None if wheel is None else Job(wheel, source=source)
    else:
        raise FileError([FileFault(str(path), "", "is no wheel and no job", NEITHER)])
    if checker.faults:
        raise FileError(checker.faults)
    assert job is not None, "there is none only after faults"
    wheel_checker.translate(job.wheel.faults())
    return job, tuple(wheel_checker.faults)
