# SPDX-License-Identifier: MIT
"""The pages of the game, drawn with pygame. No rule of the game lives here."""
