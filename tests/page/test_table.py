"""What lies on the bench: turns tried and taken back, one log with the command line, paths that stay in the folder."""

import shutil
from dataclasses import replace

import numpy as np
import pytest

from wheelsim.estimation.estimate import Estimate
from wheelsim.estimation.known import Known
from wheelsim.files.log import ToLog, add_visit
from wheelsim.files.reader import read_job, sample_path
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.structure import Fails, Unstable
from wheelsim.page.face import face_of, marks, read_face, with_outlook
from wheelsim.page.headline import headline
from wheelsim.page.server import NotServed, chosen
from wheelsim.page.table import Table, jobs_of, sample_copy, within
from wheelsim.stand.stand import Stand


@pytest.fixture
def table(tmp_path):
    for name in ("dished-rear.toml", "dished-rear-wheel.toml"):
        shutil.copy(sample_path(name), tmp_path / name)
    return Table(tmp_path / "dished-rear.toml")


def test_turns_are_tried_undone_and_done_again(table):
    table.tap(7, 0.25)
    table.tap_side("left", -0.25)
    assert (table.turns[6], table.turns[1]) == (0.25, -0.25)
    table.undo()
    assert (table.turns[6], table.turns[1]) == (0.25, 0.0)
    table.undo()
    table.undo()  # nothing left: stays
    assert not table.turns.any()
    table.redo()
    table.redo()
    assert table.turns[1] == -0.25
    table.tap(1, 0.5)
    table.redo()  # another way was taken
    assert table.turns[0] == 0.5
    table.clear()
    assert not table.turns.any()
    assert read_job(table.path).passes == ()


def test_what_is_tried_is_what_predict_says(table):
    table.tap_side("left", -0.5)
    said = table.predicted()
    assert said.after.gap == pytest.approx(table.stand.predict(left="-1/2").after.gap)


def test_one_log_with_the_command_line(table):
    table.tap_side("left", -0.25)
    table.log(turned=True)
    assert not table.turns.any()
    assert not table.changed
    add_visit(table.path, ToLog(reading={"gauge": {"set_on": "right", "gap_mm": 1.9, "gap_at": "hub"}}))
    assert table.changed
    table.read()
    assert table.stand.job.last.after_pass == 1


def test_a_plan_is_kept_and_ticked_off(table):
    plan = table.stand.plan(effort=0.2, seconds=60)
    first, *others = plan.passes
    numbers = table.keep(replace(plan, passes=(replace(first, gauge_again=True), *others)))
    assert numbers == [1, 2, 3]
    assert [one.gauge_again for one in table.to_do()] == [True, False, False]
    table.log(done=(1,))
    passes = read_job(table.path).passes
    assert [one.turns is None for one in passes] == [False, True, True]


@pytest.mark.parametrize("name", ["../secret.toml", "/etc/passwd", "dished-rear.txt", "sub/x.toml"])
def test_paths_stay_in_the_folder(table, name):
    with pytest.raises(ValueError, match="of the folder"):
        within(table.path.parent, name)


def test_a_folder_lists_its_jobs(table, tmp_path):
    assert within(tmp_path, "dished-rear.toml") == table.path.resolve()
    assert "dished-rear.toml" in jobs_of(tmp_path)
    empty = tmp_path / "empty"
    empty.mkdir()
    with pytest.raises(NotServed, match="no job in this folder"):
        chosen(str(empty))


def test_the_sample_is_worked_on_as_a_copy():
    path = sample_copy()
    assert path.parent != sample_path("dished-rear.toml").parent
    assert path.read_bytes() == sample_path("dished-rear.toml").read_bytes()
    shutil.rmtree(path.parent)


