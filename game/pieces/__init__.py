# SPDX-License-Identifier: MIT
"""Sheet music as slots to read, and levels made of it.

Pure but for loading.py, which reads a file and has Verovio convert it.
"""

from game.engraving.convert import PieceError
from game.pieces.level import HARDEST_BARS, Hand, Kind, hands_of, left_out, piece_level
from game.pieces.loading import load_piece
from game.pieces.piece import Notice, Piece, PieceBar, PieceNote, PieceSlot
from game.pieces.reading import read_piece

__all__ = [
    "HARDEST_BARS",
    "Hand",
    "Kind",
    "Notice",
    "Piece",
    "PieceBar",
    "PieceError",
    "PieceNote",
    "PieceSlot",
    "hands_of",
    "left_out",
    "load_piece",
    "piece_level",
    "read_piece",
]
