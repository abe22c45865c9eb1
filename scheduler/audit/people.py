"""Rules on people: shifts that they may be called in for, tasks that they can do, nobody in two places."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, time
from itertools import pairwise

from scheduler.audit.ages import age_on
from scheduler.audit.breach import Breach
from scheduler.audit.view import ShiftView, View
from scheduler.model.crew import SKILL_OF, WEEKDAYS
from scheduler.model.weekend import minutes_text
from scheduler.trade.minors import forbidden_task, hour_breaches


def shift_day(view: View) -> Iterator[Breach]:
    """A person works only patterns and weekdays that are theirs and the pattern's."""
    for shift in view.shifts:
        if shift.person is None or shift.pattern is None:
            continue
        person, pattern = shift.person, shift.pattern
        # Who is called in once the shift runs comes for the shift of the day on which it began.
        began = shift.end_min - pattern.length_min if _known_hours(view, shift) else shift.start_min
        day = WEEKDAYS[view.words.moment(began).weekday()]
        if person.patterns and pattern.name not in person.patterns:
            why = f"{person.name} does not work the {pattern.name} shift"
        elif person.days and day not in person.days:
            why = f"{person.name} does not start a shift on {day.capitalize()}"
        elif day not in pattern.days:
            why = f"there is no {pattern.name} shift on {day.capitalize()}"
        else:
            continue
        sentence = f"Shift {shift.shift.code} starts {view.words.at(shift.start_min)}, but {why}."
        yield view.breach("shift-day", sentence, at=shift.start_min)


def shift_times(view: View) -> Iterator[Breach]:
    """A shift starts at its pattern's local time and lasts its pattern's length, in elapsed time."""
    for shift in view.shifts:
        if shift.pattern is None or _known_hours(view, shift):
            continue
        if not _starts_right(view, shift, shift.pattern.starts):
            sentence = (
                f"Shift {shift.shift.code} starts {view.words.at(shift.start_min)}, but the {shift.pattern.name} shift "
                f"starts at {shift.pattern.starts:%H:%M} by the clock."
            )
            yield view.breach("shift-times", sentence, at=shift.start_min)
        length = shift.end_min - shift.start_min
        if length != shift.pattern.length_min:
            sentence = (
                f"Shift {shift.shift.code} of {shift.shift.person} lasts {_length_text(length)}, but the "
                f"{shift.pattern.name} shift lasts {minutes_text(shift.pattern.length_min)}."
            )
            yield view.breach("shift-times", sentence, at=shift.start_min)


def _known_hours(view: View, shift: ShiftView) -> bool:
    """Hours that are not the pattern's, as somebody came late or left, or is called in once it runs."""
    if view.past is None:
        return False
    said = shift.shift
    for run in (*view.past.shifts, *view.past.cut_short):
        if (run.person, run.pattern, run.start_min, run.end_min) == (
            said.person,
            said.pattern,
            shift.start_min,
            shift.end_min,
        ):
            return True
    if shift.pattern is None or shift.start_min < view.past.from_min:
        return False
    started = shift.end_min - shift.pattern.length_min
    called_in = started < shift.start_min < shift.end_min
    return called_in and _starts_right(view, replace(shift, start_min=started), shift.pattern.starts)


def _starts_right(view: View, shift: ShiftView, starts: time) -> bool:
    day = view.words.moment(shift.start_min).date()
    try:
        right = view.scenario.weekend.local(datetime.combine(day, starts))
    except ValueError:  # the clock skips that time: nobody can start then
        return False
    return view.minute(right) == shift.start_min


def _length_text(minutes: int) -> str:
    return minutes_text(minutes) if minutes >= 0 else f"minus {minutes_text(-minutes)}"


def shift_length(view: View) -> Iterator[Breach]:
    """No shift is longer than the longest shift."""
    longest = view.scenario.crew.longest_shift_min
    for shift in view.shifts:
        length = shift.end_min - shift.start_min
        if length > longest:
            sentence = (
                f"Shift {shift.shift.code} of {shift.shift.person} lasts {minutes_text(length)}; "
                f"{minutes_text(longest)} is the longest."
            )
            yield view.breach("shift-length", sentence, at=shift.start_min)


def shift_rest(view: View) -> Iterator[Breach]:
    """A person's shifts do not overlap, and between them lies the least rest."""
    least = view.scenario.crew.least_rest_min
    for name, shifts in _by_person(view).items():
        for before, after in pairwise(shifts):
            rest = after.start_min - before.end_min
            if rest < 0:
                sentence = f"{name} is called in twice at once {view.words.at(after.start_min)}."
            elif rest < least:
                sentence = (
                    f"{name} has {minutes_text(rest)} between two shifts before the one "
                    f"{view.words.at(after.start_min)}; {minutes_text(least)} is the least rest."
                )
            else:
                continue
            yield view.breach("shift-rest", sentence, at=after.start_min)