def test_strip_names_every_spoke_and_what_is_wrong(table):
    table.tap_side("right", 0.25)
    found = table.predicted()
    tension, limits = found.after.state.tension, found.limits
    face = face_of(found.before, found.after, table.turns, limits, {4})
    assert (len(face["names"]), face["sides"]) == (32, "RL" * 16)
    assert face["names"][0].startswith("spoke 1, right")
    assert face["names"][0].endswith("+1/4 turn")
    over = {i + 1 for i in np.flatnonzero(tension > limits.max_tension).tolist()}
    assert over
    assert {i for i, word in face["wrong"].items() if word == "over limit"} == over
    assert face["wrong"][4] == "doubted"
    said = marks(found.after, limits, {4})
    assert said.over == tuple(sorted(over))
    assert said.sentence.startswith(f"Over the limit: spokes {min(over)}")
    assert "Reading doubted: spoke 4." in said.sentence
    assert said.sentence in face["says"]


def test_slack_and_missing_spokes_are_named(table):
    table.tap(6, -4.0)
    found = table.predicted()
    assert 6 in found.after.slack
    face = face_of(found.before, found.after, table.turns, found.limits)
    assert face["wrong"][6] == "slack"
    assert "slack" in face["names"][5]


def test_outlook_is_a_band_about_the_rim(table):
    table.tap_side("left", -0.25)
    found = table.predicted()
    face = with_outlook(face_of(found.before, found.after, table.turns, found.limits), found.after, found.outlook)
    low, high = (np.array(one) for one in face["outlook"])
    now = np.array(face["now"])
    assert (low < now).all()
    assert (now < high).all()
    # The gap is twice the rim's place.
    assert high[0] - low[0] == pytest.approx(1000 * (found.outlook.gap[1] - found.outlook.gap[0]) / 2, abs=2e-3)
    assert max(abs(low).max(), abs(high).max()) <= face["reach"]
    assert face["most"] > found.outlook.highest[1]


def test_a_strip_of_readings_alone(table):
    wheel, limits = table.stand.job.wheel, table.predicted().limits
    face = read_face(wheel, limits, None, {3: 0.0, 5: limits.max_tension + 10})
    assert face["names"][4] == f"spoke 5, right, {limits.max_tension + 10:.0f} newtons read"
    assert face["now"] == [None] * 32
    assert [i for i, value in enumerate(face["tension"], 1) if value is not None] == [3, 5]
    assert face["wrong"] == {3: "slack", 5: "over limit"}


def test_a_wheel_that_can_not_stand_is_shown_as_its_file_has_it(table, monkeypatch):
    """Where no stable wheel explains the readings the strip shows the wheel without them, true and centred."""
    assert table.shown is table.stand

    def none(*_, **__):
        raise Unstable(Fails.STIFFNESS, readings=True)

    monkeypatch.setattr("wheelsim.estimation.known.estimate", none)
    read = "wheelsim.estimation.known.Known.found"
    monkeypatch.setattr(read, property(lambda known: none() if known.log else Known(known.job).as_nominal))
    monkeypatch.setattr(Known, "as_nominal", property(lambda known: Estimate.certain(equilibrium(known.job.wheel))),
                        raising=False)
    table.read()
    assert table.stand.assess().view is None
    assert table.shown is not table.stand
    assert abs(table.predicted().before.gap) < 1e-6


def test_headline_gives_no_value_to_what_was_not_read(table):
    """With the gauge alone: no true, no highest tension, and the mean tensions are said to be taken."""
    table.tap_side("left", -0.25)
    assert headline(table.predicted()) == \
        "Gap 1.85 mm (rim left), true 0.21 mm, right 1095 N, left 625 N, highest 1109 N; 4 turns tried."
    job = table.stand.job
    by_gauge = Stand(replace(job, readings=(replace(job.last, lateral=(), tension=()),))).predict()
    assert headline(by_gauge) == ("Gap 2.98 mm (rim left), true can't be told, tension taken as right 1169 N, "
                                  "left 697 N; nothing turned.")
    assert headline(Stand(replace(job, readings=())).predict()).startswith("Gap 0.00 mm, true 0.00 mm, right ")
