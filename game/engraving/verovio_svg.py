# SPDX-License-Identifier: MIT
"""Verovio: an MEI prompt -> SVG -> the shapes in it, each with the notes that own it.

Verovio decides clefs, signs, stems, ledger lines and what stands where inside a slot. It lets
the staves give way to ledger lines, so its heights are taken here relative to each staff's own
lines; :mod:`game.engraving.layout` then sets the slots on a staff that never moves.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

from game.engraving.drawing import (
    GRAND_HEIGHT,
    STAFF_TOP,
    Engraving,
    EngravingError,
    NoteBox,
    Outline,
    Rule,
)
from game.engraving.layout import Pieces, lay_out, set_width
from game.engraving.mei import prompt_mei
from game.engraving.toolkit import toolkit
from game.levels import LOWER, UPPER, Note, Prompt, Slot
from game.notation import SIGN_OF_ALTER, Clef, KeySignature, Pitch

FONT = "Bravura"
_OPTIONS = {
    "font": FONT,
    "header": "none",
    "footer": "none",
    "mnumInterval": 0,
    "pageHeight": 6000,
    "pageMarginLeft": 0,
    "pageMarginRight": 0,
    "minLastJustification": 0,
    "spacingStaff": 16,
    "xmlIdSeed": 1,
}
_NO_BREAKS: dict[str, object] = {"breaks": "none"}
_PAGE_UNITS = 18  # of Verovio's page width to the staff space, at its usual scale
_LEDGER_LINE, _STEM = 0.14, 0.11  # Bravura's own are 0.16 and 0.12 staff spaces
_TIE_PEN = 0.05
_MEND = "Install it again: python -m pip install --force-reinstall verovio"
_SIGNED = tuple(
    Slot((Note(f"specimen{alter}", Pitch("B", alter, 4), UPPER, Clef.TREBLE, sign),))
    for alter, sign in SIGN_OF_ALTER.items()
)
_SPECIMENS = (Prompt(KeySignature(), _SIGNED), Prompt(KeySignature(), _SIGNED[:1]))
_NEEDED = {"E050", "E062", "E260", "E261", "E262", "E263", "E264", "E0A2", "E0A4"}

_Element = ElementTree.Element


class Typesetter:
    """Stateful: owns one Verovio toolkit. For one thread only.

    Args:
        resources: folder of Verovio's fonts; None for those inside its package.

    Raises:
        EngravingError: Verovio is not installed, or its music font cannot be read.
    """

    def __init__(self, resources: Path | None = None) -> None:
        try:
            self._toolkit: Any = toolkit()
        except ImportError as error:
            raise EngravingError(f"Verovio, the engraver, is missing: {error}. {_MEND}") from error
        except OSError as error:
            raise EngravingError(
                f"Verovio's fonts can't be copied to {error.filename}: {error.strerror}. Make that "
                "folder writable, or install Stavewise in a folder named in plain letters (A to Z)."
            ) from error
        self._glyphs: dict[str, str] = {}
        where = str(resources or self._toolkit.getResourcePath())
        lost = EngravingError(f"Verovio's music font {FONT} cannot be read from {where}. {_MEND}")
        if not (Path(where) / f"{FONT}.xml").is_file():
            raise lost
        if resources is not None:
            self._toolkit.setResourcePath(where)
        if not self._toolkit.setOptions(_OPTIONS):
            raise lost
        try:
            for specimen in _SPECIMENS:
                self._parse(self.svg(prompt_mei(specimen)))
        except EngravingError:
            raise lost from None
        if not self._glyphs.keys() >= _NEEDED:
            raise lost

    def svg(self, mei: str, width: float | None = None) -> str:
        """Verovio's SVG of an MEI document, as it comes.

        Args:
            mei: the document.
            width: length of its one system in staff spaces; None for as long as it is.

        Raises:
            EngravingError: Verovio cannot read the document.
        """
        fitted = {"breaks": "line", "pageWidth": round((width or 0) * _PAGE_UNITS)}
        self._toolkit.setOptions(_NO_BREAKS if width is None else fitted)
        if not self._toolkit.loadData(mei):
            raise EngravingError("Verovio cannot read this MEI document")
        return str(self._toolkit.renderToSVG(1))

    def engrave(self, prompt: Prompt) -> Engraving:
        """Draw a prompt; equal prompts give equal drawings.

        Raises:
            EngravingError: a note did not come back from Verovio.
            ValueError: the prompt cannot be written (see :func:`prompt_mei`).
        """
        root = self._parse(self.svg(prompt_mei(prompt), set_width(prompt)))
        return lay_out(prompt, _pieces(prompt, root, self._glyphs), self._glyphs)

    def _parse(self, svg: str) -> _Element:
        """Parse an SVG, and keep the glyph outlines that it defines."""
        root = ElementTree.fromstring(svg)
        for definition in root.iterfind("{*}defs/{*}g"):
            path = definition.find("{*}path")
            if path is not None:
                self._glyphs[_code(definition.get("id", ""))] = path.get("d", "")
        return root


def _pieces(prompt: Prompt, root: _Element, glyphs: Mapping[str, str]) -> Pieces:
    """Everything that is printed, heights already on the fixed staves."""
    slot_of = {note.id: index for index, slot in enumerate(prompt.slots) for note in slot.notes}
    pieces = Pieces(tuple([] for _ in prompt.slots))
    for measure in _of_class(root, "measure"):
        staves = list(_of_class(measure, "staff"))
        for number, staff in zip((UPPER, LOWER), staves, strict=True):
            _read_staff(number, staff, pieces, slot_of, glyphs)
        for tie in _of_class(measure, "tie"):
            _read_tie(tie, staves, pieces)
        for barline in _of_class(measure, "barLine"):
            x = _numbers(next(barline.iterfind("{*}path")).get("d", ""))[0]
            pieces.barlines.append(x / _space(staves[0]))
    missing = slot_of.keys() - pieces.notes.keys()
    if missing:
        raise EngravingError(f"Verovio did not engrave {', '.join(sorted(missing))}")
    top, bottom = _line_heights(staves[0])[0], _line_heights(staves[1])[-1]
    space = _space(staves[0])
    for group in _of_class(root, "grpSym"):
        for path in group.iterfind("{*}path"):
            d = _stretched(path.get("d", ""), 1 / space, -top, GRAND_HEIGHT / (bottom - top))
            pieces.fixed += [Outline("brace", d), Outline("brace", d, stroke=0.08)]
    return pieces


def _read_staff(
    number: int,
    staff: _Element,
    pieces: Pieces,
    slot_of: Mapping[str, int],
    glyphs: Mapping[str, str],
) -> None:
    space, top = _space(staff), _line_heights(staff)[0]

    def placed(x: float, y: float) -> tuple[float, float]:
        return x / space, STAFF_TOP[number] + (y - top) / space

    ledgers = []
    for role, owner, element in _marks(staff, slot_of):
        if element.tag.endswith("}use"):
            code = _code(next(v for k, v in element.items() if k.endswith("href")))
            x, y = placed(*_numbers(element.get("transform", ""))[:2])
            own = (owner,) if owner else ()
            glyph = Outline(role, glyphs[code], x, y, font=True, owners=own, code=code)
            if not owner:
                pieces.fixed.append(glyph)
                continue
            pieces.slots[slot_of[owner]].append(glyph)
            if role == "notehead":
                left, above, right, below = glyph.box
                pieces.notes[owner] = NoteBox(
                    (left + right) / 2, y, right - left, below - above, number, slot_of[owner]
                )
        elif element.tag.endswith("}polygon"):  # a beam
            corners = zip(*[iter(_numbers(element.get("points", "")))] * 2, strict=True)
            d = " L".join("{:.3f},{:.3f}".format(*placed(x, y)) for x, y in corners)
            pieces.fixed.append(Outline(role, f"M{d} Z"))
        elif element.tag.endswith("}ellipse"):  # a dot
            x, y, radius = (float(element.get(name, 0)) for name in ("cx", "cy", "rx"))
            d = _circle(radius / space)
            pieces.slots[slot_of[owner.removeprefix(_CHORD)]].append(
                Outline(role, d, *placed(x, y), owners=(owner.removeprefix(_CHORD),))
            )
        elif role in ("stem", "ledgerLines"):
            x1, y1, x2, y2 = _numbers(element.get("d", ""))
            (x1, y1), (x2, y2) = sorted((placed(x1, y1), placed(x2, y2)))
            if role == "stem":
                chord = owner.startswith(_CHORD)
                stem = Rule("stem", x1, y1, x2, y2, _STEM, () if chord else (owner,))
                pieces.slots[slot_of[owner.removeprefix(_CHORD)]].append(stem)
            else:
                ledgers.append(Rule("ledger", x1, y1, x2, y2, _LEDGER_LINE))
    for ledger in ledgers:
        owners = _needing(ledger, number, pieces.notes)
        pieces.slots[slot_of[owners[0]]].insert(0, replace(ledger, owners=owners))


def _read_tie(tie: _Element, staves: Sequence[_Element], pieces: Pieces) -> None:
    """A tie stands outside the staves in Verovio's drawing: it belongs to the nearer one."""
    for path in tie.iterfind("{*}path"):
        d = path.get("d", "")
        y = _numbers(d)[1]

        def off(number: int, y: float = y) -> float:
            lines = _line_heights(staves[number - 1])
            return abs(y - (lines[0] + lines[-1]) / 2)

        number = min((UPPER, LOWER), key=off)
        staff = staves[number - 1]
        space = _space(staff)
        shift = STAFF_TOP[number] * space - _line_heights(staff)[0]
        d = _stretched(d, 1 / space, shift, 1 / space)
        pieces.fixed += [Outline("tie", d), Outline("tie", d, stroke=_TIE_PEN)]


