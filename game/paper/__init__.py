# SPDX-License-Identifier: MIT
"""Reports as pages: laid out as values in millimetres, then drawn as PDF, SVG or PNG.

The only folder that uses ReportLab, which is imported when it is needed, as fontTools is.
"""

from game.paper.cards import cards, different
from game.paper.page import PAPERS, Item, Line, Music, Page, Paper, Sheet, Text
from game.paper.pdf import pdf
from game.paper.picture import png, svg
from game.paper.sample import sample, sample_fits
from game.paper.worksheet import fits, worksheet

__all__ = [
    "PAPERS",
    "Item",
    "Line",
    "Music",
    "Page",
    "Paper",
    "Sheet",
    "Text",
    "cards",
    "different",
    "fits",
    "pdf",
    "png",
    "sample",
    "sample_fits",
    "svg",
    "worksheet",
]
