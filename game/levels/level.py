# SPDX-License-Identifier: MIT
"""The level format: what may appear, and what must be reached. The schema of the TOML files."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, ValidationInfo, field_validator

from game.levels.show import OLD_NAMES, PHRASES, Show, Table


class Pass(Table):
    """What passes the level: both at once, in one round."""

    accuracy: float = Field(0.9, ge=0.5, le=1, description="First answers right / slots.")
    median_s: float = Field(
        gt=0, le=60, description="Median seconds of right first answers: above 0, at most limit_s."
    )


class Length(Table):
    """How long a round is."""

    prompts: int = Field(24, ge=1, le=500, description="Prompts of a counted round.")
    seconds: int = Field(60, ge=10, le=1800, description="Seconds of a timed round.")


class Time(Table):
    """For phrases that are read in time, to a steady count-in."""

    tempo: float = Field(ge=30, le=200, description="Quarters per minute, 30 to 200.")
    count_in: int = Field(1, ge=1, le=2, description="Bars that are counted before the first note.")


class Level(Table):
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
    time: Time | None = Field(
        None, description="A [time] table: the phrases are read in time, to a count-in."
    )
    passing: Pass = Field(alias="pass")
    round: Length = Field(default_factory=lambda: Length(prompts=24, seconds=60))

    @field_validator("time")
    @classmethod
    def _of_phrases(cls, time: Time | None, info: ValidationInfo) -> Time | None:
        show = info.data.get("show")
        if time is not None and show is not None and show.texture not in PHRASES:
            raise ValueError("texture 'phrase' or 'phrases together': only phrases have a beat")
        return time

    @field_validator("passing")
    @classmethod
    def _reachable(cls, passing: Pass, info: ValidationInfo) -> Pass:
        if passing.median_s > info.data.get("limit_s", passing.median_s):
            raise ValueError("median_s must not be above limit_s: it could not earn points")
        return passing

    def same_bars(self, prompts: int) -> bool:
        """Whether all rounds of so many prompts hold the same bars, as a piece's do."""
        show = self.show
        return show.texture == "written" and (show.in_order or len(show.written) <= prompts)

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
    shown = schema["$defs"]["Show"]["properties"]
    for name, old in OLD_NAMES.items():
        shown[old] = {**shown[name], "title": old.capitalize(), "description": f"Now '{name}'."}
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
