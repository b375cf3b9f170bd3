# SPDX-License-Identifier: MIT
"""A report as one HTML page that needs nothing else: no network, script or font file.

It opens from any disk, prints on A4 and Letter, and forbids by its own policy that anything be
fetched.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from html import escape

from game.engraving.drawing import GRAND_HEIGHT
from game.engraving.marks import Painted
from game.engraving.svg import Frame, svg_body

SPACE = 12
"""Pixels of a staff space in the drawings; the page scales them."""

_STYLE = """
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 1.5rem; max-width: 60rem; background: #fff; color: #1b1a17;
  font: 1rem/1.45 "Source Serif Pro", "Source Serif 4", Georgia, "Times New Roman", serif; }
h1 { font-size: 1.9rem; margin: 0; overflow-wrap: anywhere; }
h2 { font-size: 1.3rem; margin: 2rem 0 .5rem; break-after: avoid; }
h3 { font-size: 1.05rem; margin: 0; }
p { margin: .3rem 0; }
.quiet { color: #5c564b; fill: #5c564b; }
svg { display: block; width: 100%; height: auto; }
svg text { font-family: inherit; font-size: 12px; }
figure { margin: .5rem 0; break-inside: avoid; }
.plots { display: grid; grid-template-columns: repeat(auto-fit, minmax(16rem, 1fr)); gap: 1.2rem; }
.plots figure { margin: 0; min-width: 0; }
svg .plot-title { font-size: 14px; font-weight: 600; fill: #1b1a17; }
.grid { stroke: #d3c9b6; } .level { stroke: #a64504; stroke-dasharray: 5 4; }
.band { fill: #c9d8ea; } .line { fill: none; stroke: #1f5fa8; stroke-width: 2; }
.dot { fill: #1f5fa8; }
table { border-collapse: collapse; width: 100%; font-size: .9rem; }
th, td { text-align: left; padding: .15rem .5rem .15rem 0; border-bottom: 1px solid #e6dfd0;
  vertical-align: top; }
thead { display: table-header-group; } tr { break-inside: avoid; }
@page { margin: 14mm; }
@media print {
  body { padding: 0; max-width: none; font-size: 10.5pt; }
  .plots { grid-template-columns: repeat(2, 1fr); }
  * { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
}
"""


def document(title: str, body: Iterable[str], style: str = "") -> str:
    """The page.

    Args:
        title: plain text.
        body: lines of HTML; whatever in them comes from people is escaped already.
        style: CSS of this page alone, after what all have.
    """
    return f"""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<title>{escape(title)}</title>
<style>{_STYLE}{style}</style>
</head>
<body>
{chr(10).join(body)}
</body>
</html>
"""


def table(
    rows: Iterable[Iterable[str]],
    head: Sequence[str] = (),
    kind: str = "",
    cell: Callable[[str], str] = escape,
) -> str:
    """A table of plain text, each cell made HTML by `cell`; `kind` is its class."""
    top = "".join(f"<th>{one}</th>" for one in head)
    top = f"<thead><tr>{top}</tr></thead>" if head else ""
    body = "".join(f"<tr>{''.join(f'<td>{cell(one)}</td>' for one in row)}</tr>" for row in rows)
    of = f' class="{kind}"' if kind else ""
    return f"<table{of}>{top}<tbody>{body}</tbody></table>"


def music(items: Sequence[Painted], right: float, about: str) -> str:
    """An engraving as wide as `right` (staff spaces) and as high as its ink, as SVG; `about` is
    what it shows, for whoever cannot see it."""
    boxes = [one.item.box for one in items]
    above = 0.5 - min(box[1] for box in boxes)
    below = 0.5 + max(box[3] for box in boxes) - GRAND_HEIGHT
    frame = Frame(SPACE, right, above, below)
    width, height = frame.size
    return (
        f'<svg viewBox="0 0 {width} {height}" role="img" aria-label="{escape(about)}">'
        f"{svg_body(items, frame)}</svg>"
    )


def key(heads: Iterable[tuple[Sequence[Painted], str]]) -> str:
    """Heads of a chart, each beside the words that say what it means."""
    # A frame of no staff: the head stands in the middle of 28 by 20 pixels.
    frame = Frame(14, 0.0, 0.0, 0.0)
    x, y = frame.to_px(0, 0)
    lines = (
        f'<li><svg viewBox="{x - 14:g} {y - 10:g} 28 20" aria-hidden="true">'
        f"{svg_body(items, frame)}</svg>{escape(said)}</li>"
        for items, said in heads
    )
    return f'<ul class="key">{"".join(lines)}</ul>'
