# SPDX-License-Identifier: MIT
"""Sheet music as slots to read: from MEI to a piece, and from a piece to a level."""

from game.engraving.convert import PieceError
from game.pieces.piece import Notice, Piece, PieceBar, PieceNote, PieceSlot
from game.pieces.reading import read_piece

__all__ = ["Notice", "Piece", "PieceBar", "PieceError", "PieceNote", "PieceSlot", "read_piece"]
