"""Who is there and who could still come, on the grid of a new plan."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from scheduler.audit.ages import legal_skills
from scheduler.model.crew import Skill
from scheduler.model.past import Begun, Counter, Running
from scheduler.reshuffle.crew_past import soonest_help
from scheduler.reshuffle.prices import ChangePrice
from scheduler.reshuffle.state import State
from scheduler.solve.frame import Ints
from scheduler.solve.grid import Grid
from scheduler.solve.hands import people_with
from scheduler.solve.shift_options import ShiftOption, shift_options

MANY = 1000
LATE_WRAP_MIN = 60
LEAST_SHIFT_MIN = 60
"""Nobody is called in for less. Common practice, no source."""


def running_option(state: State, run: Running) -> ShiftOption:
    crew = state.scenario.crew
    person = crew.person(run.person)
    day = state.clock.moment(run.start_min).date()
    skills = legal_skills(person, day, state.scenario.site.power_slicer)
    wage = person.wage_cents_per_h * (run.end_min - run.start_min)
    return ShiftOption(person, skills, crew.pattern(run.pattern), run.start_min, run.end_min, wage)


def to_call(state: State, grid: Grid, running: tuple[ShiftOption, ...]) -> Iterator[ShiftOption]:
    """Shifts that can still be called in: those to come, and what is left of those that run."""
    ran = {(run.person, run.pattern, run.end_min) for run in state.past.shifts}
    soonest = soonest_help(state.now_min, grid.step_min)
    rest = state.scenario.crew.least_rest_min
    planned = {
        (s.person, s.pattern, state.clock.minute(s.starts_at))
        for s in state.plan.shifts
        if state.clock.minute(s.starts_at) >= state.from_min
    }
    for option in shift_options(state.scenario, grid.steps * grid.step_min):
        name, pattern = option.person.name, option.pattern.name
        if (name, pattern, option.end_min) in ran:
            continue
        found = option
        if option.start_min < soonest and (name, pattern, option.start_min) not in planned:
            wage = option.person.wage_cents_per_h * (option.end_min - soonest)
            found = replace(option, start_min=soonest, wage_cent_min=wage)
        long_enough = found is option or found.end_min - soonest >= LEAST_SHIFT_MIN
        if long_enough and not any(_clash(found, run, rest) for run in running):
            yield found


Told = frozenset[tuple[str, str, int]]
"""Person, pattern and end of shifts that people were told of."""


def told_shifts(state: State) -> Told:
    """Shifts of the old plan that are still to come."""
    return frozenset(
        (s.person, s.pattern, state.clock.minute(s.ends_at))
        for s in state.plan.shifts
        if state.clock.minute(s.starts_at) >= state.from_min
    )


def laid_on(option: ShiftOption, told: Told, price: ChangePrice) -> float:
    """Cents laid on a shift: the call for one that nobody was told of, minus that of calling it off for one told."""
    known = (option.person.name, option.pattern.name, option.end_min) in told
    return -price.off if known else price.call


def dearer(option: ShiftOption, told: Told, price: ChangePrice) -> ShiftOption:
    """The same shift with that on its wage (in sixtieths of a cent)."""
    return replace(option, wage_cent_min=option.wage_cent_min + round(60 * laid_on(option, told, price)))


def _clash(option: ShiftOption, run: ShiftOption, rest_min: int) -> bool:
    """True if a person cannot work both, for the rest between them."""
    same = option.person.name == run.person.name
    return same and option.start_min < run.end_min + rest_min and run.start_min < option.end_min + rest_min


def called_shifts(state: State, grid: Grid) -> tuple[ShiftOption, ...]:
    """The shifts of the old plan that can still be worked, those that run included."""
    assert grid.pinned is not None
    options = {(o.person.name, o.pattern.name, o.end_min): o for o in grid.shifts if o not in grid.pinned.running}
    found = list(grid.pinned.running)
    for shift in state.plan.shifts:
        if state.clock.minute(shift.starts_at) >= state.from_min:
            option = options.get((shift.person, shift.pattern, state.clock.minute(shift.ends_at)))
            found += [option] if option is not None else []
    return tuple(found)


def wraps_in_time(begun: Begun, helped_min: int, from_min: int) -> Begun:
    """A wrap that nobody is there for is made once somebody is: within the hour."""
    if begun.window is None or helped_min <= from_min:
        return begun
    return begun.model_copy(update={"window": (begun.window[0], max(begun.window[1], helped_min + LATE_WRAP_MIN))})


def help_step(state: State, grid: Grid, running: tuple[ShiftOption, ...], shifts: tuple[ShiftOption, ...]) -> int:
    """The step before which nobody can stand in for those who are missing at the fires and the pit."""
    step, helped = grid.down(state.from_min), grid.down(state.past.helped_min)
    if helped <= step or step >= grid.steps:
        return step
    skills: tuple[Skill, ...] = ("fire", "pit")
    for skill in skills:
        there, could = (people_with(grid, some, frozenset({skill})) > 0 for some in (running, shifts))
        if not there[step]:
            helped = next((k for k in range(helped, grid.steps) if could[k]), helped)
    return min(helped, grid.steps)


def counter_most(
    grid: Grid, running: tuple[ShiftOption, ...], shifts: tuple[ShiftOption, ...], step: int, helped: int
) -> Ints:
    """The most people that can stand at the counter, by step: those there, and later those who could come."""
    found = np.full(grid.steps, MANY, dtype=np.int64)
    skill: frozenset[Skill] = frozenset({"counter"})
    found[step:helped] = people_with(grid, running, skill)[step:helped].astype(np.int64)
    found[helped:] = people_with(grid, shifts, skill)[helped:].astype(np.int64)
    return found


def counter_spans(grid: Grid, most: Ints, step: int) -> Iterator[Counter]:
    """The same as spans, where a service day asks for more."""
    weekend, g = grid.scenario.weekend, grid.step_min
    for day in weekend.days:
        steps = grid.touched(grid.minute(weekend.local(day.opens)), grid.minute(weekend.local(day.closes)))
        for k in steps:
            if step <= k < grid.steps and most[k] < day.counter_hands:
                yield Counter(from_min=k * g, until_min=(k + 1) * g, most=int(most[k]))
