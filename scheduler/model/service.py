"""How the kitchen sells: what its till exports, and how its line moves."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from scheduler.model.base import Frozen, Name

SalesColumn = Literal[
    "time", "item", "amount", "price", "ticket", "opened", "closed", "sold_out", "weather", "event", "note"
]
"""Columns of sales.csv and service-days.csv by the names that this program gives them."""

Heading = Annotated[str, Field(min_length=1, max_length=80)]


class Till(Frozen):
    """How sales.csv and service-days.csv are to be read."""

    columns: dict[SalesColumn, Heading] = Field(default_factory=dict)
    """Heading of a column where it is not the program's own name for it."""
    items: dict[Heading, str] = Field(default_factory=dict)
    """What the till calls a thing, and the cut that it is; an empty cut leaves it out."""
    unit: Literal["portions", "pieces", "lb"] = "portions"
    """What the amount counts."""
    portion_lb: dict[Name, Annotated[float, Field(gt=0, le=20)]] = Field(default_factory=dict)
    """Weight of a portion by cut, where amounts are in lb; 1/3 lb if not given (common practice, no source)."""
    time_format: str = ""
    """How times are written, in the letters of C's strftime; empty means ISO 8601."""


class Line(Frozen):
    """The line in front of the counter. The defaults are common practice, no source."""

    order_s: Annotated[float, Field(gt=0, le=1800)] = 40.0
    """Seconds in which one person at the counter takes an order and the money, on average."""
    plate_s: Annotated[float, Field(ge=0, le=1800)] = 12.0
    """Seconds of a cutter for a portion beside the slicing itself."""
    patience_min: Annotated[float, Field(gt=0, le=600)] = 30.0
    """Half of the customers leave if they would have to wait longer."""
    take_another: Annotated[float, Field(ge=0, le=1)] = 0.6
    """Odds that a customer whose cut is out takes another one."""
