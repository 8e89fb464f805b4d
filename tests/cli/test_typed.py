"""Words typed at the command line and in practice name spokes and turns alike."""

import json

import pytest

import wheelsim.cli.app
from tests.wheels import make_wheel
from wheelsim.cli.typed import BadWords, spoke_turns
from wheelsim.files.reader import sample_path
from wheelsim.practice.commands import Desk
from wheelsim.practice.session import Session

FRONT = str(sample_path("front.toml"))


def test_a_list_of_spokes_reaches_the_answer(capsys):
    assert wheelsim.cli.app.run(["predict", FRONT, "--spoke", "7,9=1/4", "--spoke", "9-11,1=-1/2", "--json"]) == 0
    turns = json.loads(capsys.readouterr().out)["turns"]
    assert {i + 1: turn for i, turn in enumerate(turns) if turn} == {
        1: -0.5, 7: 0.25, 9: -0.25, 10: -0.5, 11: -0.5}


@pytest.mark.parametrize(("which", "amount"), [
    ("7", "1 1/4"), ("3-8", "-1/8"), ("7,9", "1/4"), ("1-4,9", "-1 1/4"), ("9,7,9", "0.5"),
])
@pytest.mark.parametrize("between", ["=", " "])
def test_practice_turns_what_the_command_line_would(which, between, amount):
    session = Session("near-side", 0)
    session.predict("still")
    Desk(session, [].append).do(f"turn {which}{between}{amount}")
    turns = session.made[-1].turns
    assert {i + 1: turn for i, turn in enumerate(turns) if turn} == spoke_turns([f"{which}={amount}"], session.wheel)


@pytest.mark.parametrize(("typed", "said"), [
    ("7", "--spoke: '7'; expected spokes and turns, like 7=1/2, 1-8=1/4 or 7,9=1/4"),
    ("7,=1/4", "--spoke: '7,'; expected spoke numbers like 7, 3-8 or 7,9"),
    ("7,37=1/4", "--spoke: '7,37'; expected spoke numbers from 1 to 36, the lower one first"),
    ("7=", "--spoke: ''; expected turns like 1/4 (tighten), -1/4 (loosen), 0.25 or 1 1/4"),
    ("7,9=1/4=1/4", "--spoke: '1/4=1/4'; expected turns like 1/4 (tighten), -1/4 (loosen), 0.25 or 1 1/4"),
    ("7,5=1/4", "--spoke: '7,5=1/4'; spoke 5 is missing; expected one that is there"),
])
def test_what_is_no_list_of_spokes_is_told(typed, said):
    with pytest.raises(BadWords) as told:
        spoke_turns([typed], make_wheel(missing=(5,)))
    assert str(told.value) == said


def test_a_run_leaves_a_missing_spoke_out():
    assert spoke_turns(["4-6,8=1/4"], make_wheel(missing=(5,))) == {4: 0.25, 6: 0.25, 8: 0.25}
