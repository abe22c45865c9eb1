"""The calendar: times that exist, in order, inside the weekend; shifts that may be worked."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import pairwise

from scheduler.books.parts import Parts
from scheduler.books.sentences import label, moment_text
from scheduler.errors import Problem
from scheduler.model.base import Frozen
from scheduler.model.crew import WEEKDAYS, Crew
from scheduler.model.weekend import Weekend

CREW = "crew.toml"
WEEKEND = "weekend.toml"
LONGEST_WEEKEND = timedelta(days=7)
"""Waves are named by weekday, and a plan of more than a week is not a weekend's."""


def calendar_problems(parts: Parts) -> Iterator[Problem]:
    """Mistakes of the calendar in weekend.toml and crew.toml."""
    if parts.crew is not None:
        yield from _long_shifts(parts.crew)
        yield from _birth_years(parts.crew, parts.weekend)
    if parts.weekend is None:
        return
    yield from _skipped_times(parts.weekend)
    yield from _days(parts.weekend)
    yield from _length(parts.weekend)
    # A missing day is told already; without it each of its waves would be told as well.
    if len(parts.weekend.days) == len(parts.raw["weekend"]["day"]):
        yield from _waves(parts.weekend)
    yield from _pairs(parts.weekend)
    if parts.crew is not None:
        yield from _skipped_starts(parts.crew, parts.weekend)


def _long_shifts(crew: Crew) -> Iterator[Problem]:
    for pattern in crew.patterns:
        if pattern.length_min > crew.longest_shift_min:
            what = (
                f"a shift of {_hours(pattern.length_min)} is longer than the longest shift of "
                f"{_hours(crew.longest_shift_min)}"
            )
            mend = "shorten it or correct longest_shift_min"
            yield Problem(CREW, f'pattern "{pattern.name}"', "length_min", what, mend)


def _hours(minutes: int) -> str:
    return f"{minutes / 60:g} hours" if minutes % 6 == 0 else f"{minutes} minutes"


def _birth_years(crew: Crew, weekend: Weekend | None) -> Iterator[Problem]:
    for person in crew.people:
        if person.birth_years is None:
            continue
        first, last = person.birth_years
        this_year = weekend.plan_from.year if weekend is not None else last
        if first > last or last > this_year:
            what = f"{first} to {last} is not a first and a last possible year of birth"
            mend = "give [first, last], such as [2009, 2010]"
            yield Problem(CREW, f'person "{person.name}"', "birth_years", what, mend)


def _moments(weekend: Weekend) -> Iterator[tuple[str, str, datetime]]:
    """Every local time in weekend.toml: item, field, time."""
    yield "", "plan_from", weekend.plan_from
    tables: tuple[tuple[str, tuple[Frozen, ...]], ...] = (
        ("day", weekend.days),
        ("wave", weekend.waves),
        ("order", weekend.orders),
        ("away", weekend.away),
        ("out_of_use", weekend.out_of_use),
    )
    for table, entries in tables:
        for entry in entries:
            for field, value in entry:
                if isinstance(value, datetime):
                    yield _item(table, entry), field, value


def _item(table: str, entry: Frozen) -> str:
    return label(table, 0, dict(entry))


def _skipped_times(weekend: Weekend) -> Iterator[Problem]:
    for item, field, moment in _moments(weekend):
        try:
            weekend.local(moment)
        except ValueError as error:
            yield Problem(WEEKEND, item, field, str(error), "choose a time before or after the change")


def _skipped_starts(crew: Crew, weekend: Weekend) -> Iterator[Problem]:
    last = max(day.closes for day in weekend.days)
    count = min((last - weekend.plan_from).days + 1, LONGEST_WEEKEND.days + 1)
    for date in (weekend.plan_from.date() + timedelta(days=n) for n in range(count + 1)):
        for pattern in crew.patterns:
            if WEEKDAYS[date.weekday()] not in pattern.days:
                continue
            try:
                weekend.local(datetime.combine(date, pattern.starts))
            except ValueError as error:
                item, mend = f'pattern "{pattern.name}"', "start it before or after the change"
                yield Problem(CREW, item, "starts", str(error), mend)


