"""Look ahead: each single failure at several hours, and what it would cost with the plan made anew."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import datetime
from multiprocessing import get_context

from scheduler.books.plans import in_utc
from scheduler.model.clock import add_min, elapsed_min
from scheduler.model.log import Down, Log, Missing
from scheduler.model.plan import Plan, Shift
from scheduler.model.scenario import Scenario
from scheduler.reshuffle.baseline import nothing_done
from scheduler.reshuffle.money import money
from scheduler.reshuffle.replan import Search
from scheduler.reshuffle.state import state_at


@dataclass(frozen=True, slots=True)
class Failure:
    """One thing that fails, or one person who goes missing, and when."""

    what: str
    kind: str
    """firebox, oven, cabinet or person."""
    at: datetime
    event: Down | Missing
    stand_by_cents: int
    """What it costs to have another one ready for that shift or, of a fire, that night of eight hours."""


@dataclass(frozen=True, slots=True)
class Loss:
    """What a failure costs."""

    failure: Failure
    lost_cents: int | None
    """Against the plan, with a new one made; None if none was found in time."""
    idle_cents: int | None
    """The same if nobody did anything about it."""
    thrown: int
    """Pieces that are on and cannot go on."""
    short: int
    """Pieces of waves not made, beyond those of the plan."""


def failures(plan: Plan, scenario: Scenario, every_h: int) -> list[Failure]:
    """Each firebox, oven and cabinet while it is in use, and each person in each shift, every so many hours."""
    found = [*_places(in_utc(plan), scenario, every_h), *_people(plan, scenario)]
    return sorted(found, key=lambda f: (f.at.timestamp(), f.kind, f.what))


def _places(plan: Plan, scenario: Scenario, every_h: int) -> Iterator[Failure]:
    """Of a plan in UTC; each failure on the kitchen's clock."""
    site = scenario.site
    in_use: list[tuple[str, str, datetime, datetime]] = []
    in_use += [(f.firebox, "firebox", f.ready_at, f.out_at) for f in plan.fires]
    ovens = {oven.name for oven in site.ovens}
    for load in plan.loads:
        if load.finish_place in ovens and load.wrap_at is not None:
            in_use.append((load.finish_place, "oven", load.wrap_at, load.late_done_at))
        if load.hold_place is not None:
            in_use.append((load.hold_place, "cabinet", load.hold_from_at, load.served_until_at))
    for what, kind, start, end in _stretches(in_use):
        moment = add_min(start.astimezone(scenario.weekend.zone), 60).replace(minute=0)
        while moment < end:
            if kind == "firebox":
                spare = site.wood_cents_per_lb * min(box.wood_lb_per_h for box in site.fireboxes) * 8
            else:
                spare = 0
            yield Failure(what, kind, moment, Down(at=moment, place=what), spare)
            moment = add_min(moment, every_h * 60)


def _stretches(in_use: list[tuple[str, str, datetime, datetime]]) -> Iterator[tuple[str, str, datetime, datetime]]:
    """Times in use that touch made one."""
    open_: dict[str, tuple[str, datetime, datetime]] = {}
    for what, kind, start, end in sorted(in_use, key=lambda use: (use[0], use[2].timestamp())):
        before = open_.get(what)
        if before is not None and start <= add_min(before[2], 60):
            open_[what] = (kind, before[1], max(before[2], end))
            continue
        if before is not None:
            yield what, *before
        open_[what] = (kind, start, end)
    for what, before in open_.items():
        yield what, *before


def _people(plan: Plan, scenario: Scenario) -> Iterator[Failure]:
    crew = scenario.crew
    for shift in plan.shifts:
        yield Failure(
            shift.person,
            "person",
            shift.starts_at,
            Missing(at=shift.starts_at, person=shift.person, until=shift.ends_at),
            _stand_by(shift, crew.person(shift.person).wage_cents_per_h),
        )


def _stand_by(shift: Shift, wage_cents_per_h: int) -> int:
    return round(wage_cents_per_h * elapsed_min(shift.starts_at, shift.ends_at) / 60)


def loss_of(plan: Plan, scenario: Scenario, failure: Failure, seconds: float, moves: int | None = None) -> Loss:
    """What one failure costs, the new plan searched for so long, or, repeatably, for so many moves."""
    state = state_at(plan, scenario, Log((failure.event,)), failure.at)
    search = Search(state)
    found = search.run(seconds=seconds, moves=moves)
    idle = nothing_done(search.basis)
    if found is None or found.candidate is None:
        return Loss(failure, None, None, 0, 0)
    sums = money(search.basis, found.plan, found.candidate, idle)
    new, old = found.plan, plan
    thrown = sum(loss.pieces for loss in new.losses) - sum(loss.pieces for loss in old.losses)
    short = sum(s.pieces for s in new.shorts) - sum(s.pieces for s in old.shorts)
    return Loss(failure, sums.lost, sums.lost + sums.nothing, thrown, short)


def what_if(
    plan: Plan,
    scenario: Scenario,
    tried: list[Failure],
    *,
    seconds: float = 1.5,
    processes: int = 2,
) -> list[Loss]:
    """All failures, dearest first."""
    context = get_context("spawn")
    with ProcessPoolExecutor(processes, mp_context=context, initializer=_load, initargs=(plan, scenario)) as pool:
        found = list(pool.map(_one, tried, [seconds] * len(tried)))
    return sorted(found, key=lambda loss: -(loss.lost_cents or 0))


_shared: list[tuple[Plan, Scenario]] = []


def _load(plan: Plan, scenario: Scenario) -> None:
    _shared.append((plan, scenario))


def _one(failure: Failure, seconds: float) -> Loss:
    plan, scenario = _shared[0]
    return loss_of(plan, scenario, failure, seconds)
