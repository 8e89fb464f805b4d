"""Practice played to the end: in scripts, by a reader, in a pipe; scores."""

import io
import json
import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

from wheelsim.planning.rule import by_rule
from wheelsim.practice.faults import LEVELS, drawn_case, hidden_wheel
from wheelsim.practice.made import PracticeError, turn_words
from wheelsim.practice.run import run
from wheelsim.practice.score import add_line
from wheelsim.practice.which_way import WhichWay

pytestmark = pytest.mark.usefixtures("plans_shared")

MENDED = ["predict right", "turn left -1/4", "turn left -1/4; done"]  # near-side, seed 0


def play(level, seed=0, moves=None, typed=None, score=None):
    """(exit code, lines written)."""
    lines, waiting = [], list(typed or [])

    def read(prompt):
        lines.append(prompt)
        if not waiting:
            raise EOFError
        return waiting.pop(0)

    return run(level, seed, read, lines.append, moves, score), lines


def by_the_rule(level, seed):
    """What the rule-of-thumb mechanic turns, as a learner would type it."""
    case = hidden_wheel(level, seed)
    free = np.array([i + 1 not in case.stuck for i in range(case.wheel.n)])
    for turns in (one.turns for one in by_rule(case.state, case.limits, free=free).passes):
        yield "gauge; dial true"
        yield f"predict {'tighter' if turns.sum() > 0 else 'looser'}"
        yield turn_words(0, 0, {i + 1: t for i, t in enumerate(turns) if t})
    yield "done"


@pytest.mark.parametrize("level", [one.name for one in LEVELS[1:] if one.name != "bent-rim"])
def test_each_level_to_its_end(level):
    code, lines = play(level, 0, moves=list(by_the_rule(level, 0)))
    you, rule = (next(line for line in lines if line.startswith(who)) for who in ("you", "rule of thumb"))
    assert you.split("|")[1] == rule.split("|")[1]  # the same wheel in the end
    assert you.endswith("yes")
    passed = any(line.startswith("A limit was passed") for line in lines)
    assert code == int(passed)
    assert passed == any("stood above what" in line for line in lines)
    assert any(line.startswith(("best plan", "best found")) for line in lines)


def test_bent_rim_handed_back():
    code, lines = play("bent-rim", 0, moves=["gauge", "dial", "tension", "hint", "reject"])
    assert code == 0
    assert "Handed back, and rightly." in lines
    assert "best plan      none exists" in lines


def test_near_side_done_well():
    code, lines = play("near-side", 0, moves=MENDED)
    assert code == 0
    assert "Within every limit, and none passed on the way." in lines
    assert sum("Never force a seized nipple" in line for line in lines) == 1


def test_names_of_commands_are_completed_where_they_are_typed(monkeypatch):
    """Tab asks readline's completer for one name after another."""
    readline = pytest.importorskip("readline")
    monkeypatch.setattr(sys, "stdin", io.StringIO())
    monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(readline, "get_line_buffer", lambda: "t")
    monkeypatch.setattr(readline, "get_begidx", lambda: 0)
    monkeypatch.setattr(readline, "get_endidx", lambda: 1)
    before, offered = readline.get_completer(), []

    def read(prompt):
        offered.extend(readline.get_completer()("t", k) for k in range(4))
        raise EOFError

    run("near-side", 0, read, [].append)
    assert offered == ["tension", "terms", "turn", None]
    assert readline.get_completer() is before


@pytest.mark.parametrize(("typed", "told"), [
    ("gauges", "'gauges': did you mean gauge?"),
    ("turn7 1/4", "'turn7': did you mean turn?"),
    ("xyzzy", "'xyzzy': expected one of gauge, dial, tension, predict, turn, hint, apply, wheel, log, terms, help, "
              "done, reject, quit"),
])
def test_words_that_are_no_command(typed, told):
    assert told in play("near-side", 0, typed=[typed])[1]


def right_answers(seed):
    for one in WhichWay(seed).exercises:
        yield from (one.go, " ".join(one.best))


def test_which_way_to_its_end():
    code, lines = play(1, 0, moves=list(right_answers(0)))
    assert code == 0
    assert lines[-1].startswith("6 of 6 right, 3 of 3 without help. You know which way.")
    code, lines = play(1, 0, moves=["right; right loosen"] * 6)
    assert code == 1
    assert "Once more with another seed" in lines[-1]


@pytest.mark.parametrize("words", ["l lo", "loosen left", "LEFT Loose", "left loosen"])
def test_which_way_takes_many_words(words):
    one = WhichWay(0).exercise
    _, lines = play(1, 0, typed=[one.go[0], words])
    assert any(line.startswith("Yes: less pull from the left" if one.go == "right" else "No: less pull from the left")
               for line in lines)


