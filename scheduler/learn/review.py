"""A weekend that was: planned against real, by load, wave and shift; minutes; what was sold, short, left, thrown away.

Only what was written down is told as real. What nobody wrote down is told as such.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from scheduler.learn.usage import planned_min
from scheduler.model import log as entry
from scheduler.model.clock import add_min, elapsed_min
from scheduler.model.crew import TaskKind
from scheduler.model.fold import folded
from scheduler.model.log import Log
from scheduler.model.menu import Cut
from scheduler.model.plan import Load, Plan
from scheduler.model.scenario import Scenario

MOST_MORE = 1.5
"""Demand beyond what was made is guessed from when it ran out, at most so many times what was made."""
Day = date
CutDay = tuple[str, Day]


@dataclass(frozen=True, slots=True)
class LoadReview:
    """One load; None where nothing was written down."""

    load: Load
    loaded_at: datetime | None
    wrapped_at: datetime | None
    done_at: datetime | None
    thrown: int
    """Pieces thrown away."""

    @property
    def late_min(self) -> int:
        """Minutes after late (positive) or before early (negative); 0 within the range, or not known."""
        if self.done_at is None:
            return 0
        after = elapsed_min(self.load.late_done_at, self.done_at)
        before = elapsed_min(self.load.early_done_at, self.done_at)
        return after if after > 0 else min(before, 0)


@dataclass(frozen=True, slots=True)
class WaveReview:
    """One wave or order of a cut."""

    cut: str
    wave: str
    ready_by_at: datetime
    asked: int
    planned: int
    thrown: int
    ready_at: datetime | None
    """When the last load of which that is known was rested; None where nothing is."""


@dataclass(frozen=True, slots=True)
class ShiftReview:
    """One shift."""

    person: str
    pattern: str
    starts_at: datetime
    ends_at: datetime
    came_at: datetime | None
    """Where another time was written down."""
    left_at: datetime | None
    planned_min: int
    """Minutes of tasks in the plan."""


@dataclass(frozen=True, slots=True)
class MinutesReview:
    """Hand-minutes of a kind of task."""

    kind: TaskKind
    planned: int
    logged: float
    logged_planned: float
    """What the plan reckons for the work whose minutes were written down."""


@dataclass(frozen=True, slots=True)
class SoldReview:
    """One cut on one day, in portions and cents."""

    cut: str
    day: Day
    made: float
    sold: float | None
    """None where nothing was written down."""
    demand: float | None
    """What would have been sold with enough meat; a guess where it ran out."""
    ran_out_at: datetime | None
    short_pieces: int
    thrown_pieces: int
    sold_cents: int
    short_cents: int
    left_cents: int
    """What the meat left over had cost, less what it still brings."""
    thrown_cents: int

    @property
    def left(self) -> float:
        """Portions left over; 0 where sales are not known."""
        return 0.0 if self.sold is None else max(0.0, self.made - self.sold)


@dataclass(frozen=True, slots=True)
class Review:
    """All of it."""

    plan: Plan
    scenario: Scenario
    loads: tuple[LoadReview, ...]
    waves: tuple[WaveReview, ...]
    shifts: tuple[ShiftReview, ...]
    minutes: tuple[MinutesReview, ...]
    sold: tuple[SoldReview, ...]
    wood_used_lb: float | None
    notes: tuple[str, ...]


def review_of(plan: Plan, scenario: Scenario, log: Log) -> Review:
    """Lay the log beside the plan. Pairs of a trial are told in pieces."""
    plan, scenario = folded(plan, scenario)
    loads = tuple(_load(load, log) for load in sorted(plan.loads, key=lambda x: (x.load_at.timestamp(), x.code)))
    wood = [event.lb for event in log.events if isinstance(event, entry.WoodLeft)]
    return Review(
        plan=plan,
        scenario=scenario,
        loads=loads,
        waves=tuple(_waves(plan, scenario, loads)),
        shifts=tuple(_shifts(plan, log)),
        minutes=tuple(_minutes(plan, scenario, log)),
        sold=tuple(_sold(plan, scenario, loads, log)),
        wood_used_lb=wood[0] - wood[-1] if len(wood) > 1 and wood[0] > wood[-1] else None,
        notes=log.notes,
    )


def _load(load: Load, log: Log) -> LoadReview:
    own = [event for event in log.events if getattr(event, "load", None) == load.code]

    def first(*kinds: type[entry.Event]) -> datetime | None:
        return next((event.at for event in own if isinstance(event, kinds)), None)

    thrown = sum(event.pieces for event in own if isinstance(event, entry.Discarded))
    done = first(entry.Done) or first(entry.Pulled)
    return LoadReview(load, first(entry.Loaded), first(entry.Wrapped), done, min(thrown, load.pieces))


def _waves(plan: Plan, scenario: Scenario, loads: tuple[LoadReview, ...]) -> Iterator[WaveReview]:
    asked: Counter[tuple[str, str]] = Counter()
    when: dict[tuple[str, str], datetime] = {}
    for demand in scenario.weekend.demands():
        key = demand.cut, demand.wave.partition(" +")[0]
        asked[key] += demand.pieces
        when[key] = demand.ready_by_at
    for key in sorted(when, key=lambda k: (when[k].timestamp(), k)):
        mine = [x for x in loads if (x.load.cut, x.load.wave.partition(" +")[0]) == key]
        rest = scenario.menu.cut(key[0]).rest_min
        ready = [add_min(x.done_at, rest) for x in mine if x.done_at is not None]
        yield WaveReview(
            cut=key[0],
            wave=key[1],
            ready_by_at=when[key],
            asked=asked[key],
            planned=sum(x.load.pieces for x in mine),
            thrown=sum(x.thrown for x in mine),
            ready_at=max(ready, key=datetime.timestamp, default=None),
        )


def _shifts(plan: Plan, log: Log) -> Iterator[ShiftReview]:
    for shift in sorted(plan.shifts, key=lambda s: (s.starts_at.timestamp(), s.person)):
        arrived = [e.at for e in log.events if isinstance(e, entry.Arrived) and e.person == shift.person]
        gone = [e.at for e in log.events if isinstance(e, entry.Missing) and e.person == shift.person]
        long = elapsed_min(shift.starts_at, shift.ends_at)
        yield ShiftReview(
            person=shift.person,
            pattern=shift.pattern,
            starts_at=shift.starts_at,
            ends_at=shift.ends_at,
            came_at=next((at for at in arrived if 0 <= elapsed_min(shift.starts_at, at) <= long), None),
            left_at=next((at for at in gone if 0 <= elapsed_min(shift.starts_at, at) < long), None),
            planned_min=sum(task.minutes for task in plan.tasks if task.shift == shift.code),
        )


def _minutes(plan: Plan, scenario: Scenario, log: Log) -> Iterator[MinutesReview]:
    planned: Counter[TaskKind] = Counter()
    logged: dict[TaskKind, list[tuple[float, float]]] = defaultdict(list)
    for task in plan.tasks:
        planned[task.kind] += task.minutes
    for event in log.events:
        if isinstance(event, entry.Worked):
            logged[event.task].append((event.minutes, planned_min(scenario, event)))
    for kind in sorted(planned.keys() | logged.keys(), key=lambda k: -planned[k]):
        rows = logged.get(kind, [])
        yield MinutesReview(kind, planned[kind], sum(r[0] for r in rows), sum(r[1] for r in rows))


def _sold(plan: Plan, scenario: Scenario, loads: tuple[LoadReview, ...], log: Log) -> Iterator[SoldReview]:
    sales = sales_of(scenario, log)
    for cut in scenario.menu.cuts:
        for day in sorted(day.opens.date() for day in scenario.weekend.days):
            mine = [x for x in loads if x.load.cut == cut.name and local_day(scenario, x.load.ready_by_at) == day]
            short = sum(
                s.pieces for s in plan.shorts if s.cut == cut.name and _day_of_wave(scenario, s.cut, s.wave) == day
            )
            if mine or short:
                yield _cut_day(cut, day, mine, short, sales.get((cut.name, day)), scenario)


def _cut_day(
    cut: Cut, day: Day, loads: list[LoadReview], short: int, sales: list[entry.Sold] | None, scenario: Scenario
) -> SoldReview:
    thrown = sum(x.thrown for x in loads)
    made = (sum(x.load.pieces for x in loads) - thrown) * cut.portions
    sold = None if sales is None else min(float(max(s.portions for s in sales)), made)
    ran_out = None
    if sales is not None and sold is not None and made and sold >= made:
        ran_out = next(s.at for s in sales if s.portions >= made)
    each = cut.cost_cents / cut.portions
    left = 0.0 if sold is None else made - sold
    return SoldReview(
        cut=cut.name,
        day=day,
        made=made,
        sold=sold,
        demand=_demand(sold, made, ran_out, day, scenario),
        ran_out_at=ran_out,
        short_pieces=short,
        thrown_pieces=thrown,
        sold_cents=0 if sold is None else round(sold * cut.price_cents),
        short_cents=short * cut.margin_cents,
        left_cents=round(left * (each - cut.leftover_cents)),
        thrown_cents=thrown * cut.cost_cents,
    )


def _demand(sold: float | None, made: float, ran_out: datetime | None, day: Day, scenario: Scenario) -> float | None:
    """Sold, or where it ran out what the pace until then would have sold by closing."""
    if sold is None or ran_out is None:
        return sold
    hours = next(d for d in scenario.weekend.days if d.opens.date() == day)
    opens, closes = scenario.weekend.local(hours.opens), scenario.weekend.local(hours.closes)
    until = max(1, elapsed_min(opens, ran_out))
    return made * min(MOST_MORE, max(1.0, elapsed_min(opens, closes) / until))


def sales_of(scenario: Scenario, log: Log) -> dict[CutDay, list[entry.Sold]]:
    """What was written down as sold so far, by cut and day, in order of time."""
    found: dict[CutDay, list[entry.Sold]] = defaultdict(list)
    for event in log.events:
        if isinstance(event, entry.Sold):
            found[event.cut, local_day(scenario, event.at)].append(event)
    return dict(found)


def local_day(scenario: Scenario, at: datetime) -> Day:
    """The service day that a time belongs to."""
    local = at.astimezone(scenario.weekend.zone).replace(tzinfo=None)
    day = scenario.weekend.day_of(local)
    return local.date() if day is None else day.opens.date()


def _day_of_wave(scenario: Scenario, cut: str, wave: str) -> Day | None:
    for demand in scenario.weekend.demands():
        if demand.cut == cut and demand.wave.partition(" +")[0] == wave.partition(" +")[0]:
            return local_day(scenario, demand.ready_by_at)
    return None
