# SPDX-License-Identifier: MIT
"""What is in force on a staff, and the MEI elements that change it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from xml.etree.ElementTree import Element

from game.pieces import signs
from game.pieces.elements import children, tag


@dataclass(frozen=True, slots=True)
class StaffState:
    """What is in force on a staff."""

    clef: str | None = "treble"
    fifths: int | None = 0
    metre: tuple[int, int] | None = None
    transposition: tuple[int, int] = (0, 0)
    ppq: int | None = None
    dur: str | None = None
    octave: str | None = None


def changed(state: StaffState, element: Element) -> StaffState:
    """The state once a scoreDef or staffDef has been read."""
    get = element.get
    state = replace(
        state,
        dur=get("dur.default", state.dur),
        octave=get("oct.default", state.octave),
        ppq=signs.whole(get("ppq", str(state.ppq or 0)), 0, 2**31, "a quarter of") or None,
    )
    shape, sig = get("clef.shape"), get("keysig", get("key.sig"))
    if shape is not None:
        clef = (shape, get("clef.line", ""), get("clef.dis"), get("clef.dis.place"))
        state = replace(state, clef=signs.clef_name(*clef))
    if sig is not None:
        state = replace(state, fifths=signs.fifths(sig))
    if {"meter.count", "meter.sym"}.intersection(element.keys()):
        found = signs.metre(get("meter.count"), get("meter.unit"), get("meter.sym"))
        state = replace(state, metre=found)
    if {"trans.semi", "trans.diat"}.intersection(element.keys()):
        shift = signs.transposition(get("trans.semi"), get("trans.diat"))
        state = replace(state, transposition=shift)
    for child in element:
        match tag(child):
            case "clef":
                state = replace(state, clef=clef_of(child))
            case "keySig":
                state = replace(state, fifths=fifths_of(child))
            case "meterSig":
                state = replace(state, metre=metre_of(child))
            case "meterSigGrp":
                state = replace(state, metre=_metre_of_group(child))
    return state


def clef_of(element: Element) -> str | None:
    get = element.get
    return signs.clef_name(get("shape", ""), get("line", ""), get("dis"), get("dis.place"))


def fifths_of(element: Element) -> int | None:
    sig = element.get("sig", "")
    if not sig:
        return None if any(True for _ in children(element, "keyAccid")) else 0
    return signs.fifths(sig)


def metre_of(element: Element) -> tuple[int, int] | None:
    return signs.metre(element.get("count"), element.get("unit"), element.get("sym"))


def _metre_of_group(element: Element) -> tuple[int, int] | None:
    found = [metre_of(child) for child in children(element, "meterSig")]
    known = [metre for metre in found if metre is not None]
    if not known or len({unit for _, unit in known}) > 1:
        return known[0] if known else None
    if element.get("func", "mixed") in ("alternating", "interchanging"):
        return known[0]
    return sum(count for count, _ in known), known[0][1]
