"""The house stands as drawn: imports only run back up the list of rooms."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import wheelsim

ROOMS = ("arrays", "threads", "encoded", "units", "wheel", "mechanics", "measures", "readings", "job", "estimation",
         "planning", "stand", "files", "samples", "report", "practice", "page", "cli")
ROOT = Path(wheelsim.__file__).parent
FILES = sorted(ROOT.rglob("*.py"))
# Doors name the rooms they open; the package itself only says where its names live.
FREE = {"__init__", "__main__"}


def room_of(path):
    return path.relative_to(ROOT).parts[0].removesuffix(".py")


def rooms_imported(path):
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            names = [node.module]
        else:
            continue
        yield from (name.split(".")[1] for name in names if name.startswith("wheelsim."))


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_imports_run_back_up_the_house(path):
    room = room_of(path)
    if room in FREE:
        return
    assert room in ROOMS, f"{room} is no room of the house"
    for other in rooms_imported(path):
        assert ROOMS.index(other) <= ROOMS.index(room), f"{path} reaches down to {other}"


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_libraries_stay_in_their_rooms(path):
    homes = {"pydantic": {"files"}, "nicegui": {"page"}, "matplotlib": {"report"},
             "networkx": {"wheel", "estimation", "practice"}, "typer": {"cli"}, "rich": {"report", "practice", "cli"}}
    for node in ast.walk(ast.parse(path.read_text())):
        names = [a.name for a in node.names] if isinstance(node, ast.Import) else (
            [node.module] if isinstance(node, ast.ImportFrom) else [])
        for name in names:
            home = homes.get(name.split(".")[0])
            assert home is None or room_of(path) in home, f"{path} imports {name}"
            assert name != "matplotlib.pyplot"


@pytest.mark.parametrize("path", sorted((ROOT / "wheel").glob("*.py")), ids=lambda path: path.name)
def test_the_parts_of_a_wheel_need_each_other_one_way(path):
    """No import within a function hides a circle."""
    within = [node for def_ in ast.walk(ast.parse(path.read_text())) if isinstance(def_, ast.FunctionDef)
              for node in ast.walk(def_) if isinstance(node, ast.ImportFrom | ast.Import)]
    assert not within


def modules_after(code):
    script = f"import sys\n{code}\nprint(*sys.modules)"
    return subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True).stdout.split()


def test_import_is_light():
    loaded = modules_after("import wheelsim")
    assert not [name for name in loaded if name.startswith(("matplotlib", "scipy.optimize", "numpy"))]


def test_predict_brings_in_neither_solver_nor_pictures():
    code = ("import io, contextlib, wheelsim.cli.app\n"
            "with contextlib.redirect_stdout(io.StringIO()):\n"
            "    assert wheelsim.cli.app.run(['predict', '--right', '1/4']) == 0")
    loaded = modules_after(code)
    assert "wheelsim.mechanics.equilibrium" in loaded
    assert not [name for name in loaded if name.startswith(("matplotlib", "scipy.optimize", "networkx"))]


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_files_stay_short(path):
    assert len(path.read_text().splitlines()) <= 350, "about 300 lines; a file that knows everything is the fault"


def test_test_files_stay_short():
    here = Path(__file__).parent
    assert not [path.name for path in here.rglob("*.py") if len(path.read_text(encoding="utf-8").splitlines()) > 350]


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_functions_stay_short(path):
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            assert node.end_lineno - node.lineno < 60, f"{node.name} has more than 60 lines"


# Rooms whose results are data: words for people are made in report/ and below it.
DATA = ROOMS[:ROOMS.index("files")]
MOST_WORDS = 6  # a name such as "right mean against half of buckling", and no sentence


def texts_for_people(path):
    """Strings of a file that are neither docstrings nor what an error or a fault says, f-strings as a whole."""
    tree, apart = ast.parse(path.read_text()), set()
    for node in ast.walk(tree):
        told = isinstance(node, ast.Raise | ast.Assert) or (
            isinstance(node, ast.Call) and getattr(node.func, "id", None) in ("Fault", "require"))
        if told or (isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)):
            apart.update(map(id, ast.walk(node)))
    for node in ast.walk(tree):
        if id(node) in apart:
            continue
        if isinstance(node, ast.JoinedStr):
            yield node.lineno, " x ".join(part.value for part in node.values if isinstance(part, ast.Constant))
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.lineno, node.value


@pytest.mark.parametrize("path", [path for path in FILES if room_of(path) in DATA and path.name != "kinds.py"],
                         ids=lambda path: str(path.relative_to(ROOT)))
def test_no_sentence_above_the_report(path):
    """Kinds of rim apart: how to know one and where its figures come from are what a kind is."""
    assert not [(line, text) for line, text in texts_for_people(path) if len(text.split()) > MOST_WORDS]
