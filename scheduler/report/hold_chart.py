"""The hold chart: how full each rest shelf and holding cabinet is, and with which loads."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from scheduler.model.base import hundredths
from scheduler.model.plan import Load
from scheduler.report.desk import Desk
from scheduler.report.panels import LEFT, PLOT, WIDTH, Panel, cut_hour, panel, panels
from scheduler.report.shapes import CHAR, Piece, lanes
from scheduler.report.words import kind_of_place, number_text

AXIS = 44.0
AREA = 64.0
AREA_GAP = 10.0
LANE = 21.0
BAR = 16.0

Use = Literal["rest", "hold"]


@dataclass(frozen=True, slots=True)
class Taken:
    """A load's time at a place."""

    load: Load
    start: datetime
    sure: datetime
    """From here on all its pieces are there; before it some may still cook."""
    end: datetime
    spaces: int
    """Hundredths of a space."""


@dataclass(frozen=True, slots=True)
class HoldBar:
    """A load's time at a place, as a bar."""

    code: str
    y: float
    height: float
    pieces: tuple[Piece, ...]
    text: str
    text_x: float
    title: str


@dataclass(frozen=True, slots=True)
class HoldDrawing:
    """One panel of one place."""

    title: str
    panel: Panel
    width: float
    height: float
    plot_bottom: float
    left: float
    right: float
    area: str
    """The points of the occupied area."""
    base_y: float
    capacity_y: float
    capacity: str
    peak: str
    bars: tuple[HoldBar, ...]


@dataclass(frozen=True, slots=True)
class HoldPlace:
    """All panels of one place."""

    title: str
    note: str
    drawings: tuple[HoldDrawing, ...]
    whole: HoldDrawing
    """The area of all days in one panel, for paper; where a load goes stands on its label."""


@dataclass(frozen=True, slots=True)
class HoldSheet:
    """Context of the hold sheet."""

    anchor: str
    title: str
    places: tuple[HoldPlace, ...]


def taken(desk: Desk, place: str, use: Use) -> tuple[Taken, ...]:
    """The loads at a rest shelf or holding cabinet, by start."""
    found = []
    for load in desk.plan.loads:
        cut = desk.cut(load)
        rested = desk.rested_at(load)
        if use == "rest" and load.rest_place == place:
            spaces = load.pieces * hundredths(cut.rest_spaces)
            found.append(Taken(load, load.early_done_at, load.late_done_at, rested, spaces))
        if use == "hold" and load.hold_place == place:
            spaces = load.pieces * hundredths(cut.hold_spaces)
            found.append(Taken(load, load.hold_from_at, rested, load.served_until_at, spaces))
    return tuple(sorted(found, key=lambda t: (t.start, t.load.code)))


def levels(found: tuple[Taken, ...]) -> list[tuple[datetime, int]]:
    """Hundredths of a space taken from each moment of change on."""
    changes: dict[datetime, int] = {}
    for stay in found:
        changes[stay.start] = changes.get(stay.start, 0) + stay.spaces
        changes[stay.end] = changes.get(stay.end, 0) - stay.spaces
    level, steps = 0, []
    for moment in sorted(changes):
        level += changes[moment]
        steps.append((moment, level))
    return steps


def _level_before(steps: list[tuple[datetime, int]], moment: datetime) -> int:
    return next((level for when, level in reversed(steps) if when <= moment), 0)


def _area(steps: list[tuple[datetime, int]], view: Panel, scale: float, base: float) -> tuple[str, int]:
    """Points of the step line closed along the base, and the peak inside the window."""
    level = _level_before(steps, view.start)
    points = [(LEFT, base), (LEFT, base - level * scale)]
    peak = level
    for moment, after in steps:
        if view.start < moment < view.end:
            points += [(view.x(moment), base - level * scale), (view.x(moment), base - after * scale)]
            level = after
            peak = max(peak, level)
    points += [(LEFT + PLOT, base - level * scale), (LEFT + PLOT, base)]
    return " ".join(f"{x:g},{y:.1f}" for x, y in points), peak