def _by_person(view: View) -> dict[str, list[ShiftView]]:
    found: dict[str, list[ShiftView]] = defaultdict(list)
    for shift in view.shifts:
        found[shift.shift.person].append(shift)
    return found


def away(view: View) -> Iterator[Breach]:
    """Nobody is called in while they are away."""
    weekend = view.scenario.weekend
    for away in weekend.away:
        gone, back = view.minute(weekend.local(away.from_at)), view.minute(weekend.local(away.until_at))
        for shift in view.shifts:
            if shift.shift.person == away.person and gone < shift.end_min and shift.start_min < back:
                sentence = (
                    f"{away.person} is called in for shift {shift.shift.code} {view.words.at(shift.start_min)}, "
                    f"but is away {view.words.day_span(gone, back)}."
                )
                yield view.breach("person-away", sentence, at=max(gone, shift.start_min))


def task_in_shift(view: View) -> Iterator[Breach]:
    """A task lies inside its shift and is done by the shift's person."""
    for task in view.tasks:
        shift = view.shift_of.get(task.task.shift)
        if shift is None:
            continue
        said = task.task
        if said.person != shift.shift.person:
            why = f"is given to {said.person}, but shift {said.shift} is {shift.shift.person}'s"
        elif not task.within(shift.start_min, shift.end_min):
            why = (
                f"of {said.person} is not inside shift {said.shift}, "
                f"{view.words.day_span(shift.start_min, shift.end_min)}"
            )
        else:
            continue
        sentence = f"The {said.kind} task {view.words.at(task.start_min)} {why}."
        yield view.breach("task-shift", sentence, said.loads, task.start_min)


def task_skill(view: View) -> Iterator[Breach]:
    """A person has the skill that the task asks for."""
    people = {person.name: person for person in view.scenario.crew.people}
    for task in view.tasks:
        person, skill = people.get(task.task.person), SKILL_OF[task.task.kind]
        if person is not None and skill not in person.skills:
            sentence = (
                f"{person.name} is given a {task.task.kind} task {view.words.at(task.start_min)}, "
                f"but does not have the skill {skill}."
            )
            yield view.breach("task-skill", sentence, task.task.loads, task.start_min)


def one_place_at_a_time(view: View) -> Iterator[Breach]:
    """No two tasks of a person overlap in time."""
    free_from: dict[str, tuple[int, str]] = {}
    for task in view.tasks:
        said = task.task
        busy_until, busy_with = free_from.get(said.person, (task.start_min, ""))
        if task.start_min < busy_until:
            sentence = (
                f"{said.person} is to {_verb(said.kind)} {view.words.at(task.start_min)} "
                f"while still busy to {_verb(busy_with)} until {view.words.time(busy_until)}."
            )
            yield view.breach("task-overlap", sentence, said.loads, task.start_min)
        if task.end_min >= busy_until:
            free_from[said.person] = (task.end_min, said.kind)


def _verb(kind: str) -> str:
    return "serve at the counter" if kind == "counter" else kind


def young_tasks(view: View) -> Iterator[Breach]:
    """Nobody is given a task that the law forbids at their age (29 CFR 570.33, 570.34, 570.61)."""
    young = {person.name: person for person in view.scenario.crew.people if person.birth_years is not None}
    for task in view.tasks:
        person = young.get(task.task.person)
        if person is None:
            continue
        age = age_on(person, view.words.moment(task.start_min).date())
        reason = forbidden_task(age, task.task.kind, view.scenario.site.power_slicer)
        if reason is not None:
            sentence = f"{person.name} is given a {task.task.kind} task {view.words.at(task.start_min)}: {reason}."
            yield view.breach("young-task", sentence, task.task.loads, task.start_min)


def young_hours(view: View) -> Iterator[Breach]:
    """People under 16 work only the hours that the law allows (29 CFR 570.35)."""
    people = {person.name: person for person in view.scenario.crew.people if person.birth_years is not None}
    for name, shifts in _by_person(view).items():
        person = people.get(name)
        if person is None or person.birth_years is None:
            continue
        spans = [
            (view.words.moment(s.start_min), view.words.moment(s.end_min)) for s in shifts if s.start_min <= s.end_min
        ]
        try:
            found = hour_breaches(person.birth_years, spans)
        except ValueError:
            found = [f"the birth years of {name} make no sense, so no shift can be called lawful"]
        for reason in found:
            yield view.breach("young-hours", f"{name}: {reason}.", at=shifts[0].start_min)
