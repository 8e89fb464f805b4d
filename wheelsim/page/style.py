"""How the page looks: dark workshop and bright window by the device's own wish, targets a greasy thumb can hit."""

STYLE = """
:root { --ink: #1b1b1b; --paper: #fbfaf7; --panel: #ffffff; --faint: #6b6b6b; --right: #004488; --left: #a13d4b;
  --limit: #5b4a1e; --band: #ece4c9; --alarm: #8a1c00; --edge: #8a8a8a }
@media (prefers-color-scheme: dark) { :root { --ink: #f2f0ea; --paper: #16181b; --panel: #202327; --faint: #b4b4b4;
  --right: #8cc4ff; --left: #ff9aa8; --limit: #e0c979; --band: #3a3521; --alarm: #ffb199; --edge: #8f8f8f } }
body { background: var(--paper); color: var(--ink); font-family: system-ui, sans-serif }
.nicegui-content { padding: .5rem; gap: .5rem }
.flat { overflow-x: auto }
.strip { width: 100%; min-width: 60rem; height: auto; touch-action: manipulation; display: block }
.strip .band { fill: var(--band) } .strip line, .strip polyline { fill: none; stroke: var(--ink) }
.strip .axis { stroke: var(--edge) } .strip .was { stroke: var(--faint); stroke-dasharray: 5 4; stroke-width: 1.5 }
.strip .rim { stroke-width: 3.5 } .strip .limit { stroke: var(--limit); stroke-dasharray: 8 4; stroke-width: 2 }
.strip .usual { stroke-dasharray: 2 5 } .strip .stem.right, .strip .usual.right { stroke: var(--right) }
.strip .stem.left, .strip .usual.left { stroke: var(--left) } .strip .stem { stroke-width: 2 }
.strip circle.right { fill: var(--right) } .strip rect.left { fill: var(--paper); stroke: var(--left);
  stroke-width: 2.5 }
.strip .turn { stroke-width: 7 } .strip text { fill: var(--ink); font-size: 15px }
.strip .scale { text-anchor: end; font-size: 14px } .strip .number { text-anchor: middle; font-size: 13px }
.strip .word { text-anchor: end; font-size: 12px } .strip .wrong { text-anchor: middle;
  fill: var(--alarm); font-weight: bold }
.strip .tap { fill: transparent; cursor: pointer } .strip .tap:focus { outline: none;
  stroke: var(--ink); stroke-width: 2 }
.card { background: var(--panel); border: 1px solid var(--edge); border-radius: 6px; padding: .7rem; width: 100% }
.big { font-size: 1.35rem; font-weight: 600 } .why { font-size: 1.05rem }
.press { min-width: 48px; min-height: 48px; font-size: 1.05rem }
.q-btn.press { background: var(--panel) !important; color: var(--ink) !important; border: 2px solid var(--edge) }
.q-btn-group .q-btn { min-height: 48px; font-size: 1rem; text-transform: none }
.q-btn.press.on { border-color: var(--ink); border-width: 3px }
.q-field__native, .q-field__label, .q-field__input { color: var(--ink) !important; font-size: 1.05rem }
"""
# Enter and space press a spoke that has the focus, as a tap does.
TAP = "(e) => { const s = e.target.closest('[data-spoke]'); if (s) emit(Number(s.dataset.spoke)) }"
KEY = ("(e) => { const s = e.target.closest('[data-spoke]'); "
       "if (s && (e.key === 'Enter' || e.key === ' ')) { e.preventDefault(); emit(Number(s.dataset.spoke)) } }")
