"""Settings that must precede the first import of numpy; how the tests are spread over the cores."""

import gc
import os
import sys

import pytest

# A wheel's matrices are small: BLAS threads only get in each other's way.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# Some hundred processes are started by the tests: where bytecode is forbidden each would compile the program anew.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False

# What takes longest comes first, so that at the end no worker sits alone with one of them; then what waits for a
# browser, while other workers compute.
FIRST = ("page/test_new_wheel", "test_fewest_against_rule", "test_spoilt_files_by_the_reader", "test_evidence",
         "test_what_a_pass_teaches", "test_sound_files_of_wild", "test_json_is_clean_while",
         "test_each_fewest_is_fewest", "test_threads_find_and_prove", "test_readings_against_each_other", "tests/page/")


def pytest_xdist_auto_num_workers():
    """One more than there are cores: a test in a browser mostly waits."""
    asked = os.environ.get("PYTEST_XDIST_AUTO_NUM_WORKERS")
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return int(asked) if asked else cores + 1


def pytest_collection_modifyitems(items):
    """The first first; otherwise the order stays."""
    items.sort(key=lambda item: next((k for k, name in enumerate(FIRST) if name in item.nodeid), len(FIRST)))


def pytest_collection_finish():
    """What was imported and collected stays to the end: the garbage collector needn't walk through it again."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)


@pytest.fixture
def run(capsys):
    """The command line in process: exit code, stdout and stderr of some words."""
    import wheelsim.cli.app  # not before the settings above

    def call(*words):
        code = wheelsim.cli.app.run(words)
        out, err = capsys.readouterr()
        assert "Traceback" not in err
        return code, out, err

    return call
