# SPDX-License-Identifier: MIT
"""From a prompt to printed music: MEI, Verovio, a drawing, pixels or an SVG file.

The only folder that uses Verovio, which is imported at the first engraving.
"""

from game.engraving.drawing import Engraving, EngravingError, NoteBox
from game.engraving.engraver import Engraver
from game.engraving.ghost import Ghost, ghost_for
from game.engraving.marks import Mark, MarkShape
from game.engraving.mei import prompt_mei
from game.engraving.surface import overlay, render
from game.engraving.svg import Frame, svg_file
from game.engraving.verovio_svg import Typesetter

__all__ = [
    "Engraver",
    "Engraving",
    "EngravingError",
    "Frame",
    "Ghost",
    "Mark",
    "MarkShape",
    "NoteBox",
    "Typesetter",
    "ghost_for",
    "overlay",
    "prompt_mei",
    "render",
    "svg_file",
]
