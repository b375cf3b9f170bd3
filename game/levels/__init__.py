# SPDX-License-Identifier: MIT
"""Levels: their format, their ladder, and the dealing of prompts.

Pure but for files.py, which reads the folder of level files.
"""

from game.levels.check import Fault, LevelFaults, parse_level
from game.levels.compass import USUAL_LOWEST, Compass
from game.levels.deal import FULL_COMPASS, EmptyPool, check_pool, deal, left_out, playable
from game.levels.difficulty import difficulty, level_difficulty
from game.levels.files import level_files, marks_of, read_ladder, read_level
from game.levels.ladder import Ladder, Rung, UnknownLevel
from game.levels.level import Level, Time, json_schema
from game.levels.metre import beat_of, tempo_mark
from game.levels.prompt import LOWER, UPPER, USUAL_CLEF, Note, Prompt, Slot
from game.levels.show import PHRASES

__all__ = [
    "FULL_COMPASS",
    "LOWER",
    "PHRASES",
    "UPPER",
    "USUAL_CLEF",
    "USUAL_LOWEST",
    "Compass",
    "EmptyPool",
    "Fault",
    "Ladder",
    "Level",
    "LevelFaults",
    "Note",
    "Prompt",
    "Rung",
    "Slot",
    "Time",
    "UnknownLevel",
    "beat_of",
    "check_pool",
    "deal",
    "difficulty",
    "json_schema",
    "left_out",
    "level_difficulty",
    "level_files",
    "marks_of",
    "parse_level",
    "playable",
    "read_ladder",
    "read_level",
    "tempo_mark",
]
