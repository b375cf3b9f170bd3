# SPDX-License-Identifier: MIT
"""What a reader knows, and what to practise next.

Pure: no clock (times come in as seconds), no input or output, no chance but from a seed.
"""

from game.reader.answers import answers_of, explain_result, timing_of, wrong_press
from game.reader.chord import ChordMisread, chord_misread, first_answer
from game.reader.example import Example
from game.reader.explain import BASE, Explanation, Habits, WrongPress, explain, spelled
from game.reader.history import Slopes
from game.reader.knowledge import INTERVAL, Answer, Estimate, Knowledge, Range
from game.reader.misread import Misread, Misreading, readings
from game.reader.placement import MOST_PROMPTS, Placement, suited
from game.reader.practice import ERROR_RATE, PRACTICE_ID, Practice, opened, practice
from game.reader.profile import Learnt, Profile
from game.reader.progress import (
    Band,
    Days,
    MisreadShare,
    Progress,
    StaffPosition,
    Tempo,
    asked_places,
    progress,
)
from game.reader.retention import DAY_S, Memory
from game.reader.search import LevelSearch
from game.reader.sign import ReadingItem, Source, sign_of, signs_of
from game.reader.slope import COUNTING_MS, Counting, TimedAnswer, counting, counting_over

__all__ = [
    "BASE",
    "COUNTING_MS",
    "DAY_S",
    "ERROR_RATE",
    "INTERVAL",
    "MOST_PROMPTS",
    "PRACTICE_ID",
    "Answer",
    "Band",
    "ChordMisread",
    "Counting",
    "Days",
    "Estimate",
    "Example",
    "Explanation",
    "Habits",
    "Knowledge",
    "Learnt",
    "LevelSearch",
    "Memory",
    "Misread",
    "MisreadShare",
    "Misreading",
    "Placement",
    "Practice",
    "Profile",
    "Progress",
    "Range",
    "ReadingItem",
    "Slopes",
    "Source",
    "StaffPosition",
    "Tempo",
    "TimedAnswer",
    "WrongPress",
    "answers_of",
    "asked_places",
    "chord_misread",
    "counting",
    "counting_over",
    "explain",
    "explain_result",
    "first_answer",
    "opened",
    "practice",
    "progress",
    "readings",
    "sign_of",
    "signs_of",
    "spelled",
    "suited",
    "timing_of",
    "wrong_press",
]
