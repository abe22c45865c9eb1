"""Rules on hand-minutes as a whole: in no step is more asked of the crew, the tables or the boards than they can give.

The work of a step may be done by anybody on shift with the skill, so what is asked for by a set of skills must fit into
what the people with any of these skills can give; if that holds for every set, the work can be shared out (Hall's
theorem on systems of distinct representatives, 1935, in its form for divisible work).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from typing import get_args

from scheduler.audit.breach import Breach
from scheduler.audit.sweep import merged
from scheduler.audit.view import LoadView, View
from scheduler.audit.words import counted, joined, number
from scheduler.model.crew import SKILL_OF, Skill, TaskKind

SKILLS: tuple[Skill, ...] = get_args(Skill)
BIT: dict[Skill, int] = {skill: 1 << i for i, skill in enumerate(SKILLS)}
ALL_SETS = 1 << len(SKILLS)
SETS = sorted(range(1, ALL_SETS), key=int.bit_count)
"""Every set of skills but the empty one, as bits, small sets first."""
TINY = 1e-6
"""Minutes; parts of pieces are spread over steps, so sums carry rounding errors."""


@dataclass(slots=True)
class Demand:
    """Hand-minutes asked for in each step, by skill, and those of them at tables and boards."""

    step_min: int
    by_skill: dict[int, list[float]] = field(default_factory=lambda: defaultdict(lambda: [0.0] * len(SKILLS)))
    by_kind: dict[TaskKind, dict[int, float]] = field(
        default_factory=lambda: {"wrap": defaultdict(float), "slice": defaultdict(float)}
    )
    loads: dict[int, list[str]] = field(default_factory=lambda: defaultdict(list))

    def touched(self, start: int, end: int) -> range:
        """Steps touched by [start, end); at least the one that holds the start."""
        first = start // self.step_min
        return range(first, max(-(-end // self.step_min), first + 1))

    def add(self, kind: TaskKind, step: int, minutes: float, load: str = "") -> None:
        """Ask for minutes in one step."""
        if minutes <= 0:
            return
        self.by_skill[step][SKILLS.index(SKILL_OF[kind])] += minutes
        if kind in self.by_kind:
            self.by_kind[kind][step] += minutes
        if load:
            self.loads[step].append(load)

    def spread(self, kind: TaskKind, start: int, end: int, minutes: float, load: str = "") -> None:
        """Ask for minutes evenly over the steps touched by [start, end)."""
        steps = self.touched(start, end)
        for step in steps:
            self.add(kind, step, minutes / len(steps), load)


def demand(view: View) -> Demand:
    """What the loads, the fires and the counter ask of the crew, by step."""
    asked = Demand(view.step_min)
    for load in view.loads:
        _of_load(asked, load)
    _of_fires(asked, view)
    full = view.step_min * view.scenario.crew.hand_minutes_per_h / 60
    for day in view.days:
        for step in asked.touched(day.opens_min, day.closes_min):
            people = min(day.counter_hands, view.counter_most(step * view.step_min))
            asked.add("counter", step, people * full)
    return asked


def _of_load(asked: Demand, load: LoadView) -> None:
    if load.cut is None:
        return
    hands, pieces, code = load.cut.hands, load.load.pieces, load.code
    asked.add("load", load.load_min // asked.step_min, pieces * hands.load_min, code)
    if load.wrap_min is not None:
        asked.add("wrap", load.wrap_min // asked.step_min, pieces * hands.wrap_min, code)
    for at, _ in load.stops:
        asked.add("move", at // asked.step_min, 2 * pieces * hands.load_min, code)
    asked.spread("pull", load.early_min, load.late_min, pieces * hands.pull_min, code)
    asked.spread("slice", load.ready_min, load.served_min, pieces * hands.slice_min, code)


def _of_fires(asked: Demand, view: View) -> None:
    for fire in view.fires:
        if fire.firebox is None:
            continue
        firebox = fire.firebox
        asked.add("light", fire.lit_min // asked.step_min, firebox.light_min)
        if fire.lit_min < fire.out_min:
            each = firebox.tend_min * asked.step_min / firebox.tend_every_min
            for step in asked.touched(fire.lit_min, fire.out_min):
                asked.add("tend", step, each)
    for firebox in view.scenario.site.fireboxes:
        for _, after in pairwise(view.burns_of(firebox.name)):
            # One person's whole attention, at the pace at which people give hand-minutes.
            given = firebox.clean_out_min * view.scenario.crew.hand_minutes_per_h / 60
            asked.spread("clean", after.lit_min - firebox.clean_out_min, after.lit_min, given)


def _crew_by_step(view: View) -> dict[int, tuple[int, ...]]:
    """The skills, as bits, of each person who is on shift during a whole step."""
    people: dict[str, list[tuple[int, int]]] = defaultdict(list)
    skills: dict[str, int] = {}
    for shift in view.shifts:
        mine = sum(BIT[skill] for skill in shift.skills)
        name = shift.shift.person
        people[name].append((shift.start_min, shift.end_min))
        skills[name] = skills.get(name, mine) & mine
    on_shift: dict[int, list[int]] = defaultdict(list)
    for name, spans in people.items():
        for start, end in merged(spans):
            for step in range(-(-start // view.step_min), end // view.step_min):
                on_shift[step].append(skills[name])
    return {step: tuple(sorted(masks)) for step, masks in on_shift.items()}


def _heads(masks: tuple[int, ...]) -> list[int]:
    """For each set of skills, how many people have any of them."""
    return [sum(1 for mask in masks if mask & skills) for skills in range(ALL_SETS)]


def _worst(asked: list[float], heads: list[int], each: float) -> tuple[float, int]:
    """The largest lack of hand-minutes and the set of skills that has it; 0 and no set where nothing lacks.

    Of sets that lack the same the first in `SETS` is told, which is the smallest.
    """
    sums = [0.0] * ALL_SETS
    worst, where = 0.0, 0
    for skills in SETS:
        low = skills & -skills
        sums[skills] = sums[skills ^ low] + asked[low.bit_length() - 1]
        lack = sums[skills] - each * heads[skills]
        if lack > worst + TINY:
            worst, where = lack, skills
    return worst, where


def hand_minutes(view: View) -> Iterator[Breach]:
    """In every step, each set of skills is asked for no more hand-minutes than the people who have them can give."""
    asked = demand(view)
    crew = _crew_by_step(view)
    each = view.step_min * view.scenario.crew.hand_minutes_per_h / 60
    heads_of: dict[tuple[int, ...], list[int]] = {}
    lacking: list[tuple[int, int, float]] = []
    for step in sorted(step for step in asked.by_skill if step * view.step_min >= view.manned_min):
        masks = crew.get(step, ())
        if masks not in heads_of:
            heads_of[masks] = _heads(masks)
        lack, skills = _worst(asked.by_skill[step], heads_of[masks], each)
        if skills:
            lacking.append((step, skills, lack))
    for first, last, skills, lack in _runs(lacking):
        names = joined([skill for skill in SKILLS if BIT[skill] & skills])
        sentence = (
            f"{view.words.day_span(first * view.step_min, (last + 1) * view.step_min)} the work of {names} asks for "
            f"up to {number(lack)} hand-minutes more in a step than the people on shift can give."
        )
        yield view.breach("hand-minutes", sentence, _codes(asked, first, last), first * view.step_min)


def _runs(lacking: list[tuple[int, int, float]]) -> Iterator[tuple[int, int, int, float]]:
    """Neighbouring steps that lack the same skills as one: first, last, skills, the most they lack."""
    run: tuple[int, int, int, float] | None = None
    for step, skills, lack in lacking:
        if run is not None and run[1] == step - 1 and run[2] == skills:
            run = (run[0], step, skills, max(run[3], lack))
            continue
        if run is not None:
            yield run
        run = (step, step, skills, lack)
    if run is not None:
        yield run


def _codes(asked: Demand, first: int, last: int) -> list[str]:
    return list(dict.fromkeys(code for step in range(first, last + 1) for code in asked.loads.get(step, ())))


def wrap_minutes(view: View) -> Iterator[Breach]:
    """In every step, wrapping fits on the wrap tables."""
    yield from _station(view, "wrap", "wrap-minutes", "wrap table", view.scenario.site.wrap_tables)


def slice_minutes(view: View) -> Iterator[Breach]:
    """In every step, slicing fits on the cutting boards."""
    yield from _station(view, "slice", "slice-minutes", "cutting board", view.scenario.site.cutting_boards)


def _station(view: View, kind: TaskKind, code: str, what: str, places: int) -> Iterator[Breach]:
    asked = demand(view)
    room = places * view.step_min
    since = view.from_min
    asked_for = sorted(item for item in asked.by_kind[kind].items() if item[0] * view.step_min >= since)
    lacking = [(step, 1, minutes - room) for step, minutes in asked_for if minutes > room + TINY]
    for first, last, _, lack in _runs(lacking):
        sentence = (
            f"{view.words.day_span(first * view.step_min, (last + 1) * view.step_min)} there are up to {number(lack)} "
            f"more minutes of work to {kind} in a step than fit on {counted(places, what)}."
        )
        yield view.breach(code, sentence, _codes(asked, first, last), first * view.step_min)
