# SPDX-License-Identifier: MIT
"""What the commands print for people, where ``--json`` is not asked for."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from game.contract.heat import HeatJson
from game.contract.judged import JudgeJson
from game.levels import Prompt
from game.notation import likeliest
from game.words.percents import percent

if TYPE_CHECKING:
    from game.pieces import Piece, PieceNote


def prompt_table(prompts: Sequence[Prompt]) -> str:
    """A line for each prompt."""
    rows = [
        (
            str(number),
            _signature(prompt.signature.fifths),
            _slots(prompt),
        )
        for number, prompt in enumerate(prompts, 1)
    ]
    return table(("prompt", "signature", "notes, with their MIDI keys"), rows)


def piece_table(piece: Piece) -> str:
    """A heading, and a line for each slot of a piece."""
    rows = []
    for slot in piece.slots:
        staves = [
            " ".join(_piece_note(note) for note in slot.notes if note.staff == staff)
            for staff in (1, 2)
        ]
        rows.append((piece.bars[slot.bar].label, f"{float(slot.beat):.6g}", *staves))
    heading = f"{piece.title}{f' ({piece.part})' if piece.part else ''}"
    printed = table(("bar", "beat", "upper staff", "lower staff"), rows)
    return (
        f"{heading}\n\n{printed}\n\n"
        "notes with their MIDI keys; beats in quarters; ~ held by a tie, , a grace note"
    )


def _piece_note(note: PieceNote) -> str:
    mark = "~" if note.tied else "," if note.grace else ""
    return f"{mark}{note.pitch}({note.key})"


def _slots(prompt: Prompt) -> str:
    """Slots from left to right, a double stroke at a barline, a tilde before a tied note."""
    text, bar = "", 0
    for slot in prompt.slots:
        notes = " ".join(f"{'~' * note.tied}{note.pitch}({note.key})" for note in slot.notes)
        text += ("" if not text else " | " if slot.bar == bar else " || ") + notes
        bar = slot.bar
    return text


def figures(judged: JudgeJson) -> str:
    """A judged round: a line for each slot, and its figures below."""
    rows = [
        (
            f"{slot['prompt'] + 1}.{slot['slot'] + 1}",
            _names(slot["expected"]),
            "" if slot["first_press"] is None else _names([slot["first_press"]]),
            slot["verdict"] + ("" if slot["completed"] else ", not completed"),
            "" if slot["t"] is None else f"{slot['t']:.3f}",
            f"{slot['points']:.1f}",
        )
        for slot in judged["slots"]
    ]
    median_s, tempo = judged["median_s"], judged["tempo_per_min"]
    parts = [
        f"score {judged['score']:.1f}",
        f"accuracy {percent(judged['accuracy'])} %",
        "no median time" if median_s is None else f"median {median_s:.2f} s",
        "no tempo" if tempo is None else f"{tempo:.1f} a minute ({judged['tempo_word']})",
        "level passed" if judged["pass"] else "level not passed",
    ]
    timing = judged["timing"]
    if timing is not None:
        parts += [
            f"{label} {1000 * value:+.0f} {unit}"
            for label, value, unit in (
                ("off the beat", timing["offset_s"], "ms (median)"),
                ("evenness", timing["spread_s"], "ms"),
                ("drift", timing["drift"], "ms a second"),
            )
            if value is not None
        ]
    head = ("slot", "expected", "first press", "verdict", "seconds", "points")
    return f"{table(head, rows)}\n\n{', '.join(parts)}"


def heat_table(judged: HeatJson) -> str:
    """A heat: a line for each seat, and what it was played on below."""
    rows = [
        (
            row["outcome"] if row["place"] is None else f"{row['place']}.",
            str(row["seat"]),
            row["name"],
            f"{row['points']:.1f}",
            f"{row['right']}/{row['slots']}",
            "" if row["median_s"] is None else f"{row['median_s']:.2f}",
        )
        for row in judged["standings"]
    ]
    standings = table(("place", "seat", "name", "points", "right", "median s"), rows)
    heat = f"level {judged['level']}, seed {judged['seed']}, {judged['kind']}"
    left_out = (
        "\nNames were left out of this file: seats stand for them." if judged["nameless"] else ""
    )
    return f"{standings}\n\n{heat}, chain {judged['chain']}{left_out}"


def _names(keys: Iterable[int]) -> str:
    return " ".join(f"{likeliest(key)}({key})" for key in keys)


def _signature(fifths: int) -> str:
    return f"{abs(fifths)}{'#' if fifths > 0 else 'b'}" if fifths else "none"


def table(head: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> str:
    """Columns as wide as their widest cell."""
    widths = [max(map(len, column)) for column in zip(head, *rows, strict=True)]
    return "\n".join(
        "  ".join(f"{cell:{width}}" for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in (head, *rows)
    )
