# SPDX-License-Identifier: MIT
"""Letters that the fonts of the assets lack: names in any script, from the computer's own fonts.

The only folder that uses HarfBuzz, which joins and stacks letters and draws them. It is imported
at the first letter that needs it.
"""

from game.lettering.fonts import has
from game.lettering.pieces import TextRun, pieces, shortened
from game.lettering.shaping import Drawn, PaintedRun, drawn, painted

__all__ = ["Drawn", "PaintedRun", "TextRun", "drawn", "has", "painted", "pieces", "shortened"]
