"""Times, temperatures and lists as a pitmaster says them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from scheduler.model.base import SPACE_SCALE
from scheduler.model.clock import Clock
from scheduler.model.crew import WEEKDAYS

SHOWN_CODES = 6
"""A sentence names at most so many loads; the breach itself lists all."""


@dataclass(frozen=True, slots=True)
class Words:
    """Writes minutes of a weekend as local clock times, in 12 or 24 hours."""

    clock: Clock
    twelve: bool

    def moment(self, minute: int) -> datetime:
        """The local time of a minute."""
        return self.clock.moment(minute)

    def time(self, minute: int) -> str:
        """ "5:40 am" or "05:40"; an hour that the clock repeats comes with its zone's letters, "1:30 am EDT"."""
        moment = self.moment(minute)
        letters = f" {moment.tzname()}" if _repeated(moment) else ""
        return f"{self._digits(moment)}{self._half(moment)}{letters}"

    def at(self, minute: int) -> str:
        """ "on Sat at 5:40 am"."""
        return f"on {self.day(minute)} at {self.time(minute)}"

    def day(self, minute: int) -> str:
        """ "Sat"."""
        return WEEKDAYS[self.moment(minute).weekday()].capitalize()

    def span(self, start: int, end: int) -> str:
        """ "3:45 to 5:15 am", or "Fri 10:00 pm to Sat 2:00 am" where it passes midnight."""
        first, last = self.moment(start), self.moment(end)
        if first.date() != last.date():
            return f"{self.day(start)} {self.time(start)} to {self.day(end)} {self.time(end)}"
        if self._half(first) == self._half(last) and not _repeated(first):
            return f"{self._digits(first)} to {self.time(end)}"
        return f"{self.time(start)} to {self.time(end)}"

    def day_span(self, start: int, end: int) -> str:
        """A span that always names its day."""
        if self.moment(start).date() != self.moment(end).date():
            return self.span(start, end)
        return f"{self.day(start)} {self.span(start, end)}"

    def _digits(self, moment: datetime) -> str:
        return f"{moment.hour % 12 or 12}:{moment:%M}" if self.twelve else f"{moment:%H:%M}"

    def _half(self, moment: datetime) -> str:
        if not self.twelve:
            return ""
        return " am" if moment.hour < 12 else " pm"


def _repeated(moment: datetime) -> bool:
    return moment.replace(fold=0).utcoffset() != moment.replace(fold=1).utcoffset()


def spaces_text(hundredths: int) -> str:
    """Hundredths of a space as spaces: 250 -> "2.5"."""
    return f"{hundredths / SPACE_SCALE:g}"


def number(value: float) -> str:
    """A number without needless digits."""
    return f"{round(value, 2):g}"


def counted(count: int, noun: str, plural: str = "") -> str:
    """ "1 wrap table", "2 wrap tables"; the plural where it is not made with an s."""
    return f"{count} {noun if count == 1 else plural or noun + 's'}"


def joined(words: Sequence[str]) -> str:
    """ "a", "a and b", "a, b and c"."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def codes_text(codes: Iterable[str]) -> str:
    """Load codes for a sentence, cut short where there are many."""
    listed = list(codes)
    if len(listed) <= SHOWN_CODES:
        return joined(listed)
    return f"{', '.join(listed[:SHOWN_CODES])} and {len(listed) - SHOWN_CODES} more"


def dollars(cents: int) -> str:
    """Cents as dollars: 123456 -> "$1,234.56"."""
    sign = "-" if cents < 0 else ""
    return f"{sign}${abs(cents) // 100:,}.{abs(cents) % 100:02d}"
