# SPDX-License-Identifier: MIT
"""The level format: what may appear, and what must be reached. The schema of the TOML files."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Annotated, Any, Literal, TypeVar

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    JsonValue,
    ValidationInfo,
    field_validator,
)

from game.notation import HIGHEST_KEY, LOWEST_KEY, Pitch

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


class _Table(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)


class Show(_Table):
    """What a prompt may show."""

    treble: Places | None = Field(
        None, description="Lines and spaces of the upper staff: 'C4 to G4' or ['C4', 'G4']."
    )
    bass: Places | None = Field(
        None,
        validate_default=True,
        description="Lines and spaces of the lower staff, likewise.",
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
    signs: Annotated[tuple[Literal["#", "b", "n"], ...], AfterValidator(_distinct)] = Field(
        (),
        description="Accidentals that may be printed besides the signature.",
        strict=False,
        json_schema_extra=_UNIQUE,
    )
    texture: Literal["one note", "hands together", "chord"] = Field(
        "one note", description="What goes down at once."
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

    # One check a field, on the fields before it that are sound: so one fault hides no other.

    @field_validator("bass")
    @classmethod
    def _something(cls, bass: object, info: ValidationInfo) -> object:
        if bass is None and info.data.get("treble", ()) is None:
            raise ValueError("give 'treble' or 'bass', or both: there is nothing to show")
        return bass

    @field_validator("texture")
    @classmethod
    def _both_hands(cls, texture: str, info: ValidationInfo) -> str:
        hands = [info.data.get(hand, ()) for hand in ("treble", "bass")]
        if texture == "hands together" and None in hands:
            raise ValueError("texture 'hands together' needs both 'treble' and 'bass'")
        return texture

    @field_validator("shapes")
    @classmethod
    def _with_chords(cls, shapes: tuple[object, ...], info: ValidationInfo) -> object:
        if "texture" in info.data and (info.data["texture"] == "chord") != bool(shapes):
            raise ValueError("texture 'chord' and 'shapes' go together")
        return shapes


class Pass(_Table):
    """What passes the level: both at once, in one round."""

    accuracy: float = Field(0.9, ge=0.5, le=1, description="First answers right / slots.")
    median_s: float = Field(
        gt=0, le=60, description="Median seconds of right first answers: above 0, at most limit_s."
    )


class Length(_Table):
    """How long a round is."""

    prompts: int = Field(24, ge=1, le=500, description="Prompts of a counted round.")
    seconds: int = Field(60, ge=10, le=1800, description="Seconds of a timed round.")


class Level(_Table):
    """A level of the ladder."""

    format: Literal[1] = Field(description="Version of this format: 1.")
    id: str = Field(
        pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$",
        max_length=60,
        description="Name in commands and records: small letters, digits and hyphens.",
    )
    title: str = Field(min_length=1, max_length=60, description="What the ladder calls it: text.")
    stage: str = Field(
        min_length=1, max_length=40, description="The group that it belongs to: text."
    )
    about: str = Field("", max_length=200, description="One sentence for the reader.")
    limit_s: float = Field(
        gt=0,
        le=60,
        description="Seconds after which an answer earns or costs nothing (d): "
        "above 0, at most 60.",
    )
    show: Show
    passing: Pass = Field(alias="pass")
    round: Length = Field(default_factory=lambda: Length(prompts=24, seconds=60))

    @field_validator("passing")
    @classmethod
    def _reachable(cls, passing: Pass, info: ValidationInfo) -> Pass:
        if passing.median_s > info.data.get("limit_s", passing.median_s):
            raise ValueError("median_s must not be above limit_s: it could not earn points")
        return passing

    def passed(self, accuracy: float, median_s: float | None) -> bool:
        """Whether a round with these figures passes the level."""
        return (
            median_s is not None
            and accuracy >= self.passing.accuracy
            and median_s <= self.passing.median_s
        )


def json_schema() -> dict[str, object]:
    """The JSON Schema (2020-12) of a level file."""
    schema = Level.model_json_schema(mode="validation", by_alias=True)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
