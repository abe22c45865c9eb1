"""Times as people type them at night."""

from __future__ import annotations

import re
from datetime import datetime, timedelta

from scheduler.errors import InputError, Problem
from scheduler.model.clock import check_year
from scheduler.model.crew import WEEKDAYS
from scheduler.model.weekend import Weekend

_SPOKEN = re.compile(r"^([a-z]{3})[a-z]* (\d{1,2})(?::(\d\d))? ?(am|pm)?$")


def moment_of(text: str, weekend: Weekend) -> datetime:
    """A time of the weekend: "sat 3:00", "sat 3 am" or ISO 8601, local without offset. InputError if it is neither."""
    spoken = _SPOKEN.match(text.strip().lower())
    try:
        if spoken is not None:
            return weekend.local(_spoken(spoken, weekend))
        moment = check_year(datetime.fromisoformat(text.strip()))
    except ValueError as error:
        what = f"{text!r} is not a time of the weekend ({error})"
        raise InputError([Problem("the command", "", "time", what, 'write "sat 3:00" or 2026-06-13T03:00')]) from None
    return weekend.local(moment) if moment.tzinfo is None else moment.astimezone(weekend.zone)


def _spoken(found: re.Match[str], weekend: Weekend) -> datetime:
    day, hours, minutes, half = found.groups()
    if day not in WEEKDAYS:
        raise ValueError(f"there is no day {day!r}")
    hour = int(hours)
    if half is not None:
        if not 1 <= hour <= 12:
            raise ValueError(f"there is no {hour} {half}")
        hour = hour % 12 + (12 if half == "pm" else 0)
    first = weekend.plan_from.date()
    ahead = (WEEKDAYS.index(day) - first.weekday()) % 7
    date = first + timedelta(days=ahead)
    return datetime(date.year, date.month, date.day, hour, int(minutes or 0))
