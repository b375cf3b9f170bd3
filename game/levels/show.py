# SPDX-License-Identifier: MIT
"""What a prompt of a level may show: the [show] table of a level file."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Annotated, Any, Literal, TypeVar

from pydantic import (
    AfterValidator,
    AliasChoices,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    JsonValue,
    ValidationInfo,
    field_validator,
)

from game.levels.rhythm import NOTE_LENGTHS, REST_LENGTHS, fillings
from game.levels.written import read_slot
from game.notation import GRAND_STAFF, HIGHEST_KEY, LOWEST_KEY, Clef, Pitch

_SPAN = re.compile(r"\s*(\S+)\s+to\s+(\S+)\s*")
_Items = TypeVar("_Items", bound=tuple[Any, ...])


def _natural(text: object) -> Pitch:
    if not isinstance(text, str):
        raise ValueError("a place is text such as 'C4'")
    pitch = Pitch.parse(text)
    if pitch.alter:
        raise ValueError(
            f"{text!r} has a sign: places are lines and spaces, named without signs; "
            "signs come from 'signatures' and 'signs'"
        )
    if not LOWEST_KEY <= pitch.key <= HIGHEST_KEY:
        raise ValueError(f"{text!r} is outside the piano, A0 to C8")
    return pitch


def _naturals(texts: Sequence[object]) -> list[Pitch]:
    """All of them, or one message with what is wrong with each."""
    pitches, faults = [], []
    for text in texts:
        try:
            pitches.append(_natural(text))
        except ValueError as error:
            faults.append(str(error))
    if faults:
        raise ValueError("; ".join(faults))
    return pitches


def _steps(value: object) -> tuple[int, ...]:
    """Diatonic steps from ``"C4 to G4"`` or ``["C4", "E4"]``."""
    if isinstance(value, str):
        span = _SPAN.fullmatch(value)
        if span is None:
            raise ValueError("a span is written 'C4 to G4'; single places as a list, ['C4', 'E4']")
        low, high = _naturals(span.groups())
        if low.step > high.step:
            raise ValueError(f"the span starts above its end: write '{high} to {low}'")
        return tuple(range(low.step, high.step + 1))
    if isinstance(value, (list, tuple)):
        if not value:
            raise ValueError("the list of places is empty; leave the key out to show none")
        return tuple(sorted({pitch.step for pitch in _naturals(value)}))
    raise ValueError("places are a span 'C4 to G4' or a list ['C4', 'E4']")


def _distinct(items: _Items) -> _Items:
    if len(set(items)) < len(items):
        raise ValueError("a list that gives each of them once")
    return items


def _rising(shape: tuple[int, ...]) -> tuple[int, ...]:
    if shape != tuple(sorted(set(shape))):
        raise ValueError("intervals that rise, each given once, as in [3, 5]")
    return shape


def _cell(cell: tuple[float, ...]) -> tuple[float, ...]:
    for length in cell:
        if length not in NOTE_LENGTHS and -length not in REST_LENGTHS:
            notes, rests = (
                ", ".join(f"{value:g}" for value in values)
                for values in (NOTE_LENGTHS, REST_LENGTHS)
            )
            raise ValueError(f"lengths in quarters: notes {notes}; rests {rests} with a minus")
    return cell


def _written_slot(text: object) -> str:
    if not isinstance(text, str):
        raise ValueError("a slot is text such as 'F#4 A4 / D3'")
    read_slot(text)
    return text


# TOML has lists where frozen values have tuples, so a tuple's own type is not taken strictly.
_UNIQUE: dict[str, JsonValue] = {"uniqueItems": True}
Places = Annotated[
    tuple[int, ...],
    BeforeValidator(_steps, json_schema_input_type=str | Annotated[list[str], Field(min_length=1)]),
]
Shape = Annotated[
    tuple[Annotated[int, Field(ge=2, le=8)], ...],
    Field(min_length=1, strict=False, json_schema_extra=_UNIQUE),
    AfterValidator(_rising),
]


Cell = Annotated[
    tuple[float, ...], Field(min_length=1, max_length=8, strict=False), AfterValidator(_cell)
]
_Clef = Annotated[Clef, Field(strict=False)]
WrittenSlot = Annotated[str, BeforeValidator(_written_slot)]
Accidental = Literal["#", "b", "n", "##", "bb"]
Question = Literal["altered", "major tonic", "minor tonic"]
Metre = Literal["2/4", "3/4", "4/4", "3/8", "6/8"]
Texture = Literal[
    "one note",
    "hands together",
    "chord",
    "phrase",
    "phrases together",
    "signature",
    "written",
]
OLD_NAMES = {"upper": "treble", "lower": "bass"}
"""What the places of a staff were called in a level file before a staff had any clef."""
PLACELESS = ("signature", "written")
TOGETHER = ("hands together", "phrases together")
PHRASES = ("phrase", "phrases together")


class Table(BaseModel):
    """A table of a level file."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)


