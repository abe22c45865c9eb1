"""The weekend that was, in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from scheduler.learn.hindsight import Hindsight
from scheduler.learn.review import LoadReview, Review, ShiftReview, SoldReview, WaveReview
from scheduler.model.clock import elapsed_min
from scheduler.model.weekend import minutes_text
from scheduler.report.desk import Desk
from scheduler.report.words import count_text, cut_text, day_text, pieces_text, shift_title_text, wave_text

KIND_WORDS = {
    "light": "lighting fires",
    "tend": "tending fires",
    "clean": "cleaning out",
    "load": "loading",
    "wrap": "wrapping",
    "pull": "probing and pulling",
    "move": "moving",
    "slice": "slicing",
    "counter": "counter",
}
NOTHING = "—"


@dataclass(frozen=True, slots=True)
class LoadRow:
    """One load."""

    code: str
    what: str
    planned: str
    real: str
    verdict: str
    off: bool


@dataclass(frozen=True, slots=True)
class WaveRow:
    """One wave."""

    what: str
    due: str
    asked: str
    made: str
    ready: str
    off: bool


@dataclass(frozen=True, slots=True)
class ShiftRow:
    """One shift."""

    who: str
    shift: str
    hours: str
    busy: str
    real: str
    off: bool


@dataclass(frozen=True, slots=True)
class MinutesRow:
    """Minutes of a kind of task, with the length of its bar in hundredths."""

    what: str
    minutes: str
    bar: float
    logged: str


@dataclass(frozen=True, slots=True)
class SoldRow:
    """One cut on one day."""

    what: str
    day: str
    made: str
    sold: str
    gone: str
    short: str
    left: str
    thrown: str


def dollars(cents: int) -> str:
    """Whole dollars: "$1,234"; a dash for nothing."""
    return f"{'-' if cents < 0 else ''}${abs(round(cents / 100)):,}" if cents else NOTHING


def load_row(desk: Desk, row: LoadReview) -> LoadRow:
    """Planned and real times of a load."""
    load = row.load
    planned = (
        f"on {desk.moment(load.load_at)}; done {desk.near_span(load.early_done_at, load.late_done_at, load.load_at)}"
    )
    seen = (("on", row.loaded_at), ("wrapped", row.wrapped_at), ("done", row.done_at))
    told = [f"{word} {_near(desk, at, load.load_at)}" for word, at in seen if at is not None]
    return LoadRow(
        load.code,
        pieces_text(load.pieces, load.cut),
        planned,
        "; ".join(told) or "nothing written down",
        _verdict(row),
        bool(row.late_min) or bool(row.thrown),
    )


def _near(desk: Desk, at: datetime, to: datetime) -> str:
    return desk.near(at, to)


def _verdict(row: LoadReview) -> str:
    parts = []
    if row.late_min > 0:
        parts.append(f"{minutes_text(row.late_min)} after late")
    elif row.late_min < 0:
        parts.append(f"{minutes_text(-row.late_min)} before early")
    elif row.done_at is not None:
        parts.append("in its range")
    if row.thrown:
        parts.append(f"{row.thrown} thrown away")
    return ", ".join(parts) or NOTHING


def wave_row(desk: Desk, row: WaveReview) -> WaveRow:
    """A wave."""
    late = 0 if row.ready_at is None else elapsed_min(row.ready_by_at, row.ready_at)
    ready = NOTHING if row.ready_at is None else desk.near(row.ready_at, row.ready_by_at)
    if late > 0:
        ready += f", {minutes_text(late)} late"
    kept = row.planned - row.thrown
    return WaveRow(
        what=cut_text(row.cut, 2),
        due=wave_text(row.wave, desk.plan.clock),
        asked=str(row.asked),
        made=str(kept),
        ready=ready,
        off=late > 0 or kept < row.asked,
    )


def shift_row(desk: Desk, row: ShiftReview) -> ShiftRow:
    """A shift."""
    told = []
    if row.came_at is not None:
        told.append(f"came {desk.near(row.came_at, row.starts_at)}")
    if row.left_at is not None:
        told.append(f"gone from {desk.near(row.left_at, row.starts_at)}")
    length = max(1, elapsed_min(row.starts_at, row.ends_at))
    return ShiftRow(
        who=row.person,
        shift=shift_title_text(desk.local(row.starts_at), row.pattern),
        hours=desk.day_span(row.starts_at, row.ends_at),
        busy=f"{row.planned_min / length:.0%}",
        real=", ".join(told) or "as planned",
        off=bool(told),
    )


def minutes_rows(review: Review) -> tuple[MinutesRow, ...]:
    """Where the minutes went, the most first."""
    most = max((row.planned for row in review.minutes), default=1) or 1
    return tuple(
        MinutesRow(
            what=KIND_WORDS[row.kind],
            minutes=minutes_text(row.planned),
            bar=round(100 * row.planned / most, 1),
            logged=f"{row.logged / row.logged_planned:.2f} times plan" if row.logged_planned else NOTHING,
        )
        for row in review.minutes
    )


def sold_row(desk: Desk, row: SoldReview) -> SoldRow:
    """Sold, short, left and thrown away."""
    return SoldRow(
        what=cut_text(row.cut, 2),
        day=day_text(row.day),
        made=f"{row.made:,.0f}",
        sold="not written down" if row.sold is None else f"{row.sold:,.0f} ({dollars(row.sold_cents)})",
        gone=NOTHING if row.ran_out_at is None else desk.clock(row.ran_out_at),
        short=f"{row.short_pieces} ({dollars(row.short_cents)})" if row.short_pieces else NOTHING,
        left=f"{row.left:,.0f} ({dollars(row.left_cents)})" if row.left else NOTHING,
        thrown=f"{row.thrown_pieces} ({dollars(row.thrown_cents)})" if row.thrown_pieces else NOTHING,
    )


def change_lines(found: Hindsight | None) -> Iterator[str]:
    """What would have paid."""
    if found is None:
        return
    for change in found.changes:
        yield f"{change.what[0].upper()}{change.what[1:]}: {dollars(change.cents)} more earned."
    if not found.tried:
        yield "The log says nothing that would have changed the plan: write down sales, done times and failures."
    elif not found.changes:
        yield f"Of {count_text(found.tried, 'thing')} that could have been known, none would have paid $5 or more."


def price_line(found: Hindsight | None) -> str:
    """The price of not knowing, empty where there was nothing to know."""
    if found is None or found.all_known_cents is None:
        return ""
    if not found.all_known_cents:
        return "With all of it known beforehand no better plan was found in this time; a longer search may find one."
    return f"The price of not knowing: with all of it known beforehand, {dollars(found.all_known_cents)} more."