def _days(weekend: Weekend) -> Iterator[Problem]:
    days = sorted(weekend.days, key=lambda day: day.opens)
    for day in days:
        if day.opens < weekend.plan_from:
            what = f"it opens before plan_from, {moment_text(weekend.plan_from)}"
            yield Problem(WEEKEND, _item("day", day), "opens", what, "correct the day or plan from an earlier time")
    for first, second in pairwise(days):
        if second.opens < first.closes:
            what = f"it opens before the day of {moment_text(first.opens)} closes"
            yield Problem(WEEKEND, _item("day", second), "opens", what, "correct one of the two days")


def _length(weekend: Weekend) -> Iterator[Problem]:
    last = max(day.closes for day in weekend.days)
    if last - weekend.plan_from > LONGEST_WEEKEND:
        what = f"it is more than {LONGEST_WEEKEND.days} days before the last closing, {moment_text(last)}"
        yield Problem(WEEKEND, "", "plan_from", what, "correct one of the two dates")


def _waves(weekend: Weekend) -> Iterator[Problem]:
    for wave in weekend.waves:
        item = _item("wave", wave)
        yield from _outside_service(weekend, item, wave.at)
        day = weekend.day_of(wave.at)
        if wave.until is None:
            continue
        if wave.until <= wave.at:
            yield Problem(WEEKEND, item, "until", "it ends before it starts", "give a later until")
        elif day is not None and wave.until > day.closes:
            what = f"serving ends at {moment_text(wave.until)}, after closing at {moment_text(day.closes)}"
            yield Problem(WEEKEND, item, "until", what, "end it at closing or before")
    for order in weekend.orders:
        yield from _outside_service(weekend, _item("order", order), order.at)
    seen = set()
    for wave in weekend.waves:
        if (wave.cut, wave.at) in seen:
            what = "the same cut has another wave at the same time"
            yield Problem(WEEKEND, _item("wave", wave), "at", what, "put the pieces of both into one")
        seen.add((wave.cut, wave.at))


def _outside_service(weekend: Weekend, item: str, at: datetime) -> Iterator[Problem]:
    if at <= weekend.plan_from:
        what = f"it is not after plan_from, {moment_text(weekend.plan_from)}"
        yield Problem(WEEKEND, item, "at", what, "choose a later time or plan from an earlier one")
        return
    on_date = [day for day in weekend.days if at.date() in (day.opens.date(), day.closes.date())]
    if not on_date:
        yield Problem(WEEKEND, item, "at", "no service day is on that date", "correct the date or add a [[day]]")
    elif all(at >= day.closes for day in on_date):
        closes = max(day.closes for day in on_date)
        what = f"it is not before closing at {moment_text(closes)}"
        yield Problem(WEEKEND, item, "at", what, "choose a time before closing")


def _pairs(weekend: Weekend) -> Iterator[Problem]:
    for away in weekend.away:
        if _passed(weekend, away.until_at) <= _passed(weekend, away.from_at):
            mend = "give a later until_at"
            yield Problem(WEEKEND, _item("away", away), "until_at", "it is not after from_at", mend)
    for broken in weekend.out_of_use:
        if broken.from_at is None or broken.until_at is None:
            continue
        if _passed(weekend, broken.until_at) <= _passed(weekend, broken.from_at):
            mend = "give a later until_at"
            yield Problem(WEEKEND, _item("out_of_use", broken), "until_at", "it is not after from_at", mend)


def _passed(weekend: Weekend, at: datetime) -> float:
    """Seconds to a time as `Weekend.wall` has it; one that the clock skips is told elsewhere."""
    return at.replace(tzinfo=at.tzinfo or weekend.zone).timestamp()