def _bars(desk: Desk, found: tuple[Taken, ...], view: Panel, top: float) -> list[HoldBar]:
    shown = [stay for stay in found if view.shows(stay.start, stay.end)]
    bars, extents = [], []
    for stay in shown:
        spans = ((stay.start, stay.sure, "maybe"), (stay.sure, stay.end, "finish"))
        parts = [(view.x(a), view.x(b), kind) for a, b, kind in spans if a < b and view.shows(a, b)]
        pieces = tuple(Piece(a, round(b - a, 1), kind) for a, b, kind in parts)
        text = f"{stay.load.code} ×{stay.load.pieces}"
        left, right = view.x(stay.start), view.x(stay.end)
        width = len(text) * CHAR
        text_x = left + 4 if left + 4 + width <= right or right + 4 + width > WIDTH else right + 4
        title = f"{stay.load.code}: {desk.pieces(stay.load)}, {desk.day_span(stay.start, stay.end)}"
        bars.append((stay.load.code, pieces, text, text_x, title))
        extents.append((left, max(right, text_x + width) + 2))
    return [
        HoldBar(code, top + LANE * lane, BAR, pieces, text, text_x, title)
        for (code, pieces, text, text_x, title), lane in zip(bars, lanes(extents), strict=True)
    ]


def _drawing(
    desk: Desk, found: tuple[Taken, ...], capacity: int, view: Panel, *, with_bars: bool = True
) -> HoldDrawing:
    steps = levels(found)
    top = max([capacity, *(level for _, level in steps)]) or 1
    base = AXIS + AREA_GAP + AREA
    scale = AREA / top
    area, peak = _area(steps, view, scale, base)
    bars = _bars(desk, found, view, base + 8) if with_bars else []
    bottom = max((bar.y + LANE for bar in bars), default=base + 4)
    full = f"fullest {number_text(peak / 100)} of {number_text(capacity / 100)} spaces"
    return HoldDrawing(
        title=view.title,
        panel=view,
        width=WIDTH,
        height=bottom + 6,
        plot_bottom=bottom,
        left=LEFT,
        right=LEFT + PLOT,
        area=area,
        base_y=base,
        capacity_y=round(base - capacity * scale, 1),
        capacity=f"{number_text(capacity / 100)} spaces",
        peak=full,
        bars=tuple(bars),
    )


def _place(desk: Desk, title: str, note: str, found: tuple[Taken, ...], spaces: float, hour: int) -> HoldPlace | None:
    if not found:
        return None
    views = panels(desk, [(t.start, t.end) for t in found], hour)
    drawings = tuple(_drawing(desk, found, hundredths(spaces), view) for view in views)
    all_days = panel(desk, views[0].start, views[-1].end)
    whole = _drawing(desk, found, hundredths(spaces), all_days, with_bars=False)
    return HoldPlace(title, note, drawings, whole)


def hold_sheet(desk: Desk) -> HoldSheet | None:
    """The sheet of all rest shelves and holding cabinets in use; None if the plan uses none."""
    site = desk.scenario.site
    stays = [(x.early_done_at, x.served_until_at) for x in desk.plan.loads if x.rest_place or x.hold_place]
    hour = cut_hour(desk, stays)
    places = []
    for shelf in site.rest_shelves:
        name = kind_of_place(shelf.name, "shelf")
        places.append(_place(desk, name, "ambient rest", taken(desk, shelf.name, "rest"), shelf.spaces, hour))
    for cabinet in site.hold_cabinets:
        name, note = kind_of_place(cabinet.name, "cabinet"), f"hot hold at {cabinet.hold_f} °F"
        places.append(_place(desk, name, note, taken(desk, cabinet.name, "hold"), cabinet.spaces, hour))
    used = tuple(place for place in places if place is not None)
    return HoldSheet("hold", "Rest and hold", used) if used else None
