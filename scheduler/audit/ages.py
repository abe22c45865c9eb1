"""What the law lets a person do, at the youngest age they can be."""

from __future__ import annotations

from datetime import date

from scheduler.model.crew import SKILL_OF, Person, Skill, TaskKind
from scheduler.trade.minors import ADULT_AGE, forbidden_task, youngest_age

KINDS_OF: dict[Skill, tuple[TaskKind, ...]] = {
    skill: tuple(kind for kind, needed in SKILL_OF.items() if needed == skill) for skill in SKILL_OF.values()
}
"""The kinds of task that ask for each skill."""


def age_on(person: Person, on: date) -> int:
    """Youngest possible age; 18 for people without birth years, 0 where the birth years make no sense."""
    if person.birth_years is None:
        return ADULT_AGE
    try:
        return youngest_age(person.birth_years, on)
    except ValueError:
        return 0


def legal_skills(person: Person, on: date, power_slicer: bool) -> frozenset[Skill]:
    """The person's skills, less those with any kind of task that the law forbids them on that day."""
    age = age_on(person, on)
    return frozenset(
        skill
        for skill in person.skills
        if all(forbidden_task(age, kind, power_slicer) is None for kind in KINDS_OF[skill])
    )
