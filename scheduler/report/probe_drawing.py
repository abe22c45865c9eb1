"""The small picture of a load's expected centre: three paces, the wrap and its window, the pull."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.trade.load_curve import Course, LoadCurve

WIDTH, HEIGHT = 360.0, 80.0
LEFT = 60.0
"""Width of the row names of the table under the picture, so that its columns stand under their times."""
TOP, BASE = 22.0, 74.0
COLDEST_F = 30.0
GRID_F = (100, 150, 200)
CLEAR_F = 22
"""A grid line nearer than this to the pull line has no name of its own."""
POINTS = 48
MARK = 4.0
"""Half the width of the mark at the end of a course."""


@dataclass(frozen=True, slots=True)
class Scale:
    """The rounds along the foot, and the temperature at the top."""

    first_min: int
    every_min: int
    rounds: int
    done_f: int

    def x(self, minute: float) -> float:
        """Where a minute from loading lies; each round in the middle of its column."""
        column = (WIDTH - LEFT) / self.rounds
        return round(LEFT + column * (0.5 + (minute - self.first_min) / self.every_min), 1)

    def y(self, temp_f: float) -> float:
        """Where a temperature lies."""
        return round(BASE - (BASE - TOP) * (temp_f - COLDEST_F) / (self.done_f - COLDEST_F), 1)


@dataclass(frozen=True, slots=True)
class GridLine:
    """A temperature across the picture."""

    y: float
    label: str


@dataclass(frozen=True, slots=True)
class PaceLine:
    """The course of the centre at one pace, with its name over its end."""

    kind: str
    points: str
    end_x: float
    name: str
    name_x: float
    anchor: str


@dataclass(frozen=True, slots=True)
class WrapMark:
    """Where it is wrapped, and the window on the foot."""

    x: float
    y: float
    from_x: float
    width: float


@dataclass(frozen=True, slots=True)
class ProbeDrawing:
    """The picture, ready to draw."""

    width: float
    height: float
    left: float
    top: float
    base: float
    grid: tuple[GridLine, ...]
    ticks: tuple[float, ...]
    paces: tuple[PaceLine, ...]
    wrap: WrapMark | None
    label: str


def _points(course: Course, scale: Scale) -> str:
    minutes = np.linspace(0.0, course.done_min, POINTS)
    return " ".join(f"{scale.x(minute):g},{scale.y(course.at(minute)):g}" for minute in minutes)


def _pace(name: str, course: Course, scale: Scale) -> PaceLine:
    x = min(scale.x(course.done_min), WIDTH - MARK)
    anchor = {"early": "end", "likely": "middle", "late": "start"}[name]
    shift = {"end": 4.0, "middle": 0.0, "start": -4.0}[anchor]
    if x + shift + 26 > WIDTH and anchor == "start":
        return PaceLine(name, _points(course, scale), x, name, WIDTH, "end")
    return PaceLine(name, _points(course, scale), x, name, x + shift, anchor)


def probe_drawing(
    curve: LoadCurve, scale: Scale, wrap_min: int | None, window_min: tuple[int, ...] | None
) -> ProbeDrawing:
    """The picture of one load; minutes count from loading."""
    wrap = None
    if wrap_min is not None:
        first, last = window_min or (wrap_min, wrap_min)
        x = scale.x(first)
        wrap = WrapMark(scale.x(wrap_min), scale.y(curve.likely.at(wrap_min)), x, round(max(2.0, scale.x(last) - x), 1))
    grid = [GridLine(scale.y(f), f"{f}" if scale.done_f - f >= CLEAR_F else "") for f in GRID_F if f < scale.done_f]
    paces = (("late", curve.late), ("early", curve.early), ("likely", curve.likely))
    return ProbeDrawing(
        width=WIDTH,
        height=HEIGHT,
        left=scale.x(0),
        top=TOP,
        base=BASE,
        grid=tuple(grid),
        ticks=tuple(scale.x(scale.first_min + i * scale.every_min) for i in range(scale.rounds)),
        paces=tuple(_pace(name, course, scale) for name, course in paces),
        wrap=wrap,
        label=f"Centre from loading to {scale.done_f} °F, early, likely and late",
    )
