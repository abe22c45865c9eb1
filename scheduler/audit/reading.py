"""Lays a plan beside its scenario for the rules to read.

Times are clamped to a week around the weekend, so that no absurd date can make the audit slow.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime, timedelta

from scheduler.audit.ages import legal_skills
from scheduler.audit.sweep import Span
from scheduler.audit.view import DayView, FireView, LoadView, ShiftView, Spot, TaskView, View, WaveKey
from scheduler.audit.words import Words
from scheduler.model.crew import TaskKind
from scheduler.model.past import Past
from scheduler.model.plan import Load, Plan
from scheduler.model.scenario import Scenario
from scheduler.model.weekend import Demand

MARGIN_MIN = 7 * 24 * 60
_MINUTE = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class _Minutes:
    """Whole elapsed minutes since the start, clamped."""

    start: datetime
    low: int
    high: int

    def __call__(self, moment: datetime) -> int:
        # Subtracts wall clocks and offsets apart: never overflows, and is right across a clock change.
        wall = moment.replace(tzinfo=None) - self.start.replace(tzinfo=None)
        shift = (moment.utcoffset() or timedelta()) - (self.start.utcoffset() or timedelta())
        return min(max(round((wall - shift) / _MINUTE), self.low), self.high)

    def after(self, minute: int, more: int) -> int:
        """A minute so much later, clamped."""
        return min(minute + more, self.high)


def look(plan: Plan, scenario: Scenario, past: Past | None = None) -> View:
    """Lay a plan beside a scenario. Never raises on a well-formed plan of a sound scenario."""
    weekend = scenario.weekend
    clock = weekend.timeline
    demands = {(d.cut, d.wave): d for d in weekend.demands()}
    ends = [clock.minute(weekend.local(day.closes)) for day in weekend.days]
    end = max([0, *ends, *(clock.minute(d.served_until_at) for d in demands.values())])
    minute = _Minutes(clock.origin, -MARGIN_MIN, end + MARGIN_MIN)
    loads = _loads(plan, scenario, demands, minute, past)
    shifts = _shifts(plan, scenario, minute)
    tasks = _tasks(plan, minute)
    waves: dict[WaveKey, list[LoadView]] = defaultdict(list)
    for load in loads:
        waves[load.key].append(load)
    by_kind: dict[TaskKind, list[TaskView]] = defaultdict(list)
    for task in tasks:
        by_kind[task.task.kind].append(task)
    return View(
        plan=plan,
        scenario=scenario,
        words=Words(clock, plan.clock == "12h"),
        step_min=plan.certificate.grid_min,
        end_min=end,
        loads=loads,
        by_code={load.code: load for load in loads},
        waves=dict(waves),
        demands=demands,
        fires=_fires(plan, scenario, minute),
        shifts=shifts,
        shift_of={shift.shift.code: shift for shift in shifts},
        tasks=tasks,
        tasks_by_kind=dict(by_kind),
        days=tuple(
            DayView(minute(weekend.local(d.opens)), minute(weekend.local(d.closes)), d.counter_hands)
            for d in weekend.days
        ),
        out_of_use=_out_of_use(scenario, minute),
        past=past,
        minute=minute,
    )


def _spots(scenario: Scenario) -> dict[tuple[str, str | None], Spot]:
    site = scenario.site
    fireboxes = {firebox.name: firebox for firebox in site.fireboxes}
    found: dict[tuple[str, str | None], Spot] = {
        (smoker.name, rack.name): Spot(smoker.name, rack, fireboxes.get(smoker.firebox), None)
        for smoker in site.smokers
        for rack in smoker.racks
    }
    for oven in site.ovens:
        found[oven.name, None] = Spot(oven.name, None, None, oven)
    return found


def _cook_from(load: Load, past: Past | None) -> int | None:
    """From when on it is asked where a load cooks: one in a dead smoker may stay there for a while."""
    if past is None:
        return None
    begun = past.of(load.code, load.part_of)
    return past.from_min if begun is None or begun.leave_by_min is None else max(past.from_min, begun.leave_by_min)


def _loads(
    plan: Plan, scenario: Scenario, demands: dict[WaveKey, Demand], minute: _Minutes, past: Past | None
) -> tuple[LoadView, ...]:
    site = scenario.site
    cuts = {cut.name: cut for cut in scenario.menu.cuts}
    recipes = {(cut.name, recipe.name): recipe for cut in scenario.menu.cuts for recipe in cut.recipes}
    spots = _spots(scenario)
    rests = {shelf.name: shelf for shelf in site.rest_shelves}
    holds = {cabinet.name: cabinet for cabinet in site.hold_cabinets}
    return tuple(
        LoadView(
            load=load,
            cut=cuts.get(load.cut),
            recipe=recipes.get((load.cut, load.recipe)),
            demand=demands.get((load.cut, load.wave)),
            smoke=spots.get((load.smoker, load.rack)),
            finish=spots.get((load.finish_place, load.finish_rack)),
            rest=None if load.rest_place is None else rests.get(load.rest_place),
            hold=None if load.hold_place is None else holds.get(load.hold_place),
            load_min=minute(load.load_at),
            wrap_min=None if load.wrap_at is None else minute(load.wrap_at),
            early_min=minute(load.early_done_at),
            likely_min=minute(load.likely_done_at),
            late_min=minute(load.late_done_at),
            hold_from_min=minute(load.hold_from_at),
            ready_min=minute(load.ready_by_at),
            served_min=minute(load.served_until_at),
            stops=tuple(
                (minute(stop.at), spots[stop.place, stop.rack])
                for stop in load.stops
                if (stop.place, stop.rack) in spots
            ),
            cook_from_min=_cook_from(load, past),
            from_min=None if past is None else past.from_min,
        )
        for load in plan.loads
    )


def _fires(plan: Plan, scenario: Scenario, minute: _Minutes) -> tuple[FireView, ...]:
    fireboxes = {firebox.name: firebox for firebox in scenario.site.fireboxes}
    found = [
        FireView(
            fire=fire,
            firebox=fireboxes.get(fire.firebox),
            lit_min=minute(fire.lit_at),
            ready_min=minute(fire.ready_at),
            out_min=minute(fire.out_at),
            setpoints=tuple((minute(s.from_at), s.setpoint_f) for s in fire.setpoints),
        )
        for fire in plan.fires
    ]
    return tuple(sorted(found, key=lambda fire: fire.lit_min))


def _shifts(plan: Plan, scenario: Scenario, minute: _Minutes) -> tuple[ShiftView, ...]:
    people = {person.name: person for person in scenario.crew.people}
    patterns = {pattern.name: pattern for pattern in scenario.crew.patterns}
    clock = scenario.weekend.timeline
    found = []
    for shift in plan.shifts:
        person = people.get(shift.person)
        start = minute(shift.starts_at)
        skills = (
            frozenset()
            if person is None
            else legal_skills(person, clock.moment(start).date(), scenario.site.power_slicer)
        )
        found.append(ShiftView(shift, person, patterns.get(shift.pattern), start, minute(shift.ends_at), skills))
    return tuple(sorted(found, key=lambda shift: (shift.start_min, shift.end_min)))


def _tasks(plan: Plan, minute: _Minutes) -> tuple[TaskView, ...]:
    found = []
    for task in plan.tasks:
        start = minute(task.at)
        found.append(TaskView(task, start, minute.after(start, task.minutes)))
    return tuple(sorted(found, key=lambda task: task.start_min))


def _out_of_use(scenario: Scenario, minute: _Minutes) -> dict[str, list[Span]]:
    weekend = scenario.weekend
    found: dict[str, list[Span]] = defaultdict(list)
    for out in weekend.out_of_use:
        start = minute.low if out.from_at is None else minute(weekend.local(out.from_at))
        end = minute.high if out.until_at is None else minute(weekend.local(out.until_at))
        found[out.place].append((start, end))
    return dict(found)