def _needing(ledger: Rule, staff: int, notes: Mapping[str, NoteBox]) -> tuple[str, ...]:
    """The notes that a ledger line serves: those on it or beyond it, above or below the staff."""
    beyond = -1 if ledger.y1 < STAFF_TOP[staff] else 1
    return tuple(
        name
        for name, box in notes.items()
        if box.staff == staff
        and ledger.x1 < box.x < ledger.x2
        and (box.y - ledger.y1) * beyond > -0.1
    )


_CHORD = "chord of "


def _marks(staff: _Element, slot_of: Mapping[str, int]) -> Iterator[tuple[str, str, _Element]]:
    """The drawn elements of a staff with their role and the note (or chord) that owns them."""

    def walk(element: _Element, role: str, owner: str) -> Iterator[tuple[str, str, _Element]]:
        for child in element:
            if not child.tag.endswith("}g"):
                yield role, owner, child
                continue
            kind = child.get("class", "").split(" ")[0]
            below = owner
            if kind == "note":
                below = child.get("id", "")
            elif kind == "chord":
                first = next(_of_class(child, "note"))
                below = _CHORD + first.get("id", "")
            role_below = role if kind in ("keyAccid", "") else kind
            yield from walk(child, role_below, below)

    return walk(staff, "staff", "")


