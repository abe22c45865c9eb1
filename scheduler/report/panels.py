"""Clock windows of the charts: a plan of days is drawn in panels of a day each, cut where the fewest loads are on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from scheduler.model.clock import add_min, elapsed_min
from scheduler.report.desk import Desk
from scheduler.report.words import clock_text, day_text, short_day

LEFT = 118.0
"""Width of the names at the left, in chart units."""
PLOT = 976.0
"""Width of the clock part."""
WIDTH = LEFT + PLOT + 26
PANEL_HOURS = 24
LEAST_HOURS = 8

Span = tuple[datetime, datetime]


@dataclass(frozen=True, slots=True)
class Tick:
    """A whole hour on the clock."""

    x: float
    label: str
    kind: str
    """ "hour", "named" (with a label) or "midnight"."""


@dataclass(frozen=True, slots=True)
class DayMark:
    """Where a day starts on the clock."""

    x: float
    label: str


@dataclass(frozen=True, slots=True)
class Panel:
    """One window of time with its scale."""

    start: datetime
    end: datetime
    title: str
    ticks: tuple[Tick, ...]
    days: tuple[DayMark, ...]

    def x(self, moment: datetime) -> float:
        """Where a moment lies, in chart units; moments outside are put at the edge."""
        share = elapsed_min(self.start, moment) / elapsed_min(self.start, self.end)
        return round(LEFT + PLOT * min(1.0, max(0.0, share)), 1)

    def shows(self, start: datetime, end: datetime) -> bool:
        """True if any of a span lies inside."""
        return start < self.end and end > self.start

    def cut_left(self, start: datetime) -> bool:
        """True if it began before this window."""
        return start < self.start

    def cut_right(self, end: datetime) -> bool:
        """True if it goes on after this window."""
        return end > self.end


def _wall(desk: Desk, moment: datetime, hour: int, days: int = 0) -> datetime:
    """That hour of the moment's local day, or of a day after it."""
    naive = (desk.local(moment).replace(tzinfo=None) + timedelta(days=days)).replace(hour=hour, minute=0, fold=0)
    return naive.replace(tzinfo=desk.zone).astimezone(UTC)


def _floor_hour(desk: Desk, moment: datetime) -> datetime:
    """The last whole hour of the local clock."""
    return add_min(moment.astimezone(UTC), -desk.local(moment).minute)


def cut_hour(desk: Desk, spans: Sequence[Span]) -> int:
    """The hour of the day at which the fewest spans are open; panels start there."""
    counts = dict.fromkeys(range(24), 0)
    for start, end in spans:
        moment = add_min(_floor_hour(desk, start), 60)
        while moment < end:
            counts[desk.local(moment).hour] += 1
            moment = add_min(moment, 60)
    # Of equal hours the one nearest to 5 pm, when service is over and the night's fires are not lit yet.
    return min(counts, key=lambda hour: (counts[hour], abs(hour - 17)))


def _ticks(desk: Desk, start: datetime, end: datetime, every_h: int) -> list[tuple[datetime, str, str]]:
    found = []
    moment = _floor_hour(desk, start)
    if moment < start:
        moment = add_min(moment, 60)
    while moment <= end:
        local = desk.local(moment)
        named = local.hour % every_h == 0
        kind = "midnight" if local.hour == 0 else "named" if named else "hour"
        found.append((moment, clock_text(local, desk.plan.clock) if named else "", kind))
        moment = add_min(moment, 60)
    return found


def panel(desk: Desk, start: datetime, end: datetime) -> Panel:
    """The window from one moment to another, with its ticks."""
    start, end = start.astimezone(UTC), end.astimezone(UTC)
    bare = Panel(start, end, desk.day_span(start, end), (), ())
    hours = elapsed_min(start, end) / 60
    every_h = 1 if hours <= 14 else 2 if hours <= 30 else 6
    raw = _ticks(desk, start, end, every_h)
    ticks = tuple(Tick(bare.x(moment), label, kind) for moment, label, kind in raw)
    days = [DayMark(bare.x(start), day_text(desk.local(start)))]
    nights = [moment for moment, _, kind in raw if kind == "midnight" and start < moment < end]
    days += [DayMark(bare.x(moment), day_text(desk.local(moment))) for moment in nights]
    if len(days) > 1 and days[1].x - days[0].x < 150:
        days[0] = DayMark(days[0].x, short_day(desk.local(start)))
    return Panel(start, end, bare.title, ticks, tuple(days))


def _cropped(windows: list[Span], spans: Sequence[Span]) -> list[Span]:
    """The windows in use, all cropped to the same hours, so that they keep one scale."""
    used = [
        (start, [(max(a, start), min(b, end)) for a, b in spans if a < end and b > start]) for start, end in windows
    ]
    used = [(start, inside) for start, inside in used if inside]
    first = min(elapsed_min(start, a) for start, inside in used for a, _ in inside) // 60 * 60
    last = -(-max(elapsed_min(start, b) for start, inside in used for _, b in inside) // 60) * 60
    last = max(last, first + LEAST_HOURS * 60)
    return [(add_min(start, first), add_min(start, last)) for start, _ in used]


def _windows(desk: Desk, start: datetime, end: datetime, hour: int) -> list[Span]:
    """A day each, from that hour on, as many as cover the time; or the time itself where it fits into a day."""
    if elapsed_min(start, end) <= PANEL_HOURS * 60:
        return [(start, end)]
    edge = _wall(desk, start, hour)
    if edge > start:
        edge = _wall(desk, start, hour, days=-1)
    found: list[Span] = []
    while edge < end:
        found.append((edge, _wall(desk, edge, hour, days=1)))
        edge = found[-1][1]
    return found


def panels(desk: Desk, spans: Sequence[Span], hour: int, beside: Sequence[Span] = ()) -> tuple[Panel, ...]:
    """Windows that cover all spans, starting at an hour of the day, and what of `beside` falls into their days."""
    every = [*spans, *beside]
    start = _floor_hour(desk, min(a for a, _ in every))
    end = add_min(_floor_hour(desk, max(b for _, b in every)), 60)
    windows = [
        (first, last)
        for first, last in _windows(desk, start, end, hour)
        if any(a < last and b > first for a, b in spans)
    ]
    return tuple(panel(desk, a, b) for a, b in _cropped(windows, every))
