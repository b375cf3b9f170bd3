# SPDX-License-Identifier: MIT
"""The level format: what may appear, and what must be reached. The schema of the TOML files."""

from __future__ import annotations

import re
from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from game.notation import HIGHEST_KEY, LOWEST_KEY, Pitch

_SPAN = re.compile(r"\s*(\S+)\s+to\s+(\S+)\s*")
_LOWEST_STEP, _HIGHEST_STEP = Pitch("A", 0, 0).step, Pitch("C", 0, 8).step


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


def _steps(value: object) -> tuple[int, ...]:
    """Diatonic steps from ``"C4 to G4"`` or ``["C4", "E4"]``."""
    if isinstance(value, str):
        span = _SPAN.fullmatch(value)
        if span is None:
            raise ValueError("a span is written 'C4 to G4'; single places as a list, ['C4', 'E4']")
        low, high = _natural(span[1]), _natural(span[2])
        if low.step > high.step:
            raise ValueError(f"the span starts above its end: write '{high} to {low}'")
        return tuple(range(low.step, high.step + 1))
    if isinstance(value, (list, tuple)):
        if all(isinstance(item, int) for item in value):
            return tuple(value)
        steps = tuple(sorted({_natural(item).step for item in value}))
        if not steps:
            raise ValueError("the list of places is empty")
        return steps
    raise ValueError("places are a span 'C4 to G4' or a list ['C4', 'E4']")


Places = Annotated[
    tuple[int, ...],
    BeforeValidator(
        _steps,
        json_schema_input_type=str | list[str],
    ),
]


class _Table(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", strict=False)


class Show(_Table):
    """What a prompt may show."""

    treble: Places | None = Field(
        None, description="Lines and spaces of the upper staff: 'C4 to G4' or ['C4', 'G4']."
    )
    bass: Places | None = Field(None, description="Lines and spaces of the lower staff, likewise.")
    signatures: tuple[Annotated[int, Field(ge=-7, le=7)], ...] = Field(
        (0,), min_length=1, description="Key signatures: -7 (seven flats) to 7 (seven sharps)."
    )
    signs: tuple[Literal["#", "b", "n"], ...] = Field(
        (), description="Accidentals that may be printed besides the signature."
    )
    texture: Literal["one note", "hands together", "chord"] = Field(
        "one note", description="What goes down at once."
    )
    shapes: tuple[
        Annotated[tuple[Annotated[int, Field(ge=2, le=8)], ...], Field(min_length=1)], ...
    ] = Field(
        (),
        description="For texture 'chord': intervals above the lowest note, such as "
        "[3, 5] for a triad in root position.",
    )
    rare_spellings: bool = Field(
        False, description="Whether added signs may make E#, B#, Cb and Fb."
    )
    slots: int = Field(1, ge=1, le=8, description="How many things to play in one bar.")

    @model_validator(mode="after")
    def _consistent(self) -> Show:
        if self.treble is None and self.bass is None:
            raise ValueError("give 'treble' or 'bass', or both: there is nothing to show")
        if self.texture == "hands together" and (self.treble is None or self.bass is None):
            raise ValueError("texture 'hands together' needs both 'treble' and 'bass'")
        if (self.texture == "chord") != bool(self.shapes):
            raise ValueError("texture 'chord' and 'shapes' go together")
        return self


class Pass(_Table):
    """What passes the level: both at once, in one round."""

    accuracy: float = Field(0.9, ge=0.5, le=1, description="First answers right / slots.")
    median_s: float = Field(gt=0, le=60, description="Median seconds of right first answers.")


class Length(_Table):
    """How long a round is."""

    prompts: int = Field(24, ge=1, le=500, description="Prompts of a counted round.")
    seconds: int = Field(60, ge=10, le=1800, description="Seconds of a timed round.")


class Level(_Table):
    """A level of the ladder."""

    format: Literal[1] = Field(description="Version of this format.")
    id: str = Field(
        pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$",
        max_length=60,
        description="Name in commands and records: small letters, digits and hyphens.",
    )
    title: str = Field(min_length=1, max_length=60, description="What the ladder calls it.")
    stage: str = Field(min_length=1, max_length=40, description="The group that it belongs to.")
    about: str = Field("", max_length=200, description="One sentence for the reader.")
    limit_s: float = Field(
        gt=0, le=60, description="Seconds after which an answer earns or costs nothing (d)."
    )
    show: Show
    passing: Pass = Field(alias="pass")
    round: Length = Field(default_factory=lambda: Length(prompts=24, seconds=60))

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)

    @model_validator(mode="after")
    def _reachable(self) -> Level:
        if self.passing.median_s > self.limit_s:
            raise ValueError("pass.median_s must not be above limit_s: it could not earn points")
        return self

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
