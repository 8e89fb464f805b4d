"""Where to measure what, as SVG: hub, rim and lacing, with the thing asked for marked."""

WIDE, HIGH = 360, 170
MID = WIDE / 2
FLANGE = {"left": MID - 62, "right": MID + 50}  # across; looked at from behind, so that right is right


def measure_picture(key: str) -> str:
    """The drawing that goes with a question's key; nothing where none helps."""
    table = key.split(".")[0]
    if table == "hub":
        return _svg(_hub(key), "the hub from behind: faces, flanges, hole circles")
    if table == "rim":
        return _svg(_rim(key), "the rim: where the nipple heads sit")
    if key.startswith("spokes"):
        return _svg(_lacing(key), "spokes of one flange from the side")
    return ""


def _svg(parts: list[str], says: str) -> str:
    return (f'<svg viewBox="0 0 {WIDE} {HIGH}" width="{WIDE}" role="img" aria-label="drawing: {says}">'
            + "".join(parts) + "</svg>")


def _across(x: float, to: float, y: float, words: str) -> list[str]:
    """A measure from side to side."""
    return [f'<path d="M{x} {y} H{to} M{x} {y - 6} v12 M{to} {y - 6} v12" class="gap"/>',
            f'<text x="{(x + to) / 2:.0f}" y="{y - 8:.0f}" text-anchor="middle">{words}</text>']


def _hub(key: str) -> list[str]:
    axle = 96
    parts = [f'<path d="M{MID - 110} {axle} H{MID + 110}" class="tool"/>',
             f'<rect x="{FLANGE["left"]}" y="{axle - 13}" width="{FLANGE["right"] - FLANGE["left"]}" height="26" '
             'class="part"/>']
    parts += [f'<rect x="{x - 4}" y="{axle - 38}" width="8" height="76" class="part"/>' for x in FLANGE.values()]
    parts += [f'<path d="M{x} {axle - 22} v44" class="tool"/>' for x in (MID - 110, MID + 110)]
    parts += [f'<text x="30" y="{HIGH - 8}">left</text>', f'<text x="{WIDE - 60}" y="{HIGH - 8}">right</text>',
              f'<path d="M{MID} 40 V{HIGH - 16}" class="middle"/>',
              f'<text x="{MID + 4}" y="{HIGH - 8}">middle</text>']
    if key == "hub.contact_width_mm":
        return parts + _across(MID - 110, MID + 110, 30, "width between the faces")
    side = "left" if ".left." in key else "right"
    if key.endswith("flange_mm"):
        return parts + _across(min(FLANGE[side], MID), max(FLANGE[side], MID), 34, f"{side} flange to middle")
    x = FLANGE[side] + (-18 if side == "left" else 18)
    return [*parts, f'<path d="M{x} {axle - 30} v60 M{x - 6} {axle - 30} h12 M{x - 6} {axle + 30} h12" class="gap"/>',
            f'<text x="{MID:.0f}" y="24" text-anchor="middle">{side} hole circle, hole to hole straight across</text>']


def _rim(key: str) -> list[str]:
    parts = [f'<circle cx="{MID}" cy="88" r="66" class="tool"/>', f'<circle cx="{MID}" cy="88" r="56" class="middle"/>']
    if key == "rim.nipple_seat_diameter_mm":
        return parts + _across(MID - 61, MID + 61, 88, "nipple heads")
    lines = ("count", "the spokes") if key == "rim.holes" else ("low and", "square, flat,", "or tall?")
    return parts + [f'<text x="{MID}" y="{102 - 9 * len(lines) + 18 * k}" text-anchor="middle">{line}</text>'
                    for k, line in enumerate(lines)]


def _lacing(key: str) -> list[str]:
    parts = [f'<circle cx="{MID}" cy="150" r="34" class="part"/>',
             f'<path d="M{MID - 120} 26 Q{MID} 6 {MID + 120} 26" class="tool"/>',
             f'<circle cx="{MID}" cy="17" r="6" class="part"/>', f'<text x="{MID + 6}" y="38">valve</text>']
    if key == "spokes.first":
        return [*parts, f'<path d="M{MID + 56} 19 L{MID + 26} 128" class="gap"/>',
                '<text x="8" y="90">the first clockwise,</text><text x="8" y="108">seen from the right</text>']
    if key.endswith("cross"):
        crosses = "".join(f'<path d="M{MID - 20 - 26 * k} 22 L{MID + 30} 140" class="middle"/>' for k in range(3))
        return [*parts, crosses, f'<path d="M{MID + 66} 21 L{MID - 30} 140" class="gap"/>',
                f'<text x="{MID + 58}" y="92">count where</text><text x="{MID + 58}" y="110">it crosses</text>']
    return [*parts, f'<path d="M{MID + 56} 19 L{MID + 26} 128" class="gap"/>',
            '<text x="8" y="90">calliper, at its middle too</text>']