def test_same_seed_same_words(plans_shared):
    plans_shared.clear()
    first = play("near-side", 0, moves=MENDED)
    plans_shared.clear()
    drawn_case.cache_clear()
    assert play("near-side", 0, moves=MENDED) == first
    typed, scripted = play(3, 1, typed=["gauge", "quit"]), play(3, 1, moves=["gauge", "quit"])
    assert [line for line in typed[1] if line != "> "] == [line for line in scripted[1] if line[:2] != "> "]


@pytest.mark.parametrize(("typed", "told"), [
    ("gauge top", "gauge top: expected gauge, gauge left or gauge right quarter"),
    ("tenson", "'tenson': did you mean tension?"),
    ("xyzzy", "'xyzzy': expected one of gauge, dial"),
    ("dial up", "dial up: expected dial true"),
    ("tension 99", "'99': expected right, left, or spoke numbers from 1 to 32"),
    ("tension 8-3", "'8-3': expected right, left, or spoke numbers from 1 to 32, the lower one first"),
    ("tension x", "'x': expected right, left, or spoke numbers"),
    ("tension 1 2", "tension 1 2: expected tension"),
    ("predict up", "predict up: expected one of right"),
    ("predict right far", "predict right far: expected one of right, left"),
    ("predict right nan", "predict right nan: expected one of right"),
    ("turn", "turn: expected turn right 1/4"),
    ("turn right", "turn right: expected turn right 1/4"),
    ("turn right much", "turn right much: 'much'; expected turns like 1/4"),
    ("turn right 1/0", "turn right 1/0: '1/0'; expected a fraction"),
    ("turn right 3", "3 turns at once; expected 2 at most"),
    ("turn right 0", "no turn named"),
    ("turn up 1/4", "'up': expected right, left, or spoke numbers"),
    ("turn right 1/4", "predict first: you have not tightened a whole side"),
    ("predict right 1_0", "predict right 1_0: expected one of right"),
    ("predict 7,9 looser", "predict 7,9 looser: expected one of right"),
    ("predict right 0.5 N", "predict right 0.5 n: expected mm with right"),
    ("hint me", "hint me: expected hint alone"),
    ("done now", "done now: expected done alone"),
])
def test_bad_words_get_one_line_and_nothing_is_lost(typed, told):
    code, lines = play("near-side", 0, typed=[typed, "log", "quit"])
    at = len(lines) - 1 - lines[::-1].index("So far: nothing.")
    assert lines[at - 2].startswith(told)
    assert lines[at - 3] == "> "  # its prompt: one line and no more
    assert code == 1
    with pytest.raises(PracticeError, match=r"^moves: line 2: ") as caught:
        play("near-side", 0, moves=["gauge", typed])
    assert told in str(caught.value)


def test_what_follows_bad_words_on_a_line_is_left():
    _, lines = play("near-side", 0, typed=["predict right; turn lift 1/4; turn left -1/4", "log"])
    assert "So far: predict right." in lines


def test_comments_blanks_and_the_end_of_input():
    code, lines = play("near-side", 0, typed=["", "# a thought", "gauge # read it", "log"])
    assert "So far: gauge right." in lines
    assert code == 1
    assert lines[-1] == "Left before the end: level near-side, seed 0 brings this one back."


def test_help_names_every_command():
    _, lines = play("near-side", 0, typed=["help"])
    told = " ".join(lines)
    for word in ("gauge", "dial true", "dial round", "tension", "predict", "turn", "hint", "wheel", "log", "done",
                 "reject", "quit"):
        assert word in told


@pytest.mark.parametrize("given", [{"level": "x"}, {"level": 2, "seed": -1}, {"level": 2, "moves": "no/such/file"}])
def test_what_can_not_be_played(given):
    with pytest.raises(ValueError, match="expected") as caught:
        run(**{"seed": 0, "write": lambda line: None, **given})
    assert "\n" not in str(caught.value)


def test_moves_from_a_file(tmp_path):
    path = tmp_path / "moves.txt"
    path.write_text("gauge\n\n" + "\n".join(MENDED) + "\n")
    assert play(2, 0, moves=str(path))[0] == 0
    path.write_text("gauge\n\ngouge\n")
    with pytest.raises(PracticeError, match=r"moves.txt: line 3: 'gouge': did you mean gauge"):
        play(2, 0, moves=str(path))


def test_in_a_pipe():
    done = piped(b"gauge\nquit\n")
    assert (done.returncode, done.stderr) == (1, b"")
    lines = done.stdout.decode().splitlines()
    assert lines[lines.index("> gauge") + 1].startswith("Gauge set on the right face")
    # What follows a refused turn was meant for another wheel.
    done = piped(b"gauge\npredict right\nturn lift 1/4\nturn left -1/4\ndone\n")
    assert done.returncode == 2
    assert done.stderr.decode() == "standard input: line 3: 'lift': expected right, left, or spoke numbers like 7, " \
                                   "3-8 or 7,9\n"
    assert b"turn left" not in done.stdout
    done = piped(b"gauge\n\xff\n")
    assert done.returncode == 2
    assert done.stderr.decode().startswith("standard input: line 2: '\N{REPLACEMENT CHARACTER}': expected one of gauge")


