# SPDX-License-Identifier: MIT
"""The staves of a score, the instruments that they belong to, and the choice of one of these."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from xml.etree.ElementTree import Element

from game.pieces.elements import children, tag
from game.pieces.piece import PieceError

_HANDS = 2
_LISTED = 12


@dataclass(frozen=True, slots=True)
class Part:
    """An instrument: a name and its staves, by their numbers in the MEI, from the top."""

    name: str
    staves: tuple[str, ...]


def parts_of(score_def: Element) -> tuple[Part, ...]:
    """The parts of a score, from the top of the page.

    A brace that joins two staves with one name is a keyboard part; other staves are parts of
    their own.
    """
    found: list[Part] = []
    for group in children(score_def, "staffGrp"):
        _collect(group, "", False, found)
    if len(found) == _HANDS and {len(part.staves) for part in found} == {1}:
        one, other = found
        if not one.name or not other.name or one.name == other.name:
            return (Part(one.name or other.name, one.staves + other.staves),)
    return tuple(found)


def choose(parts: Sequence[Part], asked: str | None, name: str) -> Part:
    """The part that is asked for: by number from the top, by name, or two of one staff, ``1,4``.

    Raises:
        PieceError: nothing is asked for where there is a choice, or it is not there, or it has
            more than two staves.
    """
    if asked is None:
        if len(parts) > 1:
            raise PieceError(
                f"{name}: there are {len(parts)} parts: {_listed(parts)}; choose one with --part, "
                "or two that have one staff each, as in --part 1,2, for the right and the left hand"
            )
        return parts[0]
    # A name may have a comma in it.
    chosen = [_named(parts, asked, name, quiet=True)]
    if chosen[0] is None:
        chosen = [_named(parts, text, name) for text in asked.split(",")]
    found = [part for part in chosen if part is not None]
    staves = tuple(staff for part in found for staff in part.staves)
    if len(staves) > _HANDS or len(set(staves)) < len(staves):
        raise PieceError(
            f"{name}: --part {asked} has {len(staves)} staves; choose one part, or two different "
            f"ones of one staff each, of {_listed(parts)}"
        )
    return Part(" and ".join(part.name for part in found if part.name), staves)


def _named(parts: Sequence[Part], asked: str, name: str, quiet: bool = False) -> Part | None:
    text = asked.strip().lower()
    if text.isdecimal() and 1 <= int(text) <= len(parts):
        return parts[int(text) - 1]
    matching = [part for part in parts if part.name.lower() == text] or [
        part for part in parts if text and part.name.lower().startswith(text)
    ]
    if len(matching) == 1:
        return matching[0]
    if quiet:
        return None
    why = "fits several parts" if matching else "is not a part"
    raise PieceError(f"{name}: --part {asked.strip()} {why}; choose one of {_listed(parts)}")


def _listed(parts: Sequence[Part]) -> str:
    def one(number: int, part: Part) -> str:
        staves = f" ({len(part.staves)} staves)" if len(part.staves) > 1 else ""
        return f"{number} {part.name}".rstrip() + staves

    told = [one(number, part) for number, part in enumerate(parts, 1)]
    more = f" … {told[-1]}" if len(told) > _LISTED else ""
    return ", ".join(told[:_LISTED]) + more


def _collect(group: Element, outer: str, braced: bool, found: list[Part]) -> None:
    """Add the parts of a group; `outer` and `braced` are of the group around it."""
    label = _label(group)
    staves = list(children(group, "staffDef"))
    names = [_label(staff) for staff in staves]
    nested = list(children(group, "staffGrp"))
    if len(staves) == _HANDS and not nested and _one_player(group, braced, names):
        name = label or "".join({*names} - {""}) or outer
        found.append(Part(name, tuple(staff.get("n", "") for staff in staves)))
        return
    for child in children(group, "staffDef", "staffGrp"):
        if tag(child) == "staffGrp":
            alone = len(nested) == 1 and not staves
            _collect(child, label or outer, alone and "brace" in _symbols(group), found)
            continue
        name = _label(child)
        if not name and label:
            count = len(staves)
            name = label if count == 1 else f"{label}, staff {staves.index(child) + 1}"
        found.append(Part(name, (child.get("n", ""),)))


def _one_player(group: Element, braced: bool, names: Sequence[str]) -> bool:
    """Whether the two staves of a group are two hands: a brace joins them, or only a name of
    the group does; and they have no names of their own that differ."""
    if len({*names} - {""}) > 1:
        return False
    symbols = _symbols(group)
    named = bool(_label(group)) and not any(names)
    return braced or "brace" in symbols or (named and "bracket" not in symbols)


def _symbols(group: Element) -> set[str | None]:
    return {group.get("symbol"), *(sign.get("symbol") for sign in children(group, "grpSym"))}


def _label(element: Element) -> str:
    for label in children(element, "label"):
        return " ".join("".join(label.itertext()).split())
    return element.get("label", "")
