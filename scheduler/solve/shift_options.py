"""Shifts that can be called in: who may work which pattern on which day, and with which skills."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import combinations

from scheduler.model.crew import SKILL_OF, WEEKDAYS, Person, ShiftPattern, Skill
from scheduler.model.scenario import Scenario
from scheduler.trade.minors import forbidden_task, hour_breaches, youngest_age

SKILLS: tuple[Skill, ...] = ("fire", "pit", "wrap", "slice", "counter")


@dataclass(frozen=True, slots=True)
class ShiftOption:
    """One person in one pattern on one day."""

    person: Person
    skills: frozenset[Skill]
    """Those of the person's skills that the law lets them use, at their youngest possible age."""
    pattern: ShiftPattern
    start_min: int
    end_min: int
    wage_cent_min: int
    """Wage in sixtieths of a cent."""


def shift_options(scenario: Scenario, horizon_min: int) -> tuple[ShiftOption, ...]:
    """All shifts that start between the start of planning and the horizon, lawful for their person by themselves."""
    weekend, crew = scenario.weekend, scenario.crew
    first_day = weekend.plan_from.date()
    found: list[ShiftOption] = []
    for offset in range(horizon_min // (24 * 60) + 2):
        day = first_day + timedelta(days=offset)
        for pattern in crew.patterns:
            if WEEKDAYS[day.weekday()] not in pattern.days:
                continue
            start = weekend.timeline.minute(weekend.local(datetime.combine(day, pattern.starts)))
            end = start + pattern.length_min
            if start < 0 or start >= horizon_min:
                continue
            for person in crew.people:
                if _can_come(scenario, person, pattern, day.weekday(), start, end):
                    skills = _lawful_skills(scenario, person, day)
                    wage = person.wage_cents_per_h * pattern.length_min
                    found.append(ShiftOption(person, skills, pattern, start, end, wage))
    return tuple(option for option in found if option.skills)


def _can_come(
    scenario: Scenario, person: Person, pattern: ShiftPattern, weekday: int, start_min: int, end_min: int
) -> bool:
    if person.days and WEEKDAYS[weekday] not in person.days:
        return False
    if person.patterns and pattern.name not in person.patterns:
        return False
    weekend = scenario.weekend
    if person.birth_years is not None:
        from_to = weekend.timeline.moment(start_min), weekend.timeline.moment(end_min)
        if hour_breaches(person.birth_years, [from_to]):
            return False
    for away in weekend.away:
        gone = weekend.timeline.minute(weekend.local(away.from_at))
        back = weekend.timeline.minute(weekend.local(away.until_at))
        if away.person == person.name and gone < end_min and start_min < back:
            return False
    return True


def _lawful_skills(scenario: Scenario, person: Person, day: date) -> frozenset[Skill]:
    """The skills of which every kind of task is allowed at the person's youngest possible age."""
    if person.birth_years is None:
        return frozenset(person.skills)
    age = youngest_age(person.birth_years, day)
    barred = {
        skill for kind, skill in SKILL_OF.items() if forbidden_task(age, kind, scenario.site.power_slicer) is not None
    }
    return frozenset(person.skills) - barred


def skill_sets(shifts: tuple[ShiftOption, ...]) -> tuple[frozenset[Skill], ...]:
    """Sets of skills to be watched (Hall's condition): of those that the same people have a part of, the widest."""
    widest: dict[frozenset[str], frozenset[Skill]] = {}
    for size in range(1, len(SKILLS) + 1):
        for some in combinations(SKILLS, size):
            able = frozenset(option.person.name for option in shifts if option.skills & frozenset(some))
            widest[able] = widest.get(able, frozenset()) | frozenset(some)
    return tuple(widest.values())
