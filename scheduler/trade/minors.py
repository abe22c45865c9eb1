"""What people under 18 may not do in a barbecue kitchen, and the hours that 14- and 15-year-olds may work.

These are the federal rules of the United States. A state or a town may be stricter, and then its rule
holds; this module is a check, not legal advice. Sources: 29 CFR 570.33, 570.34, 570.35 and 570.61, read
through the U.S. Department of Labor's restaurant self-assessment and Fact Sheet 58. Points marked "from
memory" were not seen in the text itself.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Literal, get_args

Kind = Literal["light", "tend", "load", "wrap", "pull", "move", "slice", "clean", "counter"]
KINDS: tuple[Kind, ...] = get_args(Kind)

ADULT_AGE = 18
HOURS_FREE_AGE = 16
"""From this age on, federal law does not limit hours in work that is not hazardous."""
LEAST_AGE = 14
"""Least age for kitchen work outside a parent's own business (29 CFR 570.2; from memory)."""

STATE_LAW = "State and local law may be stricter; ask the labor department before you plan it"

_POWER_SLICER = (
    "nobody under 18 may set up, run, clean or repair a power meat slicer, grinder, saw or patty former, "
    "nor wash its parts by hand (29 CFR 570.61)"
)
_FIRE = (
    "14- and 15-year-olds may cook only on electric or gas grills without open flame and in fryers that "
    "lift their own baskets, so they may not light, tend or clean out a wood fire (29 CFR 570.33, 570.34)"
)
_PIT = (
    "14- and 15-year-olds may cook only on electric or gas grills without open flame and in fryers that "
    "lift their own baskets, so they may not load, wrap, move or pull meat at a wood-fired pit "
    "(29 CFR 570.33, 570.34)"
)
_TOO_YOUNG = "nobody under 14 may work in a restaurant kitchen (29 CFR 570.2; from memory)"

_FIRE_KINDS: frozenset[Kind] = frozenset({"light", "tend", "clean"})
_PIT_KINDS: frozenset[Kind] = frozenset({"load", "wrap", "pull", "move"})


def youngest_age(birth_years: tuple[int, int], on: date) -> int:
    """Youngest possible age in whole years on a date, of somebody born in the years first..last.

    The latest possible birthday, December 31 of the last year, is taken, so a doubt is never settled in
    favor of more dangerous work. ValueError if the years are out of order or in the future.
    """
    first, last = birth_years
    if first > last or last > on.year:
        raise ValueError(f"birth years {first} to {last} are out of order or after {on.year}")
    had_birthday = (on.month, on.day) == (12, 31)
    return max(0, on.year - last - (0 if had_birthday else 1))


def forbidden_task(age: int, kind: Kind, power_slicer: bool = False) -> str | None:
    """Why a person of this age may not be given this kind of task, or None if federal law allows it.

    `power_slicer` says whether slicing is done by a power-driven slicer; `clean` means cleaning out a
    firebox.
    """
    if kind not in KINDS:
        raise ValueError(f"unknown kind of task {kind!r}")
    reason: str | None = None
    if age >= ADULT_AGE:
        return None
    if age < LEAST_AGE:
        reason = _TOO_YOUNG
    elif kind == "slice" and power_slicer:
        reason = _POWER_SLICER
    elif age < HOURS_FREE_AGE and kind in _FIRE_KINDS:
        reason = _FIRE
    elif age < HOURS_FREE_AGE and kind in _PIT_KINDS:
        reason = _PIT
    return None if reason is None else f"{reason}. {STATE_LAW}"


@dataclass(frozen=True, slots=True)
class HourLimits:
    """Hours that one person may work on one day, by the wall clock of the kitchen."""

    earliest: time
    latest: time
    day_max_min: int
    week_max_min: int
    school_hours: tuple[time, time] | None
    """No work between these, when school is in session that day."""


def labor_day(year: int) -> date:
    """First Monday of September."""
    first = date(year, 9, 1)
    return first + timedelta(days=(7 - first.weekday()) % 7)


