"""Shared base of all model classes and the small value types that they use."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Protocol, TypeVar

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, model_validator

Name = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=40)]
Spaces = Annotated[float, Field(ge=0, le=10_000, multiple_of=0.01)]
Minutes = Annotated[int, Field(ge=0, le=7 * 24 * 60)]
Cents = Annotated[int, Field(ge=0, le=100_000_000)]

SPACE_SCALE = 100
"""Spaces are given in hundredths at most, so that sums of them are exact integers."""


def hundredths(spaces: float) -> int:
    """Spaces as an exact whole number of hundredths."""
    return round(spaces * SPACE_SCALE)


class Frozen(BaseModel):
    """Immutable, refuses unknown fields, so that a typo in a file is a mistake and not a default."""

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)


class Range(Frozen):
    """How long a stage takes: about the 10th, 50th and 90th percentile, in minutes."""

    early_min: Minutes
    likely_min: Minutes
    late_min: Minutes

    @model_validator(mode="after")
    def _ordered(self) -> Range:
        if not self.early_min <= self.likely_min <= self.late_min:
            raise ValueError(
                f"a range must rise: early {self.early_min} <= likely {self.likely_min} <= late {self.late_min}"
            )
        return self


class HasName(Protocol):
    """Anything that a file calls by name."""

    @property
    def name(self) -> str: ...


_T = TypeVar("_T", bound=HasName)


def named(items: Iterable[_T], name: str) -> _T:
    """The item of that name; KeyError if there is none."""
    for item in items:
        if item.name == name:
            return item
    raise KeyError(name)
