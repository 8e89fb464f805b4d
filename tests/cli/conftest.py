"""The command line in process."""

import pytest

import wheelsim.cli.app


@pytest.fixture
def run(capsys):
    def call(*words):
        code = wheelsim.cli.app.run(words)
        out, err = capsys.readouterr()
        assert "Traceback" not in err
        return code, out, err

    return call