def piped(text):
    return subprocess.run([sys.executable, "-m", "wheelsim", "practise", "near-side", "--seed", "0"], input=text,
                          capture_output=True, check=False, env={**os.environ, "PYTHONIOENCODING": "utf-8"})


def test_a_fault_of_ours_is_not_the_learners(monkeypatch, capsys):
    import wheelsim.cli.app
    from wheelsim.practice import run as played

    def broken(*_):
        raise ValueError("no such thing")

    monkeypatch.setattr(played, "Session", broken)
    assert wheelsim.cli.app.run(["practise", "2", "--seed", "0"]) == 70
    assert "a fault of ours" in capsys.readouterr().err


def test_a_script_that_ends_at_bad_words_keeps_what_was_done(tmp_path):
    path = tmp_path / "scores"
    with pytest.raises(PracticeError, match="line 2"):
        run("near-side", 0, write=lambda line: None, moves=["gauge", "gouge"], score=str(path))
    found = json.loads(path.read_text())
    assert (found["outcome"], found["moves"]) == ("left", ["gauge"])


def test_a_second_prediction_takes_the_place_of_the_first():
    _, lines = play("near-side", 0, typed=["predict looser", "predict right"])
    assert "It takes the place of your prediction looser: one for each turn." in lines


@pytest.mark.parametrize("level", [1, 2])
def test_stopped_by_hand_keeps_its_score(tmp_path, level):
    path = tmp_path / "scores"

    def read(prompt):
        raise KeyboardInterrupt

    assert run(level, 0, read, lambda line: None, score=str(path)) == 1
    assert json.loads(path.read_text())["outcome"] == "left"


def test_score_is_kept(tmp_path):
    path = tmp_path / "scores.jsonl"
    play("near-side", 0, typed=["gauge", "tipo", *MENDED], score=str(path))
    path.write_text(path.read_text().rstrip("\n"))  # as an editor may leave it
    play(1, 5, typed=list(right_answers(5)), score=str(path))
    play("near-side", 1, typed=["quit"], score=str(path))
    first, second, third = (json.loads(line) for line in path.read_text().splitlines())
    assert (first["level"], first["seed"], first["outcome"], first["success"]) == ("near-side", 0, "within", True)
    assert first["moves"] == ["gauge", "predict right", "turn left -1/4", "turn left -1/4", "done"]
    assert first["you"]["turns"] == first["plan"]["turns"] == 8.0
    assert first["rule"]["peak_tension_N"] > first["you"]["peak_tension_N"]
    assert (second["level"], second["right"]) == ("which-way", 6)
    assert (third["outcome"], third["success"]) == ("left", False)
    # Its moves play it again.
    assert play("near-side", 0, moves=first["moves"])[0] == 0
    assert os.listdir(tmp_path) == ["scores.jsonl"]


def test_no_score_unless_asked(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    play("near-side", 0, moves=MENDED)
    assert not os.listdir(tmp_path)


@pytest.mark.parametrize("text", ["notes of mine\n", '{"other": 1}\n', "[1]\n", "7\n", '"practise"\n',
                                  '["practise"]\n'])
def test_another_file_is_left_alone(tmp_path, text):
    path = tmp_path / "notes.txt"
    path.write_text(text)
    with pytest.raises(ValueError, match="line 1 is no score"):
        play("near-side", 0, moves=MENDED, score=str(path))
    assert path.read_text() == text


def test_places_that_can_not_be_written(tmp_path):
    for place in (tmp_path, tmp_path / "none" / "scores"):
        with pytest.raises(ValueError, match="expected a file in a folder"):
            play("near-side", 0, moves=MENDED, score=str(place))


def test_a_score_that_can_not_be_written_leaves_the_file_whole(tmp_path, monkeypatch):
    path = tmp_path / "scores.jsonl"
    play(1, 0, typed=["quit"], score=str(path))
    was = path.read_text()

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(PracticeError, match="No space left on device; the score was not kept"):
        play(1, 0, typed=["quit"], score=str(path))
    assert path.read_text() == was
    assert os.listdir(tmp_path) == ["scores.jsonl"]


def test_two_learners_at_once_lose_nothing(tmp_path):
    path = str(tmp_path / "scores.jsonl")
    with ThreadPoolExecutor(8) as hands:
        list(hands.map(lambda k: add_line(path, {"level": "true", "seed": k, "moves": ["gauge"] * 200}), range(64)))
    with open(path, encoding="utf-8") as file:
        found = [json.loads(line) for line in file]
    assert sorted(one["seed"] for one in found) == list(range(64))


def test_a_device_is_no_file_of_scores():
    """Replacing it whole would take the device away."""
    with pytest.raises(ValueError, match="is no plain file"):
        run(2, 1, moves=["quit"], score="/dev/null", write=lambda line: None)
