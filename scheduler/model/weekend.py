"""One weekend: when the kitchen sells, and what must be ready when."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from itertools import groupby, pairwise
from typing import Annotated, Literal
from zoneinfo import ZoneInfo

from pydantic import Field, field_validator, model_validator

from scheduler.model.base import Cents, Frozen, Minutes, Name
from scheduler.model.clock import Clock, add_min, localize
from scheduler.model.crew import WEEKDAYS
from scheduler.model.service import Line, Till
from scheduler.model.trial import Trial

Pieces = Annotated[int, Field(ge=0, le=5000)]
Word = Annotated[str, Field(max_length=40)]

_ORDER = "order "
ORDER_WAIT_MIN = 30
"""A pick-up order is held this long after its time. Common practice, no source."""


class ServiceDay(Frozen):
    """One day of selling; times are local."""

    opens: datetime
    closes: datetime
    counter_hands: Annotated[int, Field(ge=0, le=20)] = 1
    """People at the counter from opening to closing, beside the cutters."""
    weather: Word = ""
    """As in service-days.csv; empty where nobody knows yet."""
    event: Word = ""
    """What brings people or keeps them away, such as "parade"; as in service-days.csv."""

    @model_validator(mode="after")
    def _ordered(self) -> ServiceDay:
        if self.opens >= self.closes:
            raise ValueError(f"closes {self.closes:%a %H:%M} must be after opens {self.opens:%a %H:%M}")
        return self


class Wave(Frozen):
    """So many pieces of a cut that must be ready to slice by a time."""

    cut: Name
    at: datetime
    pieces: Pieces
    until: datetime | None = None
    """End of serving; by default the cut's next wave of the same day, or closing."""
    worth_cents: tuple[Cents, ...] = ()
    """Expected margin of the first piece, of one more, and so on, where demand is uncertain. Empty where each piece
    counts with the cut's whole margin."""

    @model_validator(mode="after")
    def _diminishing(self) -> Wave:
        if self.worth_cents and len(self.worth_cents) != self.pieces:
            raise ValueError(f"worth_cents has {len(self.worth_cents)} values for {self.pieces} pieces")
        if any(later > earlier for earlier, later in pairwise(self.worth_cents)):
            raise ValueError("worth_cents must not rise: a further piece is never worth more than the one before")
        return self


class Order(Frozen):
    """Pieces promised for pick-up at a time."""

    name: Name
    cut: Name
    at: datetime
    pieces: Pieces
    broken_promise_cents: Cents = 0
    """Added to the lost margin for each piece not ready."""


class Away(Frozen):
    """A person who cannot come in between two times, as `Weekend.wall` has them."""

    person: Name
    from_at: datetime
    until_at: datetime


class OutOfUse(Frozen):
    """A smoker, firebox, oven, rest shelf or holding cabinet that is broken; open-ended where no time is given.

    Its times are as `Weekend.wall` has them.
    """

    place: Name
    from_at: datetime | None = None
    until_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Demand:
    """A wave or an order as the planner sees it; times aware."""

    cut: str
    wave: str
    """Its name, such as "Sat 11:00" or "order Oak table"; unique within the cut."""
    ready_by_at: datetime
    served_until_at: datetime
    pieces: int
    extra_short_cents: int
    """Added to the cut's margin for each piece short."""
    worth_cents: int | None = None
    """What a piece counts in place of the cut's margin; None where it counts whole."""

    def short_cents(self, margin_cents: int) -> int:
        """What one piece short costs, cents."""
        return (margin_cents if self.worth_cents is None else self.worth_cents) + self.extra_short_cents