class Written(Table):
    """One prompt, written out."""

    name: str = Field("", max_length=40, description="What it is called beside the staff: text.")
    signature: int = Field(0, ge=-7, le=7, description="-7 (seven flats) to 7 (seven sharps).")
    slots: tuple[WrittenSlot, ...] = Field(
        min_length=1,
        max_length=16,
        strict=False,
        description="What goes down together, from left to right: upper staff / lower staff, "
        "as in ['F#4 A4 / D3', 'G4', '/ C3'].",
    )


class Show(Table):
    """What a prompt may show."""

    texture: Texture = Field("one note", description="What goes down at once, and how it moves.")
    upper: Places | None = Field(
        None,
        validation_alias=AliasChoices("upper", OLD_NAMES["upper"]),
        description="Lines and spaces of the upper staff: 'C4 to G4' or ['C4', 'G4'].",
    )
    lower: Places | None = Field(
        None,
        validation_alias=AliasChoices("lower", OLD_NAMES["lower"]),
        validate_default=True,
        description="Lines and spaces of the lower staff, likewise.",
    )
    clefs: tuple[_Clef, _Clef] = Field(
        GRAND_STAFF,
        strict=False,
        description="Clefs of the upper and the lower staff, as in ['alto', 'bass']: "
        f"{', '.join(clef.value for clef in Clef)}.",
    )
    signatures: Annotated[
        tuple[Annotated[int, Field(ge=-7, le=7)], ...], AfterValidator(_distinct)
    ] = Field(
        (0,),
        min_length=1,
        description="Key signatures: -7 (seven flats) to 7 (seven sharps).",
        strict=False,
        json_schema_extra=_UNIQUE,
    )
    signs: Annotated[tuple[Accidental, ...], AfterValidator(_distinct)] = Field(
        (),
        description="Accidentals that may be printed besides the signature.",
        strict=False,
        json_schema_extra=_UNIQUE,
    )
    shapes: Annotated[tuple[Shape, ...], AfterValidator(_distinct)] = Field(
        (),
        validate_default=True,
        description="For texture 'chord': intervals above the lowest note, such as "
        "[3, 5] for a triad in root position.",
        strict=False,
        json_schema_extra=_UNIQUE,
    )
    rare_spellings: bool = Field(
        False, description="Whether added signs may make E#, B#, Cb and Fb."
    )
    slots: int = Field(1, ge=1, le=8, description="How many things to play in one bar.")
    bars: int = Field(1, ge=1, le=4, description="How many bars a prompt has.")
    returns: bool = Field(
        False,
        validate_default=True,
        description="Whether later notes come back to a place that carried a sign.",
    )
    ties: bool = Field(
        False,
        validate_default=True,
        description="Whether a note with a sign may be tied over the barline.",
    )
    metre: Metre = Field(
        "4/4", description="For phrases: the metre, '2/4', '3/4', '4/4', '3/8' or '6/8'."
    )
    cells: tuple[Cell, ...] = Field(
        ((1.0,),),
        min_length=1,
        strict=False,
        validate_default=True,
        description="For phrases: what a bar's rhythm is made of, each a list of lengths in "
        "quarters, with a minus for a rest: [[1], [2], [0.5, 0.5], [1, -1]].",
    )
    modes: Annotated[tuple[Literal["major", "minor"], ...], AfterValidator(_distinct)] = Field(
        ("major",),
        min_length=1,
        strict=False,
        json_schema_extra=_UNIQUE,
        description="For phrases: 'major', 'minor' (with its leading note raised) or both.",
    )
    hand: int = Field(
        8, ge=5, le=15, description="For phrases: how many lines and spaces a hand moves over."
    )
    asks: Annotated[tuple[Question, ...], AfterValidator(_distinct)] = Field(
        ("altered", "major tonic", "minor tonic"),
        min_length=1,
        strict=False,
        json_schema_extra=_UNIQUE,
        description="For texture 'signature': what is asked of each, in this order.",
    )
    written: tuple[Written, ...] = Field(
        (),
        strict=False,
        validate_default=True,
        max_length=1000,
        description="For texture 'written': the prompts themselves.",
    )
    in_order: bool = Field(
        False, description="For texture 'written': from the first to the last, else drawn evenly."
    )

    # One check a field, on the fields before it that are sound: so one fault hides no other.

    @field_validator("lower")
    @classmethod
    def _something(cls, lower: object, info: ValidationInfo) -> object:
        texture = info.data.get("texture")
        hands = (info.data.get("upper", ()), lower)
        if texture is None or texture in PLACELESS:
            return lower
        if hands == (None, None):
            raise ValueError("give 'upper' or 'lower', or both: there is nothing to show")
        if texture in TOGETHER and None in hands:
            raise ValueError(f"texture {texture!r} needs both 'upper' and 'lower'")
        return lower

    @field_validator("clefs")
    @classmethod
    def _beside_places(cls, clefs: tuple[Clef, Clef], info: ValidationInfo) -> tuple[Clef, Clef]:
        if info.data.get("texture") == "written":
            raise ValueError("in texture 'written' a clef follows its note, as in 'C4@alto'")
        return clefs

    @field_validator("shapes")
    @classmethod
    def _with_chords(cls, shapes: tuple[object, ...], info: ValidationInfo) -> object:
        if "texture" in info.data and (info.data["texture"] == "chord") != bool(shapes):
            raise ValueError("texture 'chord' and 'shapes' go together")
        return shapes

    @field_validator("returns")
    @classmethod
    def _single_line(cls, returns: bool, info: ValidationInfo) -> bool:
        if returns and (info.data.get("texture") != "one note" or not info.data.get("signs", "#")):
            raise ValueError("'returns' goes with texture 'one note' and with 'signs'")
        return returns

    @field_validator("ties")
    @classmethod
    def _over_a_barline(cls, ties: bool, info: ValidationInfo) -> bool:
        if ties and (not info.data.get("returns", True) or info.data.get("bars", 2) < 2):
            raise ValueError("'ties' goes with 'returns' and with 2 'bars' or more")
        return ties

    @field_validator("cells")
    @classmethod
    def _fill_a_bar(cls, cells: tuple[Cell, ...], info: ValidationInfo) -> tuple[Cell, ...]:
        metre = info.data.get("metre")
        if metre is not None and not fillings(cells, metre):
            raise ValueError(f"cells that can fill a bar of {metre}")
        return cells

    @field_validator("written")
    @classmethod
    def _as_written(cls, written: tuple[object, ...], info: ValidationInfo) -> object:
        if "texture" in info.data and (info.data["texture"] == "written") != bool(written):
            raise ValueError("texture 'written' and [[show.written]] go together")
        return written
