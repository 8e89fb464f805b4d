"""Each key of a file says which field of its part it becomes."""

from dataclasses import fields

import pytest

from wheelsim.files import schema
from wheelsim.job.job import Work
from wheelsim.readings.errors import ToolErrors
from wheelsim.readings.gauge import Gauge
from wheelsim.readings.reading import Reading
from wheelsim.wheel.parts import Flange, Hub, Joint, Limits, Load, Rim, SideSpokes, Spokes, Tyre

BOTH_SIDES = {"diameter", "segments"}  # what the spokes are of, where it is said once for both sides


@pytest.mark.parametrize(("table", "part", "more"), [
    (schema.HubTable, Hub, set()), (schema.FlangeTable, Flange, set()), (schema.RimTable, Rim, set()),
    (schema.JointTable, Joint, set()), (schema.SpokesTable, Spokes, BOTH_SIDES),
    (schema.SideTable, SideSpokes, {"diameter"}), (schema.LimitsTable, Limits, set()), (schema.LoadTable, Load, set()),
    (schema.TyreTable, Tyre, set()), (schema.GaugeTable, Gauge, set()), (schema.ReadingTable, Reading, set()),
    (schema.WorkTable, Work, set()), (schema.ErrorsTable, ToolErrors, set()),
])
def test_what_a_key_becomes_is_a_field_of_its_part(table, part, more):
    becomes = {to.field for to in table.becomes().values()}
    assert becomes - {field.name for field in fields(part)} == more


@pytest.mark.parametrize(("key", "written", "value", "words"), [
    ("threads_per_inch", 56, 25.4e-3 / 56, "a pitch of 0.4536 mm; "),
    ("nipple_seat_diameter_mm", 602.0, 0.301, "a radius of 301 mm; "),
    ("max_tension_kgf", 100.0, 980.665, "is 980.66 N; "),
    ("min_tension_N", "from load", "from load", ""),
    ("cross", 3, 3, ""),
    ("gap_threads", 3.0, 3e-3, "is 3 mm; "),
])
def test_values_in_si_and_words_for_them(key, written, value, words):
    to = next(one.becomes()[key] for one in schema.Table.__subclasses__() if key in one.becomes())
    assert to.value(written) == (value if isinstance(value, str) else pytest.approx(value))
    assert to.words(to.value(written)) == words