class Weekend(Frozen):
    """The weekend's calendar and quantities."""

    name: Name
    invented: bool = False
    """True marks demo data: no real kitchen, person or price."""
    timezone: str
    plan_from: datetime
    """Nothing is done before this local time."""
    clock: Literal["12h", "24h"] = "12h"
    days: Annotated[tuple[ServiceDay, ...], Field(min_length=1, alias="day")]
    waves: Annotated[tuple[Wave, ...], Field(alias="wave")] = ()
    orders: Annotated[tuple[Order, ...], Field(alias="order")] = ()
    trials: Annotated[tuple[Trial, ...], Field(alias="trial")] = ()
    """Methods that are compared on pairs of pieces."""
    away: tuple[Away, ...] = ()
    out_of_use: tuple[OutOfUse, ...] = ()
    weights_lb: dict[Name, Annotated[float, Field(gt=0, le=200)]] = Field(default_factory=dict)
    """Raw weight of a piece as delivered, by cut, where it differs from the middle of the menu's range."""
    in_stock: dict[Name, Pieces] = Field(default_factory=dict)
    """Raw pieces already in the cooler, by cut; they need not be bought."""
    sales: Till = Till()
    line: Line = Line()

    @field_validator("timezone")
    @classmethod
    def _known_zone(cls, value: str) -> str:
        try:
            ZoneInfo(value)
        except (KeyError, ValueError, OSError) as error:
            raise ValueError(f"{value!r} is not a time zone of the tz database") from error
        return value

    @property
    def zone(self) -> ZoneInfo:
        """The kitchen's time zone."""
        return ZoneInfo(self.timezone)

    @property
    def timeline(self) -> Clock:
        """Elapsed minutes since `plan_from`."""
        return Clock(self.local(self.plan_from))

    def local(self, at: datetime) -> datetime:
        """A time of this weekend, as it is written in a calendar, with its offset."""
        return localize(at, self.zone) if at.tzinfo is None else at.astimezone(self.zone)

    def wall(self, moment: datetime) -> datetime:
        """An aware time as it is written in a calendar: local without offset; with it where the clock shows the hour
        for the second time, as no file keeps a fold.
        """
        local = moment.astimezone(self.zone)
        offset = local.utcoffset()
        return local.astimezone(timezone(offset)) if local.fold and offset else local.replace(tzinfo=None)

    def demands(self) -> tuple[Demand, ...]:
        """Waves and orders with a name and an end of serving each, in order of time.

        A wave whose pieces differ in worth is several demands, one for each worth.
        """
        found = [demand for wave in self.waves for demand in self._from_wave(wave)]
        found += [self._from_order(order) for order in self.orders]
        return tuple(sorted(found, key=lambda demand: (demand.ready_by_at.timestamp(), demand.cut, demand.wave)))

    def _from_wave(self, wave: Wave) -> Iterator[Demand]:
        name, ready, until = wave_name(wave.at), self.local(wave.at), self.local(self.wave_until(wave))
        if not wave.worth_cents:
            yield Demand(wave.cut, name, ready, until, wave.pieces, 0)
        before = 0
        for worth, group in groupby(wave.worth_cents):
            pieces = len(list(group))
            yield Demand(wave.cut, name + (f" +{before}" if before else ""), ready, until, pieces, 0, worth)
            before += pieces

    def _from_order(self, order: Order) -> Demand:
        ready = self.local(order.at)
        until = add_min(ready, ORDER_WAIT_MIN)
        return Demand(order.cut, f"{_ORDER}{order.name}", ready, until, order.pieces, order.broken_promise_cents)

    def wave_until(self, wave: Wave) -> datetime:
        """Local end of serving of a wave; its own time where no service day holds it."""
        if wave.until is not None:
            return wave.until
        day = self.day_of(wave.at)
        if day is None:
            return wave.at
        later = [w.at for w in self.waves if w.cut == wave.cut and wave.at < w.at <= day.closes]
        return min(later, default=day.closes)

    def day_of(self, moment: datetime) -> ServiceDay | None:
        """The service day whose closing is the first one at or after a local time, within a day of it."""
        for day in sorted(self.days, key=lambda day: day.closes):
            if moment <= day.closes <= moment + timedelta(days=1):
                return day
        return None


def wave_name(at: datetime) -> str:
    """What a wave at a local time is called: "Sat 11:00"."""
    return f"{WEEKDAYS[at.weekday()].capitalize()} {at:%H:%M}"


def order_of(wave: str) -> str:
    """The order that a demand of this name is; empty where it is a wave."""
    return wave.removeprefix(_ORDER) if wave.startswith(_ORDER) else ""


def minutes_text(minutes: Minutes) -> str:
    """A duration for people: "45 min", "2 h", "2 h 15"."""
    hours, rest = divmod(minutes, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest:02d}" if rest else f"{hours} h"
