"""Drawings of the forecast: what is sold by when beside what is ready, the line of people, when each cut is gone."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from math import ceil

import numpy as np

from scheduler.forecast.answers import BAND, shelf
from scheduler.forecast.service import Amounts
from scheduler.forecast.weekend import DayForecast
from scheduler.report.words import ClockStyle, clock_text

WIDTH, HEIGHT = 360.0, 226.0
LEFT, RIGHT, TOP, BOTTOM = 34.0, 8.0, 22.0, 24.0
ROOM = 1.08
"""The highest value keeps so much room above it."""
SHADES = 5
NOTHING, SURE = 0.005, 0.995


@dataclass(frozen=True, slots=True)
class Mark:
    """A line across the drawing with its label."""

    at: float
    label: str


@dataclass(frozen=True, slots=True)
class Fan:
    """One curve of odds over the clock."""

    title: str
    note: str
    width: float
    height: float
    left: float
    right: float
    top: float
    base: float
    hours: tuple[Mark, ...]
    levels: tuple[Mark, ...]
    band: str
    """Points of the area that holds eight days in ten."""
    middle: str
    """Points of the middling day."""
    ready: str
    """Points of what is ready; empty where there is no such thing."""
    ready_label: Mark | None
    by: Mark | None
    words: str


@dataclass(frozen=True, slots=True)
class ClockCell:
    """Odds that a cut is gone by an hour."""

    text: str
    shade: int


@dataclass(frozen=True, slots=True)
class ClockRow:
    """A cut with its odds by the hour."""

    what: str
    cells: tuple[ClockCell, ...]


@dataclass(frozen=True, slots=True)
class SellOutClock:
    """When each cut is gone, in days out of a hundred."""

    heads: tuple[str, ...]
    rows: tuple[ClockRow, ...]


def hours_of(opens: datetime, closes: datetime) -> list[datetime]:
    """Whole hours after opening up to closing, and closing itself."""
    first = opens.replace(minute=0, second=0, microsecond=0) + timedelta(hours=1)
    found = [first + timedelta(hours=n) for n in range(ceil((closes - first) / timedelta(hours=1)))]
    return [at for at in found if at < closes] + [closes]


def fans(day: DayForecast, clock: ClockStyle) -> tuple[Fan, ...]:
    """A drawing for each cut that is wanted or made."""
    total, _ = shelf(day.forecast)
    made = day.forecast.setup.made
    found = []
    for i, cut in enumerate(day.answer.cuts):
        ready = made[i].mean(axis=0)
        note = f"{round(cut.made.mean):,} made"
        words = f"{cut.cut}: {round(cut.sold.low):,} to {round(cut.sold.high):,} portions sold by closing"
        found.append(_fan(day, clock, cut.cut, note, total[i], ready, words))
    return tuple(found)


def line_fan(day: DayForecast, clock: ClockStyle) -> Fan:
    """People in line through the day."""
    waiting = day.forecast.played.waiting
    most = day.answer.most_waiting
    words = f"People in line; at most {round(most.low):,} to {round(most.high):,}"
    return _fan(day, clock, "People in line", "", waiting, None, words)


def _fan(
    day: DayForecast,
    clock: ClockStyle,
    title: str,
    note: str,
    draws: Amounts,
    ready: Amounts | None,
    words: str,
) -> Fan:
    steps = max(1, day.forecast.closing)
    low, middle, high = np.percentile(draws[:, :steps], BAND, axis=0)
    top, base, right = TOP, HEIGHT - BOTTOM, WIDTH - RIGHT
    highest = max(1.0, float(high.max()), float(ready[:steps].max()) if ready is not None else 0.0) * ROOM
    span = (day.forecast.day.closes - day.forecast.day.opens) / timedelta(minutes=1)

    def x(at: datetime) -> float:
        share = (at - day.forecast.day.opens) / timedelta(minutes=1) / span
        return round(LEFT + (right - LEFT) * min(1.0, max(0.0, share)), 1)

    def y(value: float) -> float:
        return round(base - (base - top) * value / highest, 1)

    xs = [x(day.forecast.time_of(step)) for step in range(steps + 1)]

    def points(values: Amounts, start: float) -> list[tuple[float, float]]:
        return list(zip(xs, [y(float(v)) for v in (start, *values[:steps])], strict=False))

    first = 0.0 if ready is not None else float(middle[0])
    band = points(high, first) + points(low, first)[::-1]
    stairs = _stairs(points(ready, _at_opening(day, ready)) if ready is not None else [])
    return Fan(
        title=title,
        note=note,
        width=WIDTH,
        height=HEIGHT,
        left=LEFT,
        right=right,
        top=top,
        base=base,
        hours=tuple(Mark(x(at), _hour(at, clock)) for at in _spaced(day)),
        levels=tuple(Mark(y(value), f"{value:,.0f}") for value in _levels(highest)),
        band=_text(band),
        middle=_text(points(middle, first)),
        ready=_text(stairs),
        ready_label=Mark(stairs[-1][1], "ready") if stairs else None,
        by=Mark(x(day.answer.by), clock_text(day.answer.by, clock)),
        words=words,
    )


def _at_opening(day: DayForecast, ready: Amounts) -> float:
    """What is ready at the very opening: the lots whose likely time is not after it."""
    mean = sum(lot.portions for lot in day.forecast.supply.lots if lot.likely_min <= 0 and lot.cut in day.forecast.cuts)
    return min(float(ready[0]), float(mean))


def _stairs(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Meat becomes ready in steps, not along a slope."""
    found = points[:1]
    for (_, before), (x, after) in pairwise(points):
        if before != after:
            found += [(x, before), (x, after)]
    return found + points[-1:]


def _spaced(day: DayForecast) -> list[datetime]:
    hours = [at for at in hours_of(day.forecast.day.opens, day.forecast.day.closes) if not at.minute]
    every = max(1, ceil(len(hours) / (WIDTH / 52)))
    return hours[::every]


def _hour(at: datetime, clock: ClockStyle) -> str:
    return clock_text(at, clock).removesuffix(" am").removesuffix(" pm")


def _levels(highest: float) -> list[float]:
    """Two to five round values."""
    unit = 10 ** np.floor(np.log10(highest))
    for share in (0.2, 0.25, 0.5, 1.0):
        if highest / (unit * share) <= 5 and (unit * share >= 1 or share == 1.0):
            return [float(n * unit * share) for n in range(1, int(highest / (unit * share)) + 1)]
    return [float(n * unit * 2) for n in range(1, int(highest / (unit * 2)) + 1)]


def _text(points: list[tuple[float, float]]) -> str:
    return " ".join(f"{x:g},{y:g}" for x, y in points)


def sell_out_clock(day: DayForecast, clock: ClockStyle) -> SellOutClock:
    """Odds that each cut is gone, by the hour."""
    _, out = shelf(day.forecast)
    hours = hours_of(day.forecast.day.opens, day.forecast.day.closes)
    rows = []
    for i, cut in enumerate(day.answer.cuts):
        if not cut.made.mean:
            continue
        shares = [float(out[i, :, max(0, day.forecast.step_at(at) - 1)].mean()) for at in hours]
        rows.append(ClockRow(cut.cut, tuple(ClockCell(_share(s), min(SHADES - 1, int(s * SHADES))) for s in shares)))
    return SellOutClock(tuple(clock_text(at, clock) for at in hours), tuple(rows))


def _share(share: float) -> str:
    if share < NOTHING:
        return "0" if share == 0 else "<1"
    return "100" if share == 1 else (">99" if share > SURE else f"{share * 100:.0f}")
