"""What the README shows of Python runs as it stands there."""

import re
from pathlib import Path

README = Path(__file__).parents[1] / "README.md"


def test_the_lines_for_python(tmp_path, monkeypatch, capsys):
    (part,) = re.findall(r"^## From Python\n(.*?)^## ", README.read_text(encoding="utf-8"), re.M | re.S)
    lines = "\n".join(line.removeprefix("    ") for line in part.splitlines())
    monkeypatch.chdir(tmp_path)
    names = {}
    exec(compile(lines, "README.md", "exec"), names)
    assert (tmp_path / "plan.png").read_bytes().startswith(b"\x89PNG")
    own, gap, verdict, why = capsys.readouterr().out.splitlines()
    assert own.endswith("N on spoke 7 by its own quarter turn")
    assert "mm of gap after" in gap
    assert verdict == "outside"
    assert "loosen the left side 1/2" in why
