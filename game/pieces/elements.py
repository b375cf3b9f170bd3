# SPDX-License-Identifier: MIT
"""Ways into the elements of an MEI document."""

from __future__ import annotations

from collections.abc import Iterator
from xml.etree.ElementTree import Element


def tag(element: Element) -> str:
    """The name of an element without its namespace."""
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""


def children(element: Element, *names: str) -> Iterator[Element]:
    return (child for child in element if tag(child) in names)


def notes_in(element: Element) -> list[Element]:
    """The notes of a chord, or the note itself."""
    return [note for note in element.iter() if tag(note) == "note"]


def preferred(element: Element) -> Element:
    """Of the alternatives in an ``app``, ``choice`` or ``subst``: the editor's, else the first."""
    return next(
        children(element, "lem", "corr", "reg", "expan", "add"), next(iter(element), element)
    )


def id_of(element: Element) -> str:
    """The xml:id, or ""."""
    return element.get("{http://www.w3.org/XML/1998/namespace}id", "")


def accidentals(note: Element) -> tuple[str | None, str | None]:
    """What is printed and what sounds, as the file has them."""
    sign, gestural = note.get("accid"), note.get("accid.ges")
    for accid in (child for child in note.iter() if tag(child) == "accid"):
        sign = accid.get("accid", sign)
        gestural = accid.get("accid.ges", gestural)
    return sign, gestural
