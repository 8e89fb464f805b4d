"""The evidence page shows the rows that the tests assert."""

import pytest

from tests.published.evidence import HEAD, PAGE, UNSOURCED, absent, all_rows, cells, modules


@pytest.fixture(scope="module")
def rows():
    return [row for _, some in all_rows() for row in some]


def _written():
    lines = PAGE.read_text(encoding="utf-8").splitlines()
    table = [tuple(cell.strip() for cell in line.strip("|").split(" | ")) for line in lines if line.startswith("| ")]
    left_out = {HEAD[0], *(module.SOURCE for module in modules() if absent(module))}
    return [row for row in table if len(row) == len(HEAD) and row[0].strip() not in left_out]


def test_every_module_states_checks():
    """No module of published checks is left off the page."""
    assert len(modules()) >= 10
    assert all(module.CHECKS for module in modules())


def _same(written, now):
    """Equal words, or numbers but for their last digits: libraries of linear algebra differ in those."""
    if written == now:
        return True
    try:
        return float(written) == pytest.approx(float(now), rel=2e-3)
    except ValueError:
        return False


def test_page_is_up_to_date(rows):
    """Same rows and values as written; run ``python -m tests.published.evidence`` when this fails."""
    written = _written()
    assert len(written) == len(rows)
    for line, row in zip(written, rows, strict=True):
        for name, there, here in zip(HEAD, line, cells(row), strict=True):
            # Differences and residuals of rounding follow from the rest.
            if name != "Difference" and not (name == "Ours" and row.value == 0):
                assert _same(there, here), (name, there, here, str(row))


def test_difference_is_explained(rows):
    """Every difference over 1 per cent has its sentence, and every tolerance its reason."""
    assert not [str(row) for row in rows
                if row.difference is not None and not row.span and abs(row.difference) > 0.01 and not row.remark]
    assert not [str(row) for row in rows if row.allowed and not row.why]


def test_reported_rows_say_why(rows):
    """A row that is not checked says so and why."""
    assert not [str(row) for row in rows if row.allowed is None and "reported" not in row.remark]


def test_values_without_a_source_say_so():
    """What nobody published is labelled as practice, memory or choice, on the page as written too."""
    assert {kind for *_, kind in UNSOURCED} == {"common practice, no source", "value from memory", "own choice"}
    written = PAGE.read_text(encoding="utf-8")
    assert all(f"| {value} | `{where}` | {kind} |" in written for value, where, kind in UNSOURCED)


def test_a_tolerance_shows_its_measure(rows):
    """A relative tolerance says of what; a fixed one, and the difference beside it, have the row's unit."""
    for row in rows:
        difference, accepted = (cells(row)[HEAD.index(name)] for name in ("Difference", "Accepted"))
        if row.rel:
            assert "% of printed" in accepted
        elif row.absolute and row.value:
            unit = {"%": "percentage points", "1": ""}.get(row.unit, row.unit)
            assert accepted.endswith(unit)
            assert difference.endswith(unit)
