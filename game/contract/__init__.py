# SPDX-License-Identifier: MIT
"""The JSON that the commands print. Pure: values in, dictionaries out.

Every object carries ``"format": 1``. Within format 1 a field is never renamed, removed or given
another meaning; fields may be added, so a program that reads this must ignore those that it does
not know. Text is UTF-8. Times are seconds, keys MIDI key numbers (C4, middle C, is 60), and
numbers are not rounded. ``null`` means that there is no such value, never 0.

Spellings are in scientific pitch notation with ``#``, ``b``, ``##`` and ``bb``, as in ``F#4``;
the octave is that of the letter (B#3 sounds as C4).
"""

from game.contract.classes import (
    ClassesJson,
    ClassJson,
    ClassLineJson,
    ImportedJson,
    MemberJson,
    ReseatedJson,
    TakenJson,
    class_json,
    classes_json,
    imported_json,
)
from game.contract.form import FORMAT
from game.contract.heat import HeatJson, StandingJson, heat_json
from game.contract.judged import (
    JudgeJson,
    PressJson,
    RecordJson,
    SlotResultJson,
    TimingJson,
    judge_json,
    record_json,
)
from game.contract.keyboards import KeyboardsJson, keyboards_json
from game.contract.piece import PieceJson, PieceNoteJson, PieceNoticeJson, PieceSlotJson, piece_json
from game.contract.printed import (
    DealJson,
    LevelJson,
    LevelsJson,
    NoteJson,
    PromptJson,
    SlotJson,
    deal_json,
    levels_json,
)
from game.contract.ready import FindingJson, ReadyJson, ready_json
from game.contract.told import (
    FolderJson,
    HistoryJson,
    MisreadJson,
    PastHeatJson,
    PastHeatsJson,
    ProgressJson,
    RoundLineJson,
    SignJson,
    WeekJson,
    folder_json,
    history_json,
    past_heats_json,
    progress_json,
)

__all__ = [
    "FORMAT",
    "ClassJson",
    "ClassLineJson",
    "ClassesJson",
    "DealJson",
    "FindingJson",
    "FolderJson",
    "HeatJson",
    "HistoryJson",
    "ImportedJson",
    "JudgeJson",
    "KeyboardsJson",
    "LevelJson",
    "LevelsJson",
    "MemberJson",
    "MisreadJson",
    "NoteJson",
    "PastHeatJson",
    "PastHeatsJson",
    "PieceJson",
    "PieceNoteJson",
    "PieceNoticeJson",
    "PieceSlotJson",
    "PressJson",
    "ProgressJson",
    "PromptJson",
    "ReadyJson",
    "RecordJson",
    "ReseatedJson",
    "RoundLineJson",
    "SignJson",
    "SlotJson",
    "SlotResultJson",
    "StandingJson",
    "TakenJson",
    "TimingJson",
    "WeekJson",
    "class_json",
    "classes_json",
    "deal_json",
    "folder_json",
    "heat_json",
    "history_json",
    "imported_json",
    "judge_json",
    "keyboards_json",
    "levels_json",
    "past_heats_json",
    "piece_json",
    "progress_json",
    "ready_json",
    "record_json",
]
