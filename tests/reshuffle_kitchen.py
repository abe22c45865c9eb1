"""A plan of the small shipped weekend, made once, and what is asked of every plan that goes on from a log."""

from __future__ import annotations

from collections import Counter
from datetime import datetime
from functools import cache
from pathlib import Path

from scheduler.audit import audit
from scheduler.books import read_scenario
from scheduler.model.log import Down, Log
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.reshuffle.candidate import Candidate
from scheduler.reshuffle.money import Money, money
from scheduler.reshuffle.replan import Search
from scheduler.reshuffle.state import State, state_at
from scheduler.solve import plan_weekend

SCENARIOS = Path(__file__).parents[1] / "scenarios"
MOVES = 2


@cache
def corner() -> tuple[Plan, Scenario]:
    """The corner Saturday, planned by a few moves."""
    scenario = read_scenario(SCENARIOS / "corner-saturday")
    return plan_weekend(scenario, work=20), scenario


def at(clock: str, day: int = 16) -> datetime:
    """A time of that night: Friday is the 15th, Saturday the 16th of May 2026."""
    _, scenario = corner()
    hour, minute = clock.split(":")
    return scenario.weekend.local(datetime(2026, 5, day, int(hour), int(minute)))


def over(moment: datetime) -> Counter[str]:
    """Pieces over each firebox at a time, not done yet."""
    _, scenario = corner()
    found = Counter[str]()
    for begun in state(Log(), moment).past.begun:
        for smoker in scenario.site.smokers:
            if smoker.name == begun.spot.place and not begun.done:
                found[smoker.firebox] += begun.pieces
    return found


@cache
def worst_hour() -> tuple[str, str]:
    """The firebox, and the hour of the night, with most pieces over it."""
    hours = [f"{hour}:00" for hour in range(1, 7)]
    _, clock, box = max((pieces, clock, box) for clock in hours for box, pieces in over(at(clock)).items())
    return box, clock


def fire_fails() -> State:
    """That box fails for good, at that hour."""
    box, clock = worst_hour()
    return state(Log((Down(at=at(clock), place=box),)), at(clock))


def state(log: Log, moment: datetime) -> State:
    """The state of that plan by a log."""
    return state_at(*corner(), log, moment)


def repaired(search: Search) -> Candidate:
    """What the repair rule makes of a state."""
    assert search.first() is not None
    assert search.best is not None
    return search.best


def replanned(now: State, moves: int = MOVES) -> tuple[Search, Plan]:
    """A new plan from a state, by the repair rule and a few moves; it has to be there."""
    search = Search(now)
    found = search.run(moves=moves)
    assert found is not None, [breach.sentence for breach in search.breaches]
    return search, found.plan


def with_sums(now: State) -> tuple[Plan, Money]:
    """The new plan of a state, and what it costs against the old one and against doing nothing."""
    search, plan = replanned(now)
    assert search.kept is not None
    assert search.kept.candidate is not None
    return plan, money(search.basis, plan, search.kept.candidate)


def assert_goes_on(now: State, search: Search, plan: Plan) -> None:
    """The audit passes, no piece is lost, the past has not moved."""
    assert audit(plan, now.scenario, search.past) == ()
    on = Counter[str]()
    for load in plan.loads:
        root = search.past.of(load.code, load.part_of)
        on[load.code if root is None else root.code] += load.pieces
    lost = Counter[str]()
    for loss in plan.losses:
        lost[loss.load] += loss.pieces
        assert loss.why
    for begun in search.past.begun:
        before = sum(loss.pieces for loss in now.past.losses if loss.load == begun.code)
        assert on[begun.code] + lost[begun.code] - before == begun.pieces
    since = now.clock.moment(now.from_min)
    begun = {b.code for b in search.past.begun}
    for load in plan.loads:
        assert load.load_at >= since or {load.code, load.part_of} & begun
    assert {f.firebox for f in plan.fires if f.lit_at < since} == {f.firebox for f in search.past.fires}
    asked = Counter({(d.cut, d.wave): d.pieces for d in now.scenario.weekend.demands()})
    made = Counter[tuple[str, str]]()
    for load in plan.loads:
        made[load.cut, load.wave] += load.pieces
    for short in plan.shorts:
        made[short.cut, short.wave] += short.pieces
    assert made == asked