def hour_limits(
    age: int,
    on: date,
    school_in_session: bool = True,
    school_hours: tuple[time, time] = (time(8), time(15)),
) -> HourLimits | None:
    """Federal hour limits on that date (29 CFR 570.35), or None from 16 years on.

    `school_in_session` is about the week; its days from Monday to Friday then count as school days
    (Fridays too). The default is the careful one. `school_hours` is a guess without source: set it to
    those of the local school district.
    """
    if age >= HOURS_FREE_AGE:
        return None
    summer = date(on.year, 6, 1) <= on <= labor_day(on.year)
    school_day = school_in_session and on.weekday() < 5
    return HourLimits(
        earliest=time(7),
        latest=time(21) if summer else time(19),
        day_max_min=3 * 60 if school_day else 8 * 60,
        week_max_min=18 * 60 if school_in_session else 40 * 60,
        school_hours=school_hours if school_day else None,
    )


@dataclass(frozen=True, slots=True)
class _Part:
    """The part of a shift that falls on one calendar day."""

    start: datetime
    end: datetime

    @property
    def on(self) -> date:
        return self.start.date()

    @property
    def length_min(self) -> int:
        return _elapsed_min(self.start, self.end)


def _elapsed_min(start: datetime, end: datetime) -> int:
    # Subtracting two aware times of one zone ignores a daylight-saving change between them, so go through
    # UTC.
    if start.tzinfo is not None and end.tzinfo is not None:
        start, end = start.astimezone(UTC), end.astimezone(UTC)
    return round((end - start).total_seconds() / 60)


def _parts(start: datetime, end: datetime) -> Iterable[_Part]:
    while start.date() < end.date():
        midnight = datetime.combine(start.date() + timedelta(days=1), time(0), tzinfo=start.tzinfo)
        yield _Part(start, midnight)
        start = midnight
    if _elapsed_min(start, end) > 0:
        yield _Part(start, end)


def _clock_breaches(part: _Part, limits: HourLimits) -> Iterable[str]:
    day = part.on.isoformat()
    start = part.start.time()
    end = part.end.time() if part.end.date() == part.on else time.max
    if start < limits.earliest or end > limits.latest:
        yield (
            f"on {day}: 14- and 15-year-olds may work only from {limits.earliest:%H:%M} to {limits.latest:%H:%M} (29 "
            "CFR 570.35)"
        )
    if limits.school_hours and start < limits.school_hours[1] and end > limits.school_hours[0]:
        yield f"on {day}: 14- and 15-year-olds may not work in school hours (29 CFR 570.35)"


def hour_breaches(
    birth_years: tuple[int, int],
    shifts: Iterable[tuple[datetime, datetime]],
    school_in_session: bool = True,
) -> list[str]:
    """Sentences on what a person's shifts break of 29 CFR 570.35; empty from 16 years on or if all is well.

    Shifts are (start, end) in the kitchen's own time zone, or all without a zone. Weeks run from Monday to
    Sunday. ValueError if a shift ends before it starts.
    """
    found: list[str] = []
    by_day: dict[date, int] = {}
    by_week: dict[date, tuple[int, int]] = {}
    for start, end in sorted(shifts):
        if _elapsed_min(start, end) < 0:
            raise ValueError(f"a shift ends before it starts: {start} to {end}")
        for part in _parts(start, end):
            limits = hour_limits(youngest_age(birth_years, part.on), part.on, school_in_session)
            if limits is None:
                continue
            found.extend(_clock_breaches(part, limits))
            by_day[part.on] = by_day.get(part.on, 0) + part.length_min
            monday = part.on - timedelta(days=part.on.weekday())
            by_week[monday] = (by_week.get(monday, (0, 0))[0] + part.length_min, limits.week_max_min)
            if by_day[part.on] > limits.day_max_min >= by_day[part.on] - part.length_min:
                found.append(
                    f"on {part.on.isoformat()}: more than {limits.day_max_min // 60} hours of work for "
                    f"somebody under 16 (29 CFR 570.35)"
                )
    found.extend(
        f"week of {monday.isoformat()}: more than {most // 60} hours of work for somebody under 16 (29 CFR 570.35)"
        for monday, (worked, most) in sorted(by_week.items())
        if worked > most
    )
    return [f"{sentence}. {STATE_LAW}" for sentence in found]
