# SPDX-License-Identifier: MIT
"""Sheet music as slots to read, and levels made of it.

Pure but for files.py, which reads a file, loading.py, which has a process of its own read it, and
child.py, which is that process.
"""

from game.pieces.files import FORMATS
from game.pieces.level import HARDEST_BARS, Hand, Kind, hands_of, left_out, piece_level
from game.pieces.loading import Wait, load_piece
from game.pieces.piece import Notice, Piece, PieceBar, PieceError, PieceNote, PieceSlot

__all__ = [
    "FORMATS",
    "HARDEST_BARS",
    "Hand",
    "Kind",
    "Notice",
    "Piece",
    "PieceBar",
    "PieceError",
    "PieceNote",
    "PieceSlot",
    "Wait",
    "hands_of",
    "left_out",
    "load_piece",
    "piece_level",
]
