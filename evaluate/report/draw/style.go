package draw

// CSS is the style sheet of all pictures; a page carries it once. Its custom
// properties (--draw-paper, --draw-ink, --draw-quiet, --draw-rule, --draw-steel,
// --draw-tint, --draw-rust) are the palette, which the page may use too: text
// in ink, quiet, steel and rust stands out from paper by more than 4.5 to 1, in
// light, in dark and in print.
const CSS = `:root{--draw-paper:#faf8f3;--draw-ink:#25292b;--draw-quiet:#5a5d59;--draw-rule:#dedad0;--draw-steel:#2c566b;--draw-tint:#bfd0d6;--draw-rust:#93421a}
@media (prefers-color-scheme:dark){:root{--draw-paper:#1a1d1e;--draw-ink:#e9e5db;--draw-quiet:#aba89d;--draw-rule:#3a3e3f;--draw-steel:#8db8cb;--draw-tint:#34505d;--draw-rust:#e2a078}}
@media print{:root{--draw-paper:#fff;--draw-ink:#000;--draw-quiet:#333;--draw-rule:#ccc;--draw-steel:#000;--draw-tint:#ccc;--draw-rust:#000}}
@media (forced-colors:active){:root{--draw-paper:Canvas;--draw-ink:CanvasText;--draw-quiet:CanvasText;--draw-rule:GrayText;--draw-steel:CanvasText;--draw-tint:GrayText;--draw-rust:CanvasText}}
.draw{display:block;width:100%;height:auto;overflow:visible;break-inside:avoid;forced-color-adjust:none}
.draw.phone{max-width:28rem}
.draw.desk{max-width:52rem}
.draw.cell{width:160px;max-width:none}
.draw.desk.only{display:none}
@media (min-width:48rem){.draw.phone.only{display:none}.draw.desk.only{display:block}}
.draw text{font:12px/1 "Segoe UI",Roboto,"Helvetica Neue",Arial,"Liberation Sans",sans-serif;font-variant-numeric:tabular-nums;fill:var(--draw-ink)}
.draw .quiet{fill:var(--draw-quiet)}
.draw .strong{font-weight:600}
.draw .mid{text-anchor:middle}
.draw .end{text-anchor:end}
.draw .halo{paint-order:stroke;stroke:var(--draw-paper);stroke-width:4px;stroke-linejoin:round}
.draw path{fill:none;stroke:var(--draw-ink);stroke-width:1}
.draw .grid{stroke:var(--draw-rule)}
.draw .axis{stroke:var(--draw-quiet)}
.draw .zero{stroke:var(--draw-ink);stroke-width:1.5}
.draw .guide{stroke:var(--draw-rust);stroke-dasharray:5 3}
.draw .drop{stroke:var(--draw-quiet);stroke-dasharray:2 3}
.draw .link,.draw .leader,.draw .bracket{stroke:var(--draw-quiet)}
.draw .join{stroke:var(--draw-quiet);stroke-dasharray:2 2}
.draw .stop,.draw .more{stroke:var(--draw-steel);stroke-width:1.5}
.draw .target{stroke:var(--draw-rust);stroke-width:3}
.draw .line{stroke:var(--draw-steel);stroke-width:2;stroke-linejoin:round}
.draw .line.b{stroke:var(--draw-rust);stroke-dasharray:7 3}
.draw .line.c{stroke:var(--draw-ink);stroke-dasharray:2 3}
.draw .line.d{stroke:var(--draw-quiet);stroke-dasharray:9 3 2 3}
.draw rect,.draw .solid{fill:var(--draw-steel)}
.draw .band{fill:var(--draw-tint);stroke:var(--draw-steel)}
.draw .open{fill:var(--draw-paper);stroke:var(--draw-steel)}
.draw .total{fill:var(--draw-tint);stroke:var(--draw-ink);stroke-width:2}
.draw .ruled{stroke:var(--draw-steel);stroke-width:11;stroke-dasharray:1 3}
.draw .ruled.slim{stroke-width:8}
.draw .lined{stroke:var(--draw-steel);stroke-width:1.2}
.draw .dotted{stroke:var(--draw-steel);stroke-width:2;stroke-linecap:round;stroke-dasharray:0 4}
.draw .mark,.draw .dot{fill:var(--draw-ink);stroke:var(--draw-paper);stroke-width:1.5}
.draw .ring{fill:var(--draw-paper);stroke:var(--draw-ink);stroke-width:2}
.draw .dot{fill:var(--draw-steel);stroke:none}
.draw .dot.out{fill:var(--draw-paper);stroke:var(--draw-rust);stroke-width:1.5}
`
