"""Elapsed minutes and local wall-clock time. Durations are elapsed time, so a clock change costs or gives an hour."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

YEARS = range(2000, 2100)
"""Years in which a weekend may be; far from them times cannot be reckoned with."""


def check_year(moment: datetime) -> datetime:
    """The same time. ValueError if its year is not one of a weekend."""
    if moment.year not in YEARS:
        raise ValueError(f"{moment.isoformat()} is not in a year of any weekend")
    return moment


def localize(naive: datetime, zone: ZoneInfo) -> datetime:
    """Wall-clock time with its offset; of a repeated hour the first, if its fold does not say the second. ValueError if
    the clock skips it.
    """
    aware = naive.replace(tzinfo=zone)
    if aware.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != naive.replace(fold=0):
        raise ValueError(f"{naive:%Y-%m-%d %H:%M} does not exist in {zone.key}: the clock skips it")
    return aware


def elapsed_min(start: datetime, end: datetime) -> int:
    """Whole elapsed minutes from one aware time to another."""
    return round((end.astimezone(UTC) - start.astimezone(UTC)) / timedelta(minutes=1))


def add_min(moment: datetime, minutes: int) -> datetime:
    """The aware time that many elapsed minutes later, in the same zone."""
    return (moment.astimezone(UTC) + timedelta(minutes=minutes)).astimezone(moment.tzinfo)


@dataclass(frozen=True, slots=True)
class Clock:
    """Turns aware times into elapsed minutes since `origin`, and back into the zone of `origin`."""

    origin: datetime

    def minute(self, moment: datetime) -> int:
        """Elapsed minutes from the origin; negative before it."""
        return elapsed_min(self.origin, moment)

    def moment(self, minute: int) -> datetime:
        """The aware local time that many minutes after the origin."""
        return add_min(self.origin, minute)
