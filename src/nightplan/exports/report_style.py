# SPDX-License-Identifier: GPL-3.0-or-later
"""The style sheet of the report: dark on white on the screen and on A4, no fonts from elsewhere."""

from __future__ import annotations

STYLE = """\
:root { color-scheme: light; }
body { margin: 0; background: #FFFFFF; color: #1B1B24; font: 15px/1.5 "DejaVu Sans", Verdana, sans-serif; }
main { max-width: 62rem; margin: 0 auto; padding: 1.5rem 1.25rem 3rem; }
h1 { font-size: 1.9rem; line-height: 1.2; margin: 0; overflow-wrap: anywhere; }
h2 { font-size: 1.15rem; margin: 2.2rem 0 .6rem; }
header p { margin: .3rem 0; color: #565869; }
header p.verdict { margin: 1rem 0 0; padding: .7rem 1rem; border: 1px solid #33343F; border-left-width: 6px;
  color: #1B1B24; font-size: 1.1rem; }
p, li { max-width: 46rem; }
figure { margin: 0; max-width: 46rem; }
figure.strip { max-width: none; }
figure svg { display: block; width: 100%; height: auto; }
svg * { stroke-linejoin: round; stroke-linecap: butt; }
figcaption { color: #565869; font-size: .87rem; max-width: 46rem; margin-top: .3rem; }
details { margin-top: .5rem; font-size: .87rem; }
summary { cursor: pointer; color: #0F5FA8; }
table { border-collapse: collapse; width: 100%; font-size: .87rem; font-variant-numeric: tabular-nums; }
caption { text-align: left; color: #565869; padding: .4rem 0; }
th, td { text-align: left; vertical-align: top; padding: .3rem .7rem .3rem 0; border-bottom: 1px solid #DDDEE7;
  overflow-wrap: break-word; }
thead th { color: #565869; font-weight: normal; border-bottom: 1px solid #33343F; }
tbody th { font-weight: normal; }
#table-of-evenings + table :is(th, td):not(:last-child) { white-space: nowrap; }
th.n, td.n { text-align: right; white-space: nowrap; }
.quiet { color: #565869; font-size: .92em; }
.over { color: #565869; font-size: .92em; white-space: nowrap; }
.item { padding-left: 1.2rem; }
.stage { display: inline-block; min-width: 2.1rem; text-align: center; border: 1px solid #33343F; border-radius: 2px;
  font-size: .8em; line-height: 1.4; }
@page { size: A4; margin: 14mm 13mm; }
@media print {
  body { font-size: 9.5pt; color: #000000; }
  main { max-width: none; padding: 0; }
  h2 { margin: 1.1rem 0 .4rem; break-after: avoid; }
  figure, tr, header, li { break-inside: avoid; }
  figure { max-width: 15.5cm; }
  thead { display: table-header-group; }
  details { display: none; }
  header p, figcaption, caption, thead th, X; }
  .stage { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
}
"""  # untranslated: CSS
