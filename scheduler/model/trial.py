"""Trials: two methods for one cut, compared on pairs of pieces that are cooked side by side.

A pair is one thing for the planner: two pieces on one rack, loaded, wrapped and pulled together. `scheduler.learn`
lays a scenario out for it: the trial's cut gets a kin, called `pair_name`, of which one piece is a pair.
"""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from pydantic import Field, model_validator

from scheduler.model.base import Frozen, Name
from scheduler.model.menu import WrapKind

MOST_PAIRS = 50


class Method(Frozen):
    """One of the two methods."""

    label: Name
    wrap_kind: WrapKind | None = None
    """Where it differs from the recipe's."""
    how: Annotated[str, Field(max_length=120)] = ""
    """What the crew does, for the key."""


class Trial(Frozen):
    """Pairs of pieces of one wave, one piece of each pair by each method."""

    name: Name
    cut: Name
    at: datetime
    """The wave that the pairs are taken from; local."""
    pairs: Annotated[int, Field(ge=1, le=MOST_PAIRS)]
    recipe: Name | None = None
    """By which both are cooked, but for the wrap; the cut's first where none is named."""
    methods: Annotated[tuple[Method, ...], Field(min_length=2, max_length=2, alias="method")]
    seed: Annotated[int, Field(ge=0)] = 0
    """Of the lots: which side of the rack each method takes, and the blind codes."""

    @property
    def pair_name(self) -> str:
        """What a pair is called: "pair of packer briskets"."""
        return f"pair of {self.cut}{'' if self.cut.endswith('s') else 's'}"[:40]

    @property
    def wraps_differ(self) -> bool:
        """True if the wrap is, or may be, what is compared."""
        first, second = self.methods
        return first.wrap_kind != second.wrap_kind

    @model_validator(mode="after")
    def _two(self) -> Trial:
        first, second = self.methods
        if first.label == second.label:
            raise ValueError(f'both methods are called "{first.label}"')
        return self
