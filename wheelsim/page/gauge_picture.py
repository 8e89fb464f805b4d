"""A dish gauge on a rim as SVG: whether it fits, the hub falls short of its tip, or its feet lift."""

from wheelsim.readings.gauge import Gauge

WIDE, HIGH = 320, 150
FITS = 0.05e-3  # a gap below this is none [m]


def gauge_picture(gauge: Gauge) -> str:
    """What the gauge shows on the face that it is read on; the gap is drawn to be seen, not to scale."""
    fits, at_hub = gauge.low < FITS, gauge.gap_at == "hub"
    lift = 0 if fits or at_hub else 18
    face = 78 if at_hub and not fits else 60
    rim, bar, tip = 96, 24 - lift + 12, 60 - lift
    read = "left" if gauge.set_on == "right" else "right"
    says = "the gauge fits" if fits else "a gap at the hub" if at_hub else "the feet lift off the rim"
    feet = "".join(f'<path d="M{x} {bar} V{rim - lift}" class="tool"/>' for x in (40, WIDE - 40))
    parts = [f'<path d="M40 {bar} H{WIDE - 40}" class="tool"/>', feet,
             f'<path d="M{WIDE / 2} {bar} V{tip}" class="tool"/>',
             "".join(f'<rect x="{x}" y="{rim}" width="36" height="20" rx="4" class="part"/>'
                     for x in (22, WIDE - 58)),
             f'<rect x="{WIDE / 2 - 22}" y="{face}" width="44" height="{HIGH - face - 6}" rx="3" class="part"/>',
             f'<text x="{WIDE / 2 + 28}" y="{HIGH - 14}">hub, {read} face up</text>',
             f'<text x="22" y="{rim + 36}">rim</text>']
    if not fits:
        x, top, bottom = (WIDE / 2 + 8, tip, face) if at_hub else (52, rim - lift, rim)
        parts.append(f'<path d="M{x} {top} V{bottom}" class="gap"/>'
                     f'<text x="{x + 8}" y="{(top + bottom) / 2 + 5}">gap</text>')
    return (f'<svg viewBox="0 0 {WIDE} {HIGH}" width="{WIDE}" role="img" aria-label="drawing: {says}">'
            + "".join(parts) + "</svg>")
