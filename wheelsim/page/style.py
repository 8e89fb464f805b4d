"""Style of the pages: light and dark as the device is set, touch targets large enough for a thumb."""

STYLE = """
:root { --ink: #1b1b1b; --paper: #fbfaf7; --panel: #ffffff; --faint: #6b6b6b; --right: #004488; --left: #a13d4b;
  --limit: #5b4a1e; --band: #ece4c9; --alarm: #8a1c00; --outlook: #9db7d666; --edge: #8a8a8a }
@media (prefers-color-scheme: dark) { :root { --ink: #f2f0ea; --paper: #16181b; --panel: #202327; --faint: #b4b4b4;
  --right: #8cc4ff; --left: #ff9aa8; --limit: #e0c979; --band: #3a3521; --alarm: #ffb199;
  --outlook: #5b7fa866; --edge: #8f8f8f } }
/* What is chosen in the library's own parts: white on it is read at 9 to 1. */
:root, body { --q-primary: #004488 !important }
body { background: var(--paper); color: var(--ink); font-family: system-ui, sans-serif }
.nicegui-content { padding: .25rem; gap: .5rem }
/* What the library takes from its utility classes, which are left out. */
*, ::before, ::after { box-sizing: border-box } svg, img { display: block }
.items-center { align-items: center !important } .items-end { align-items: end !important }
.flat { overflow-x: auto; width: 100%; max-width: 100% }
.card { background: var(--panel); border: 1px solid var(--edge); border-radius: 6px; padding: .7rem; width: 100% }
/* Still there for a screen reader to announce what comes into it. */
.card:empty { padding: 0; border: 0; background: none }
.alarm { color: var(--alarm); font-weight: 600 }
.big { font-size: 1.35rem; font-weight: 600 } .why { font-size: 1.05rem }
.press { max-width: 100%; min-width: 48px; min-height: 48px; font-size: 1.05rem }
.q-btn.press { background: var(--panel) !important; color: var(--ink) !important; border: 2px solid var(--edge) }
.q-btn-group .q-btn { min-height: 48px; font-size: 1rem; text-transform: none }
.q-btn.press.on { border-color: var(--ink); border-width: 3px }
.q-field__native, .q-field__label, .q-field__input { color: var(--ink) !important; font-size: 1.05rem }
.ways { display: flex; gap: .25rem } .way { min-height: 44px; min-width: 44px; padding: .6rem .8rem; color: var(--ink);
  text-decoration: underline } .way.on { font-weight: 700; text-decoration: none; border-bottom: 3px solid var(--ink) }
.choice { gap: .25rem } .nicegui-content .nicegui-row { gap: .35rem }
.level { min-width: min(22rem, 100%) } .wide { width: 100% }
.two { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(22rem, 100%), 1fr)); gap: .5rem; width: 100% }
.two > * { gap: .5rem }
.drawing svg { max-width: 100%; height: auto } .drawing text { fill: var(--ink); font-size: 14px }
.drawing .tool { stroke: var(--ink); stroke-width: 5; fill: none } .drawing .part { fill: var(--band);
  stroke: var(--edge); stroke-width: 2 } .drawing .gap { stroke: var(--alarm); stroke-width: 4 }
.said { gap: .1rem; width: 100%; border-top: 1px solid var(--edge); padding-top: .3rem } .command { font-weight: 700 }
.line { white-space: pre-wrap; font-variant-numeric: tabular-nums; font-size: 1rem }
.class .line, .class .why { font-size: 1.5rem; line-height: 1.35 }
.class .big { font-size: 2rem }
.exhibit { width: 100%; min-width: 40rem; max-width: 60rem; background: #fff } .strong { font-weight: 700 }
.shelf { gap: .25rem } .shelf .q-btn__content { justify-content: flex-start; text-align: left }
.q-field__append, .q-field__marginal, .q-expansion-item .q-icon { color: var(--ink) !important }
.q-field--standard .q-field__control:before { border-color: var(--edge) !important }
.q-menu { background: var(--panel); color: var(--ink) }
.ending { border-collapse: collapse } .ending th, .ending td { padding: .3rem .6rem; text-align: right;
  border-bottom: 1px solid var(--edge); white-space: nowrap }
.pad { display: grid; grid-template-columns: repeat(3, minmax(64px, 1fr)); gap: .3rem; width: 100%; max-width: 22rem }
.pad .press { min-height: 60px; font-size: 1.5rem } .pad .next { grid-column: span 2; font-weight: 700 }
.shown { font-size: 2rem; min-height: 2.6rem; font-variant-numeric: tabular-nums }
.drawing .band { fill: var(--band) } .drawing .read { stroke: var(--ink); stroke-width: 2; fill: none }
.drawing .middle { stroke: var(--faint); stroke-width: 1.5; stroke-dasharray: 5 4; fill: none }
.drawing .as-read { fill: var(--ink) } .drawing .as-known { fill: var(--panel); stroke: var(--ink); stroke-width: 2 }
.drawing .said { fill: var(--panel); stroke: var(--faint); stroke-width: 2 } .drawing .now { font-weight: 700 }
.ending th:first-child, .ending td:first-child { text-align: left }
.nipple { font-size: 2.2rem; font-weight: 700 } .q-btn.made { border-style: dashed }
/* Where the device is set to less motion nothing moves by itself. */
@media (prefers-reduced-motion: reduce) { .q-ripple { display: none !important }
  *, ::before, ::after { transition: none !important; animation: none !important } }
"""