def _of_class(root: _Element, name: str) -> Iterator[_Element]:
    return (element for element in root.iter() if name in element.get("class", "").split(" "))


def _line_heights(staff: _Element) -> list[float]:
    return [_numbers(path.get("d", ""))[1] for path in staff.iterfind("{*}path")]


def _space(staff: _Element) -> float:
    lines = _line_heights(staff)
    return (lines[-1] - lines[0]) / 4


def _code(reference: str) -> str:
    """The code point in a glyph's id: ``E050`` from ``#E050-k2x9``."""
    return reference.lstrip("#").split("-")[0]


def _numbers(text: str) -> list[float]:
    return [float(number) for number in re.findall(r"-?\d+(?:\.\d+)?", text)]


def _circle(r: float) -> str:
    """Path data of a circle around the origin, of cubic curves with the usual constant."""
    k = 0.5523 * r
    return (
        f"M{r:.3f},0 C{r:.3f},{k:.3f} {k:.3f},{r:.3f} 0,{r:.3f} "
        f"C{-k:.3f},{r:.3f} {-r:.3f},{k:.3f} {-r:.3f},0 "
        f"C{-r:.3f},{-k:.3f} {-k:.3f},{-r:.3f} 0,{-r:.3f} "
        f"C{k:.3f},{-r:.3f} {r:.3f},{-k:.3f} {r:.3f},0 Z"
    )


def _stretched(d: str, x_scale: float, y_shift: float, y_scale: float) -> str:
    """Path data of absolute ``x,y`` pairs, moved and stretched."""

    def pair(match: re.Match[str]) -> str:
        x, y = float(match[1]), float(match[2])
        return f"{x * x_scale:.3f},{(y + y_shift) * y_scale:.3f}"

    return re.sub(r"(-?[\d.]+),(-?[\d.]+)", pair, d)
