"""The log, sorted by what it speaks of."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime

from scheduler.model import log as entry
from scheduler.model.log import AnyEvent, Log
from scheduler.model.scenario import Scenario
from scheduler.trade.belief import Seen

Minute = int


@dataclass(slots=True)
class LoadFacts:
    """What the log says of one load; minutes since `plan_from`."""

    loaded: tuple[Minute, str | None, str | None] | None = None
    wrapped: Minute | None = None
    done: Minute | None = None
    moved: list[tuple[Minute, str, str | None]] = field(default_factory=list)
    held: str | None = None
    readings: list[Seen] = field(default_factory=list)
    elsewhere: list[entry.Probe] = field(default_factory=list)
    """Readings that were not taken at the centre."""
    thrown: list[tuple[Minute, int, str]] = field(default_factory=list)
    sliced: int = 0


@dataclass(slots=True)
class Lack:
    """Something is not there from a minute on; until None where nobody knows."""

    from_min: Minute
    until_min: Minute | None

    @property
    def lasts(self) -> bool:
        """False for what was over within its minute."""
        return self.until_min is None or self.from_min < self.until_min

    def ended(self, at: Minute) -> bool:
        """End it at a minute, if it still goes on then; True if it did."""
        goes_on = self.from_min <= at and (self.until_min is None or self.until_min >= at)
        if goes_on:
            self.until_min = at
        return goes_on


@dataclass(slots=True)
class Outage(Lack):
    """A place out of use."""

    place: str


@dataclass(slots=True)
class Absence(Lack):
    """A person who is not there."""

    person: str


@dataclass(slots=True)
class Facts:
    """The log by load, place and person."""

    loads: dict[str, LoadFacts] = field(default_factory=lambda: defaultdict(LoadFacts))
    lit: dict[str, list[Minute]] = field(default_factory=lambda: defaultdict(list))
    outages: list[Outage] = field(default_factory=list)
    absences: list[Absence] = field(default_factory=list)
    arrived: list[tuple[str, Minute]] = field(default_factory=list)
    undelivered: list[tuple[Minute, str, int]] = field(default_factory=list)
    orders: list[entry.Ordered] = field(default_factory=list)
    wood_lb: float | None = None
    weather: list[tuple[Minute, entry.Night]] = field(default_factory=list)
    sold: dict[str, int] = field(default_factory=dict)

    def load(self, code: str) -> LoadFacts:
        """What is known of a load; nothing where the log does not speak of it."""
        return self.loads[code] if code in self.loads else LoadFacts()

    def out_at(self, names: tuple[str, ...], minute: Minute) -> Outage | None:
        """The outage of one of some places at a minute, the first that began."""
        found = [
            o
            for o in self.outages
            if o.place in names and o.from_min <= minute and (o.until_min is None or minute < o.until_min)
        ]
        return min(found, key=lambda outage: outage.from_min, default=None)


def facts_of(log: Log, scenario: Scenario) -> Facts:
    """Sort a log."""
    minute = scenario.weekend.timeline.minute
    facts = Facts()
    for event in log.events:
        _READ[type(event)](facts, event, minute)
    facts.outages = [outage for outage in facts.outages if outage.lasts]
    facts.absences = [absence for absence in facts.absences if absence.lasts]
    return facts


ToMinute = Callable[[datetime], int]
Reader = Callable[[Facts, AnyEvent, ToMinute], None]
_READ: dict[type[entry.Event], Reader] = {}


def _reads(*kinds: type[entry.Event]) -> Callable[[Reader], Reader]:
    def register(reader: Reader) -> Reader:
        _READ.update(dict.fromkeys(kinds, reader))
        return reader

    return register


@_reads(entry.Loaded, entry.Wrapped, entry.Done, entry.Pulled, entry.Moved)
def _handled(facts: Facts, event: AnyEvent, minute: ToMinute) -> None:
    at = minute(event.at)
    match event:
        case entry.Loaded():
            facts.loads[event.load].loaded = at, event.place, event.rack
        case entry.Wrapped():
            facts.loads[event.load].wrapped = at
        case entry.Done() | entry.Pulled():
            facts.loads[event.load].done = at
        case entry.Moved():
            facts.loads[event.load].moved.append((at, event.place, event.rack))


@_reads(entry.Held, entry.Sliced, entry.Probe, entry.Discarded)
def _seen(facts: Facts, event: AnyEvent, minute: ToMinute) -> None:
    match event:
        case entry.Held():
            facts.loads[event.load].held = event.place
        case entry.Sliced():
            facts.loads[event.load].sliced += event.pieces
        case entry.Probe():
            load = facts.loads[event.load]
            if event.position.lower() in ("centre", "center"):
                load.readings.append(Seen(minute(event.at), event.temp_f))
            else:
                load.elsewhere.append(event)
        case entry.Discarded():
            facts.loads[event.load].thrown.append((minute(event.at), event.pieces, event.why))


@_reads(entry.Down, entry.Up)
def _place(facts: Facts, event: AnyEvent, minute: ToMinute) -> None:
    if isinstance(event, entry.Down):
        until = None if event.until is None else minute(event.until)
        facts.outages.append(Outage(minute(event.at), until, event.place))
    elif isinstance(event, entry.Up):
        at = minute(event.at)
        for outage in facts.outages:
            if outage.place == event.place:
                outage.ended(at)


@_reads(entry.Missing, entry.Arrived)
def _person(facts: Facts, event: AnyEvent, minute: ToMinute) -> None:
    at = minute(event.at)
    if isinstance(event, entry.Missing):
        until = None if event.until is None else minute(event.until)
        facts.absences.append(Absence(at, until, event.person))
    elif isinstance(event, entry.Arrived):
        over = [absence for absence in facts.absences if absence.person == event.person and absence.ended(at)]
        if not over or any(absence.lasts for absence in over):  # else it was taken back at once: nobody came
            facts.arrived.append((event.person, at))


@_reads(entry.Lit, entry.Delivered, entry.Ordered, entry.WoodLeft, entry.Weather, entry.Sold)
def _rest(facts: Facts, event: AnyEvent, minute: ToMinute) -> None:
    match event:
        case entry.Lit():
            facts.lit[event.place].append(minute(event.at))
        case entry.Delivered():
            facts.undelivered.append((minute(event.at), event.cut, event.missing))
        case entry.Ordered():
            facts.orders.append(event)
        case entry.WoodLeft():
            facts.wood_lb = event.lb
        case entry.Weather():
            facts.weather.append((minute(event.at), event.night))
        case entry.Sold():
            facts.sold[event.cut] = event.portions


@_reads(entry.Worked, entry.PieceSeen)
def _for_later(facts: Facts, event: AnyEvent, minute: ToMinute) -> None:
    """What only the review after the weekend asks for."""
