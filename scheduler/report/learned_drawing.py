"""Drawings of what was learned: planned range above learned one with every cook, and how the promise is kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from scheduler.learn.calibration import Kept
from scheduler.learn.ranges import LearnedRange
from scheduler.model.base import Range
from scheduler.model.cooks import Cook

WIDTH, HEIGHT = 360.0, 132.0
LEFT, RIGHT = 58.0, 18.0
BASE = 108.0
LANE_PLANNED, LANE_LEARNED, LANE_COOKS = 14.0, 44.0, 98.0
DOT = 3.0
STACK = 4
MOST_HOURS = 7
FAR = 2.6
"""Cooks further out than this are drawn at the edge."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A tick with its label."""

    at: float
    label: str


@dataclass(frozen=True, slots=True)
class Strip:
    """A bar from early to late with its likely time."""

    label: str
    y: float
    left: float
    right: float
    middle: float
    kind: str


@dataclass(frozen=True, slots=True)
class Dot:
    """One cook; hollow where it was cut off."""

    x: float
    y: float
    kind: str


@dataclass(frozen=True, slots=True)
class RangeDrawing:
    """Planned and learned range of a recipe with its cooks."""

    title: str
    note: str
    words: str
    width: float
    height: float
    base: float
    left: float
    right: float
    strips: tuple[Strip, ...]
    dots: tuple[Dot, ...]
    hours: tuple[Mark, ...]


def range_drawing(found: LearnedRange, minutes: Sequence[tuple[float, bool, bool]], note: str) -> RangeDrawing:
    """`minutes` are the cooks at the recipe's reference: how long, whether to the end, whether odd."""
    low = min(found.planned.early_min, found.found.early_min, *(m for m, _, _ in minutes))
    high = max(found.planned.late_min, found.found.late_min, *(m for m, _, _ in minutes))
    low, high = 60 * (low // 60), 60 * ceil((high + 1) / 60)
    right = WIDTH - RIGHT

    def x(value: float) -> float:
        return round(LEFT + (right - LEFT) * (value - low) / (high - low), 1)

    def strip(label: str, value: Range, y: float, kind: str) -> Strip:
        return Strip(label, y, x(value.early_min), x(value.late_min), x(value.likely_min), kind)

    every = max(1, ceil((high - low) / 60 / MOST_HOURS))
    hours = range(int(low // 60), int(high // 60) + 1, every)
    return RangeDrawing(
        title=f"{found.cut}, {found.recipe}",
        note=note,
        words=f"{found.cut}, {found.recipe}: planned range above the learned one",
        width=WIDTH,
        height=HEIGHT,
        base=BASE,
        left=LEFT,
        right=right,
        strips=(
            strip("planned", found.planned, LANE_PLANNED, "planned"),
            strip("learned", found.found, LANE_LEARNED, "learned"),
        ),
        dots=_stacked([(x(m), "odd" if odd else "done" if done else "cut") for m, done, odd in minutes]),
        hours=tuple(Mark(x(60 * hour), f"{hour} h") for hour in hours),
    )


def _stacked(points: list[tuple[float, str]]) -> tuple[Dot, ...]:
    """Dots that would hide each other stand above each other, as far as there is room."""
    ends: list[float] = []
    found = []
    for at, kind in sorted(points):
        lane = next((i for i, end in enumerate(ends) if end <= at), None)
        if lane is None:
            lane = len(ends) if len(ends) < STACK else min(range(STACK), key=lambda i: ends[i])
        while len(ends) <= lane:
            ends.append(0.0)
        ends[lane] = at + 2 * DOT + 0.5
        found.append(Dot(at, LANE_COOKS - lane * (2 * DOT + 1), kind))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class KeptDrawing:
    """Where in their planned range the cooks of a cut were done."""

    title: str
    note: str
    words: str
    width: float
    height: float
    base: float
    early_x: float
    likely_x: float
    late_x: float
    left: float
    right: float
    dots: tuple[Dot, ...]
    early: str
    late: str
    warned: bool


def kept_drawing(kept: Kept, note: str) -> KeptDrawing:
    """All cooks of a cut on one line, from well before early to well after late."""
    left, right = 12.0, WIDTH - RIGHT

    def x(place: float) -> float:
        bounded = max(-FAR, min(FAR, place))
        return round(left + (right - left) * (bounded + FAR) / (2 * FAR), 1)

    return KeptDrawing(
        title=kept.name,
        note=note,
        words=f"{kept.name}: {kept.before_early.share:.0%} before early, {kept.after_late.share:.0%} after late",
        width=WIDTH,
        height=92.0,
        base=58.0,
        early_x=x(-1),
        likely_x=x(0),
        late_x=x(1),
        left=left,
        right=right,
        dots=tuple(
            Dot(dot.x, dot.y - LANE_COOKS + 48, dot.kind)
            for dot in _stacked([(x(place), "done" if -1 <= place <= 1 else "odd") for place in kept.places])
        ),
        early=f"{kept.before_early.share:.0%} before",
        late=f"{kept.after_late.share:.0%} after",
        warned=bool(kept.warning),
    )


def at_reference(
    cooks: Sequence[Cook], found: LearnedRange, factor: dict[str, float]
) -> list[tuple[float, bool, bool]]:
    """The cooks of a recipe at its reference, for the drawing; `factor` by what is said of the cook."""
    own = [cook for cook in cooks if (cook.cut, cook.recipe) == (found.cut, found.recipe)]
    return [(cook.minutes / factor[cook.said], cook.done, cook in found.odd) for cook in own]
