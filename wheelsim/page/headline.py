"""The sentence under the strip: where the wheel is, with the turns tried."""

from wheelsim.measures.quantities import Quantity
from wheelsim.report.words.measures import gap_words
from wheelsim.stand.predict import Prediction
from wheelsim.units import MM, turns_text


def headline(found: Prediction) -> str:
    """Gap, true, mean and highest tensions after the turns tried; no value for what too little was read of.

    Mean tensions have one all the same, said to be taken: what a turn does hangs on them.
    """
    after, unread = found.after, found.unread
    gap = "Gap can't be told" if Quantity.GAP in unread else f"Gap {gap_words(after)}"
    true = "true can't be told" if Quantity.TRUE in unread else f"true {after.true / MM:.2f} mm"
    tension = f"right {after.mean['right']:.0f} N, left {after.mean['left']:.0f} N"
    tension = f"tension taken as {tension}" if Quantity.HIGHEST in unread else \
        f"{tension}, highest {after.highest:.0f} N"
    turned = f"{turns_text(float(abs(found.turns).sum()))} turns tried" if found.turns.any() else "nothing turned"
    return f"{gap}, {true}, {tension}; {turned}."
