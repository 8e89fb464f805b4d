"""Settings that must precede the first import of numpy; how the tests are spread over the cores."""

import gc
import os
import sys
from itertools import islice

import pytest

# A wheel's matrices are small: BLAS threads only get in each other's way.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# Some hundred processes are started by the tests: where bytecode is forbidden each would compile the program anew.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False

# Each worker is given an equal share of the list, and who is idle steals from the end of another's. So one begins with
# what mostly waits for a browser, the others with what takes longest and with what shares its costly set-ups.
FIRST = (("page/test_new_wheel", "tests/page/"),
         ("test_fewest_against_rule", "test_what_a_pass_teaches", "tests/experiments/", "tests/published/",
          "test_spoilt_files_by_the_reader", "test_sound_files_of_wild", "test_killed_at_any_moment"),
         ("test_threads_find_and_prove", "test_each_fewest_is_fewest", "test_coverage", "test_sheet",
          "test_readings_against_each_other", "test_json_is_clean_while", "tests/practice/test_run",
          "test_sound_turns_are_not_named"))


def pytest_xdist_auto_num_workers():
    """One more than there are cores: a test in a browser mostly waits."""
    asked = os.environ.get("PYTEST_XDIST_AUTO_NUM_WORKERS")
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return int(asked) if asked else cores + 1


def pytest_collection_modifyitems(items):
    """The first of each share first; otherwise the order stays."""
    shares = [[] for _ in FIRST]
    rest = []
    for item in items:
        found = [(k, names.index(name)) for k, names in enumerate(FIRST) for name in names if name in item.nodeid]
        shares[found[0][0]].append((found[0][1], item)) if found else rest.append(item)
    firsts = [[item for _, item in sorted(share, key=lambda one: one[0])] for share in shares]
    workers = int(os.environ.get("PYTEST_XDIST_WORKER_COUNT", "1"))
    left, rest = len(items), iter(rest)
    items.clear()
    for k in range(workers):
        size = left // (workers - k)
        share = [one for j, some in enumerate(firsts) if j % workers == k for one in some]
        share += islice(rest, max(size - len(share), 0))
        items += share
        left -= size
    items += rest


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
