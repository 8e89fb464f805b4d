"""Common practice, no source: one gauge fact has many wordings; each must give the same offset, on the right side."""

import pytest

from wheelsim.estimation.estimate import estimate
from wheelsim.files import read_job
from wheelsim.files.reader import sample_path
from wheelsim.stand.assess import assess

# Common practice, no source. Each says: the rim lies 1.5 mm to the left. Set on the right the gap shows at
# the left end of the hub; set on the left the feet lift. One foot resting doubles the gap. An axle's thread is 1 mm.
LIES_LEFT = {
    "set right, gap at the hub": 'set_on = "right", gap_at = "hub", gap_mm = 3.0',
    "set right, gap at the hub, whole number": 'set_on = "right", gap_at = "hub", gap_mm = 3',
    "set right, three threads of the axle": 'set_on = "right", gap_at = "hub", gap_threads = 3',
    "set right, feelers": 'set_on = "right", gap_at = "hub", passes_mm = 2.8, stops_mm = 3.2',
    "set right, feelers of 2.4 mm pass, of 3.6 stop": 'set_on = "right", gap_at = "hub", passes_mm = 2.4, '
                                                            "stops_mm = 3.6",
    "set left, feet held level": 'set_on = "left", gap_at = "feet", gap_mm = 3.0',
    "set left, feet, threads": 'set_on = "left", gap_at = "feet", gap_threads = 3.0',
    "set left, feet, feelers": 'set_on = "left", gap_at = "feet", passes_mm = 2.9, stops_mm = 3.1',
    "set left, one foot rests": 'set_on = "left", gap_at = "one foot", gap_mm = 6.0',
    "set left, one foot rests, threads": 'set_on = "left", gap_at = "one foot", gap_threads = 6',
    "set left, one foot rests, feelers": 'set_on = "left", gap_at = "one foot", passes_mm = 5.9, stops_mm = 6.1',
}


def mirrored(wording):
    """The same fact of a rim that lies as far to the right."""
    left, right = '"left"', '"right"'
    return wording.replace(left, right) if left in wording else wording.replace(right, left)


CASES = [
    pytest.param(text, -1.5, "left", "right", id=f"rim left: {words}") for words, text in LIES_LEFT.items()
] + [
    pytest.param(mirrored(text), 1.5, "right", "left", id=f"rim right: mirror of {words}")
    for words, text in LIES_LEFT.items()
]


@pytest.fixture(params=["front.toml", "dished-rear-wheel.toml"])
def job_of(request, tmp_path):
    """A job on a shipped wheel, read with the gauge alone."""

    def job_of(gauge):
        path = tmp_path / "job.toml"
        wheel = sample_path(request.param)
        path.write_text(f'wheel = "{wheel}"\n[[reading]]\ngauge = {{ {gauge} }}\n', encoding="utf-8")
        return read_job(path)

    return job_of


@pytest.mark.parametrize(("gauge", "dish_mm", "lies", "move"), CASES)
def test_every_wording_of_one_gauge_fact(job_of, gauge, dish_mm, lies, move):
    """Common practice, no source: from the file to the offset, the signed gap and the way the rim must move."""
    job = job_of(gauge)
    # A sum and a few products of the written numbers.
    assert job.last.gauge.dish == pytest.approx(dish_mm * 1e-3, rel=1e-12)
    # A side may stray four turns, millimetres of offset: that pulls a reading to nought by a thousandth at most.
    assert estimate(job.wheel, job.last).state.dish == pytest.approx(dish_mm * 1e-3, rel=1e-3)
    found = assess(job)
    assert found.as_dict()["state"]["gauge_gap_mm"] == pytest.approx(2 * dish_mm, rel=1e-3)
    gap = found.checks[0]
    assert (gap.name, gap.status) == ("gap", "outside")
    # A gap has no sign; the limit is 1 mm.
    assert (gap.value, gap.margin) == (pytest.approx(3.0, rel=1e-3), pytest.approx(-2.0, rel=2e-3))
    # Common practice, no source: a wheel about right, as one is taken to be without a meter, gets half of each,
    # loosening first.
    assert (f"the rim lies 1.50 mm {lies}; it must move {move}; its tension is taken as usual: loosen {lies}, then "
            f"tighten {move}") in found.as_dict()["advice"]
    # What tightening that side does bears the advice out.
    moved = next(one for one in found.quarter_turns if (one.side, one.verb) == (move, "tighten"))
    assert moved.dish * dish_mm < 0
