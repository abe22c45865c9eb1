"""Where everything is at a moment: the plan as far as it has come, put right by the log.

What nobody wrote down is taken to have gone as planned.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from scheduler.model.clock import Clock
from scheduler.model.log import Log
from scheduler.model.past import Begun, Past
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.reshuffle.crew_past import crew_past, somebody_is_missing, soonest_help
from scheduler.reshuffle.facts import Facts, facts_of
from scheduler.reshuffle.fires_past import fires_past
from scheduler.reshuffle.kitchen import as_it_is
from scheduler.reshuffle.whereabouts import begun_load


@dataclass(frozen=True, slots=True)
class State:
    """All that is known at a moment."""

    plan: Plan
    """As it was until now."""
    scenario: Scenario
    """As the kitchen now is."""
    facts: Facts
    now_min: int
    past: Past
    same_kitchen: bool
    """True if the log changes nothing in the kitchen, the crew, the orders."""
    missing: dict[str, int]
    """Pieces by cut that were not delivered, of those not yet loaded."""
    notes: tuple[str, ...]
    """What had to be put right to read the log, and what it says that the plan does not know."""

    @property
    def clock(self) -> Clock:
        """Minutes and times of the weekend."""
        return self.scenario.weekend.timeline

    @property
    def from_min(self) -> int:
        """From when on the plan may change: the next step of its grid."""
        return self.past.from_min


def state_at(plan: Plan, scenario: Scenario, log: Log, at: datetime, before: Past | None = None) -> State:
    """The state at a moment. `before` is what was fixed when the plan itself was made on the way, if it was."""
    known = log.until(at)
    facts = facts_of(known, scenario)
    clock = scenario.weekend.timeline
    now = max(0, clock.minute(at))
    grid = plan.certificate.grid_min
    from_min = -(-now // grid) * grid
    since = 0 if before is None else before.from_min
    current = as_it_is(scenario, facts, since)
    found: list[Begun] = []
    losses = list(plan.losses)
    fires = fires_past(plan, scenario, facts, from_min)
    for load in plan.loads:
        begun, thrown = begun_load(load, scenario, facts, fires, from_min, before)
        losses += thrown
        if begun is not None:
            found.append(begun)
    shifts, cut_short, tasks = crew_past(plan, clock, facts, from_min, before)
    missed = somebody_is_missing(plan, clock, facts, shifts, from_min)
    past = Past(
        from_min=from_min,
        helped_min=soonest_help(now, grid) if missed else from_min,
        begun=tuple(found),
        fires=fires,
        shifts=shifts,
        cut_short=cut_short,
        tasks=tasks,
        losses=tuple(losses),
    )
    missing: Counter[str] = Counter()
    for minute, cut, pieces in facts.undelivered:
        if minute >= since:
            missing[cut] += pieces
    notes = (*known.notes, *_unknown(plan, scenario, facts))
    return State(plan, current, facts, now, past, current == scenario, dict(missing), notes)


def _unknown(plan: Plan, scenario: Scenario, facts: Facts) -> Iterator[str]:
    """What the log names and the plan does not know: told, and left out."""
    codes = {load.code for load in plan.loads} | {loss.load for loss in plan.losses}
    for code in sorted(facts.loads.keys() - codes):
        yield f"The log speaks of load {code}, which the plan does not have; that is left out."
    places = {place.name for place in scenario.site.places}
    for outage in facts.outages:
        if outage.place not in places:
            yield f"The log speaks of {outage.place}, which the kitchen does not have; that is left out."
    people = {person.name for person in scenario.crew.people}
    for name in sorted({a.person for a in facts.absences} | {name for name, _ in facts.arrived}):
        if name not in people:
            yield f"The log speaks of {name}, who is not of the crew; that is left out."


def went_as_planned(state: State) -> bool:
    """True if nothing that the log says asks for another plan."""
    quiet = state.same_kitchen and not state.missing and state.facts.wood_lb is None
    return quiet and not any(_off_plan(state, state.plan)) and not any(_off_shift(state, state.plan))


def _off_shift(state: State, plan: Plan) -> Iterator[bool]:
    """Where the hours of a shift are not as planned."""
    hours = {run.code: (run.start_min, run.end_min) for run in state.past.shifts}
    for shift in plan.shifts:
        start, end = state.clock.minute(shift.starts_at), state.clock.minute(shift.ends_at)
        yield start < state.from_min and hours.get(shift.code) != (start, end)


def _off_plan(state: State, plan: Plan) -> Iterator[bool]:
    """Where a load or a fire is not as planned."""
    minute = state.clock.minute
    for begun in state.past.begun:
        load = plan.load(begun.code)
        facts = state.facts.load(begun.code)
        yield begun.load_min != minute(load.load_at) or begun.pieces != load.pieces
        yield begun.first.place != load.smoker or begun.first.rack != load.rack
        yield len(begun.stops) != sum(minute(stop.at) < state.from_min for stop in load.stops)
        yield begun.wrap_min is not None and load.wrap_at is not None and begun.wrap_min != minute(load.wrap_at)
        yield bool(facts.readings) or (facts.done is not None and not _in_range(begun, state, plan))
        yield begun.hold_place != load.hold_place
    codes = {begun.code for begun in state.past.begun}
    for load in plan.loads:
        yield load.code not in codes and minute(load.load_at) < state.from_min
    logged = {(fire.firebox, fire.lit_min) for fire in state.past.fires}
    for fire in plan.fires:
        lit = minute(fire.lit_at)
        yield lit < state.from_min and (fire.firebox, lit) not in logged


def _in_range(begun: Begun, state: State, plan: Plan) -> bool:
    load = plan.load(begun.code)
    early, late = state.clock.minute(load.early_done_at), state.clock.minute(load.late_done_at)
    return early <= begun.spread[1] <= late
