"""The people: skills, hours, wages, and the shift patterns they can be called in for."""

from __future__ import annotations

from datetime import time
from typing import Annotated, Literal

from pydantic import Field, model_validator

from scheduler.model.base import Cents, Frozen, Minutes, Name, named

Skill = Literal["fire", "pit", "wrap", "slice", "counter"]
TaskKind = Literal["light", "tend", "clean", "load", "wrap", "pull", "move", "slice", "counter"]
Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]

WEEKDAYS: tuple[Weekday, ...] = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")

SKILL_OF: dict[TaskKind, Skill] = {
    "light": "fire",
    "tend": "fire",
    "clean": "fire",
    "load": "pit",
    "wrap": "wrap",
    "pull": "pit",
    "move": "pit",
    "slice": "slice",
    "counter": "counter",
}
"""The skill that each kind of task asks for."""


class Person(Frozen):
    """One of the crew."""

    name: Name
    skills: Annotated[tuple[Skill, ...], Field(min_length=1)]
    wage_cents_per_h: Cents
    birth_years: tuple[int, int] | None = None
    """First and last possible year of birth, only for people who may be under 18."""
    days: tuple[Weekday, ...] = ()
    """Weekdays on which a shift of theirs may start; empty means any."""
    patterns: tuple[Name, ...] = ()
    """Shift patterns they work; empty means any."""


class ShiftPattern(Frozen):
    """A shift that can be called in on each of its days."""

    name: Name
    starts: time
    length_min: Annotated[Minutes, Field(gt=0)]
    days: Annotated[tuple[Weekday, ...], Field(min_length=1)]

    @model_validator(mode="after")
    def _naive(self) -> ShiftPattern:
        if self.starts.second or self.starts.microsecond:
            raise ValueError(f"shift pattern {self.name!r} must start on a whole minute")
        return self


class Crew(Frozen):
    """Who can be called in, and the limits on their work."""

    people: Annotated[tuple[Person, ...], Field(min_length=1, alias="person")]
    patterns: Annotated[tuple[ShiftPattern, ...], Field(min_length=1, alias="pattern")]
    longest_shift_min: Annotated[Minutes, Field(gt=0, le=16 * 60)]
    least_rest_min: Minutes
    """Between the end of a person's shift and the start of the next."""
    hand_minutes_per_h: Annotated[int, Field(ge=1, le=60)] = 50
    """What a person can give in an hour; the rest is breaks, walking and washing hands."""
    fires_per_person: Annotated[int, Field(ge=1, le=20)] = 3
    """Fires that one person can tend at once."""

    def person(self, name: str) -> Person:
        """The person of that name; KeyError if there is none."""
        return named(self.people, name)

    def pattern(self, name: str) -> ShiftPattern:
        """The shift pattern of that name; KeyError if there is none."""
        return named(self.patterns, name)
