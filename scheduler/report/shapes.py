"""What the charts are made of, in chart units: bars in lanes, rows of racks, the strip of a fire."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.report.panels import Panel

AXIS = 44.0
LANE = 23.0
BAR = 18.0
ROW_GAP = 6.0
EMPTY_ROW = 22.0
NOTED_ROW = 32.0
"""Least height of a row with its rack's spaces under the name."""
FIRE = 58.0
CHAR = 8.5
"""About the width of one character of a bar's text, in chart units."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A part of a bar: smoke, finish, or maybe (from early to late)."""

    x: float
    width: float
    kind: str


@dataclass(frozen=True, slots=True)
class Bar:
    """One load's stay on one rack."""

    code: str
    y: float
    height: float
    pieces: tuple[Piece, ...]
    text: str
    text_x: float
    wrap_x: float | None
    likely_x: float | None
    after: str
    """Where it goes at the wrap, written behind the bar; empty if it stays."""
    after_x: float
    from_before: bool
    goes_on: bool
    title: str


@dataclass(frozen=True, slots=True)
class RackRow:
    """A rack with its bars."""

    name: str
    note: str
    y: float
    height: float
    bars: tuple[Bar, ...]


@dataclass(frozen=True, slots=True)
class Heat:
    """A part of a burn: warming, steady at a setpoint, or changing."""

    x: float
    width: float
    kind: str
    text: str


@dataclass(frozen=True, slots=True)
class FireMark:
    """A word under the fire strip."""

    x: float
    text: str
    anchor: str


@dataclass(frozen=True, slots=True)
class FireRow:
    """The fire under the racks."""

    name: str
    y: float
    heats: tuple[Heat, ...]
    marks: tuple[FireMark, ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """One panel of a chart, ready to draw."""

    title: str
    panel: Panel
    width: float
    height: float
    plot_bottom: float
    rows: tuple[RackRow, ...]
    fire: FireRow | None


def lanes(extents: list[tuple[float, float]]) -> list[int]:
    """The first free lane for each extent, in their order; extents of one lane do not overlap."""
    ends: list[float] = []
    found = []
    for left, right in extents:
        lane = next((i for i, end in enumerate(ends) if end <= left), len(ends))
        if lane == len(ends):
            ends.append(right)
        else:
            ends[lane] = right
        found.append(lane)
    return found
