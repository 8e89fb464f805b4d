"""A writer killed between two system calls leaves a hidden name; whoever reads or writes the file next removes it."""

import os
import signal

import pytest

from wheelsim.files.atomic import one_writer, remove_left_behind, replace_contents
from wheelsim.files.errors import FileError
from wheelsim.files.log import ToLog, add_visit
from wheelsim.files.reader import read_job


def killed(point, path):
    """A writer killed by signal 9 as it calls ``os.<point>``."""
    child = os.fork()
    if not child:
        setattr(os, point, lambda *_, **__: os.kill(os.getpid(), signal.SIGKILL))
        with one_writer(path):
            replace_contents(path, b"new\n")
        os._exit(1)
    assert os.WTERMSIG(os.waitpid(child, 0)[1]) == signal.SIGKILL


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "job.toml"
    path.write_bytes(b"old\n")
    return path


def names(file):
    return sorted(one.name for one in file.parent.iterdir())


@pytest.mark.parametrize("point", ["fsync", "link", "replace"])
def test_a_reader_finds_the_old_contents_and_nothing_else(file, point):
    killed(point, file)
    assert file.read_bytes() == b"old\n"
    assert (".job.toml.part" in names(file)) == (point == "replace")
    with pytest.raises(FileError):  # no job, but looked at
        read_job(file)
    assert names(file) == ["job.toml"]


def test_the_next_writer_removes_it(file):
    killed("replace", file)
    replace_contents(file, b"other\n")
    assert file.read_bytes() == b"other\n"
    assert names(file) == ["job.toml"]


def test_where_no_file_can_be_unnamed(file, monkeypatch):
    monkeypatch.delattr(os, "O_TMPFILE")
    replace_contents(file, b"new\n")
    assert file.read_bytes() == b"new\n"
    killed("fsync", file)  # its hidden name is there from the first
    assert names(file) == [".job.toml.part", "job.toml"]
    remove_left_behind(file)
    assert names(file) == ["job.toml"]


def test_what_another_is_writing_stays(file):
    part = file.with_name(".job.toml.part")
    part.write_bytes(b"half")
    with one_writer(file):
        child = os.fork()
        if not child:
            remove_left_behind(file)
            os._exit(0)
        os.waitpid(child, 0)
        assert part.exists()
    remove_left_behind(file)
    assert not part.exists()


def test_links_in_a_circle_are_no_file(file):
    circle = file.with_name("circle.toml")
    circle.symlink_to(circle.name)
    with pytest.raises(FileError, match="cannot be read"):
        add_visit(circle, ToLog(turned={"7": 0.25}))
    assert names(file) == ["circle.toml", "job.toml"]


def test_through_a_link_the_file_itself_is_written(file):
    link = file.with_name("link.toml")
    link.symlink_to(file.name)
    replace_contents(link, b"new\n")
    assert link.is_symlink()
    assert file.read_bytes() == b"new\n"
    killed("replace", link)
    remove_left_behind(link)
    assert names(file) == ["job.toml", "link.toml"]
