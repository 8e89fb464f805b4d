"""Settings that must precede the first import of numpy."""

import os

import pytest

# A wheel's matrices are small: BLAS threads only get in each other's way.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


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
