"""Who has been there, and what they have done, before a moment."""

from __future__ import annotations

from scheduler.model.clock import Clock
from scheduler.model.past import Past, Running
from scheduler.model.plan import Plan, Shift, Task
from scheduler.reshuffle.facts import Facts

CALL_MIN = 45
"""From the call until somebody is there. Common practice, no source."""


def soonest_help(now_min: int, grid_min: int) -> int:
    """The step of the grid from which somebody who is called now can work."""
    return -(-(now_min + CALL_MIN) // grid_min) * grid_min


def somebody_is_missing(plan: Plan, clock: Clock, facts: Facts, running: tuple[Running, ...], from_min: int) -> bool:
    """True if a shift that should run at the moment does not."""
    there = {run.code for run in running if run.end_min > from_min}
    gone = {a.person for a in facts.absences if a.until_min is None or a.until_min > from_min}
    for shift in plan.shifts:
        start, end = clock.minute(shift.starts_at), clock.minute(shift.ends_at)
        if start <= from_min < end and shift.code not in there and (start < from_min or shift.person in gone):
            return True
    return False


def crew_past(
    plan: Plan, clock: Clock, facts: Facts, from_min: int, before: Past | None
) -> tuple[tuple[Running, ...], tuple[Running, ...], tuple[Task, ...]]:
    """Shifts that began before, those of them whose hours are not their pattern's, and work done before."""
    running: list[Running] = []
    short: list[Running] = [] if before is None else list(before.cut_short)
    for shift in plan.shifts:
        was = _as_it_was(shift, clock, facts, from_min)
        if was is None:
            continue
        running.append(was)
        if (was.start_min, was.end_min) != (clock.minute(shift.starts_at), clock.minute(shift.ends_at)):
            short.append(was)
    hours = {run.code: (run.start_min, run.end_min) for run in running}
    tasks = [_done(task, clock, hours, from_min) for task in plan.tasks]
    return tuple(running), tuple(short), tuple(task for task in tasks if task is not None)


def _as_it_was(shift: Shift, clock: Clock, facts: Facts, from_min: int) -> Running | None:
    """A shift that has begun, with its hours as they were; None if it has not, or its person never came."""
    start, end = clock.minute(shift.starts_at), clock.minute(shift.ends_at)
    for person, at in facts.arrived:
        if person == shift.person and start < at < end:
            start = at
    for absence in facts.absences:
        back = end if absence.until_min is None else absence.until_min
        if absence.person != shift.person or absence.from_min >= end or back <= start:
            continue
        if absence.from_min > start:
            end = absence.from_min
        elif back < end and back < from_min:
            start = back
        else:
            return None
    if start >= from_min or start >= end:
        return None
    return Running(code=shift.code, person=shift.person, pattern=shift.pattern, start_min=start, end_min=end)


def _done(task: Task, clock: Clock, hours: dict[str, tuple[int, int]], from_min: int) -> Task | None:
    """A task as far as it was done: only by somebody who was there, and what runs on is cut at the moment."""
    start = clock.minute(task.at)
    if task.shift not in hours or start >= from_min:
        return None
    first, last = hours[task.shift]
    end = min(start + task.minutes, last, from_min if task.kind == "counter" else start + task.minutes)
    if start < first or end <= start:
        return None
    return task.model_copy(update={"minutes": end - start})


def doing_now(plan: Plan, clock: Clock, now_min: int) -> dict[str, Task | None]:
    """What each person on shift does at a minute, or does next within the hour."""
    found: dict[str, Task | None] = {}
    for shift in plan.shifts:
        if clock.minute(shift.starts_at) <= now_min < clock.minute(shift.ends_at):
            mine = [t for t in plan.tasks if t.shift == shift.code and now_min < clock.minute(t.at) + t.minutes]
            soon = [t for t in mine if clock.minute(t.at) < now_min + 60]
            found[shift.person] = min(soon, key=_at, default=None)
    return found


def _at(task: Task) -> float:
    return task.at.timestamp()
