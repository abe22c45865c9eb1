"""What was sold on earlier service days. Times are local, as the till prints them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from scheduler.errors import Problem


@dataclass(frozen=True, slots=True)
class Sale:
    """Portions of one cut that were sold at a time, or in the quarter of an hour that starts at it."""

    at: datetime
    cut: str
    portions: float
    price_cents: int | None = None
    """Price of all of them together; None where the till does not say."""
    ticket: str = ""
    """Number of the ticket; empty where the rows are sums."""


@dataclass(frozen=True, slots=True)
class DayRecord:
    """One day on which the kitchen sold."""

    opened: datetime
    closed: datetime
    sold_out: Mapping[str, datetime | None] = field(default_factory=dict)
    """Cuts that ran out and when; None where the time was not written down."""
    weather: str = ""
    event: str = ""
    note: str = ""

    @property
    def date(self) -> date:
        """The day it opened."""
        return self.opened.date()


@dataclass(frozen=True, slots=True)
class History:
    """All earlier service days in order of time."""

    days: tuple[DayRecord, ...] = ()
    sales: tuple[Sale, ...] = ()
    bad: tuple[Problem, ...] = ()
    """Rows that could not be read, one problem each."""
    notes: tuple[str, ...] = ()
    """What had to be guessed, in sentences."""

    def before(self, day: date) -> History:
        """What was known on the morning of a day."""
        return History(
            tuple(d for d in self.days if d.date < day),
            tuple(s for s in self.sales if s.at.date() < day),
            self.bad,
            self.notes,
        )
