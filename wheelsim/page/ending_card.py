"""How a practice wheel ended: the learner beside the best plan and the rule of thumb."""

from nicegui import ui

from wheelsim.measures.quantities import Quantity
from wheelsim.practice.ending import Ending, Row
from wheelsim.practice.words import OUTCOMES, ending_lines
from wheelsim.units import MM


def ending_card(ending: Ending) -> None:
    """The learner beside the best plan and the rule of thumb."""
    with ui.column().classes("card"):
        ui.label(OUTCOMES[ending.outcome]).classes("big")
        rows = [row for row in (ending.received, ending.you, ending.plan, ending.rule) if row is not None]
        with ui.element("div").classes("flat").props('tabindex=0 role=region aria-label="you, the best plan and the '
                                                     'rule of thumb"'), ui.element("table").classes("ending"):
            with ui.element("tr"):
                for word in ("", "turns", "nipples", "passes", "peak, N", "gap, mm", "true, mm", "round, mm",
                             "spread, %", "lowest, N", "within"):
                    _cell("th", word)
            for row in rows:
                with ui.element("tr"):
                    for k, word in enumerate(_row(row)):
                        _cell("td" if k else "th", word)
        lines = list(ending_lines(ending))
        for line in lines[lines.index("", 2) + 1:]:
            ui.label(line.removeprefix("- ")).classes("why")


def _cell(tag: str, text: str) -> None:
    with ui.element(tag):
        ui.label(text)


def _row(row: Row) -> tuple[str, ...]:
    v = row.values
    return (row.who, f"{row.total_turns:.2f}", str(row.nipples), str(row.passes), f"{row.peak_tension:.0f}",
            f"{v[Quantity.GAP] / MM:.2f}", f"{v[Quantity.TRUE] / MM:.2f}", f"{v[Quantity.ROUND] / MM:.2f}",
            f"{min(100 * v[Quantity.SPREAD], 999):.0f}", f"{v[Quantity.LOWEST]:.0f}", "yes" if row.within else "no")
