"""Hands in the flow model: minutes by skill at each step against the shifts called in."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from itertools import combinations

from scheduler.model.crew import Skill
from scheduler.model.weekend import Weekend
from scheduler.solve.flow_fire import FireColumns, one_fire
from scheduler.solve.grid import Grid
from scheduler.solve.milp import INF, MilpBuilder, RunningTotal, Terms, scaled
from scheduler.solve.shift_options import SKILLS, ShiftOption
from scheduler.trade.minors import hour_limits, youngest_age

UNMANNED_CENTS = 1e7
"""Dearer than any weekend: a counter that cannot be manned is the user's mistake, and is told as one."""


class HandDemand:
    """Hand-minutes asked for by skill and step: linear terms and a constant; and who must be watched."""

    def __init__(self, steps: int) -> None:
        self.steps = steps
        self._terms: defaultdict[tuple[Skill, int], Terms] = defaultdict(list)
        self._constant: defaultdict[tuple[Skill, int], float] = defaultdict(float)
        self.watched: defaultdict[int, list[Terms]] = defaultdict(list)
        """Shares (0 to 1) of the pieces of each wave that may come to done, by step."""

    def add(self, skill: Skill, step: int, terms: Terms, constant: float = 0.0) -> None:
        """Ask for minutes of a skill at a step; steps off the grid are none."""
        if 0 <= step < self.steps:
            self._terms[skill, step] += terms
            self._constant[skill, step] += constant

    def add_amounts(self, skill: Skill, total: RunningTotal, minutes: float) -> None:
        """Ask for minutes for each piece of a running total, at the step of its amount."""
        for step in total.steps:
            self.add(skill, step, scaled(total.at(step), minutes))

    def watch(self, step: int, share: Terms) -> None:
        """A share of a wave may come to done at a step: somebody who can pull must be on shift."""
        self.watched[step].append(share)

    def at(self, skills: frozenset[Skill], step: int) -> tuple[Terms, float]:
        """Terms and constant of several skills together."""
        terms = [term for skill in skills for term in self._terms.get((skill, step), [])]
        return terms, sum(self._constant.get((skill, step), 0.0) for skill in skills)


def build_hands(
    b: MilpBuilder,
    grid: Grid,
    hands: HandDemand,
    fires: list[FireColumns],
    any_cooking: list[int],
) -> tuple[list[int], list[int]]:
    """All rows that tie work to people. Columns of the shifts called in, and of counter hands missing by day."""
    shifts = add_shifts(b, grid)
    ask_for_fire(grid, hands, fires)
    unmanned = _counter_work(b, grid, hands)
    site = grid.scenario.site
    stations_of: tuple[tuple[Skill, int], ...] = (("wrap", site.wrap_tables), ("slice", site.cutting_boards))
    on_shift = _on_shift(grid, shifts)
    for step in range(grid.steps):
        _enough_hands(b, grid, hands, on_shift[step], step)
        _presence(b, grid, hands, fires, any_cooking, on_shift[step], step)
        for skill, stations in stations_of:
            terms, constant = hands.at(frozenset((skill,)), step)
            b.row(-INF, terms, stations * grid.step_min - constant)
    return shifts, unmanned


def add_shifts(b: MilpBuilder, grid: Grid) -> list[int]:
    """Columns of the shifts called in, with their wages, and the rows that keep each person's shifts lawful."""
    shifts = [b.column(1, option.wage_cent_min / 60) for option in grid.shifts]
    _apart(b, grid, shifts)
    _minor_hours(b, grid, shifts)
    return shifts


def _on_shift(grid: Grid, shifts: list[int]) -> list[list[tuple[ShiftOption, int]]]:
    """The shift options that cover each step whole."""
    found: list[list[tuple[ShiftOption, int]]] = [[] for _ in range(grid.steps)]
    for option, column in zip(grid.shifts, shifts, strict=True):
        for step in range(grid.up(option.start_min), min(grid.down(option.end_min), grid.steps)):
            found[step].append((option, column))
    return found


def _apart(b: MilpBuilder, grid: Grid, shifts: list[int]) -> None:
    """A person's shifts lie at least the rest apart: of those that clash with a start, at most one."""
    rest = grid.scenario.crew.least_rest_min
    for option in grid.shifts:
        clash = [
            (column, 1.0)
            for other, column in zip(grid.shifts, shifts, strict=True)
            if other.person.name == option.person.name and other.start_min <= option.start_min < other.end_min + rest
        ]
        if len(clash) > 1:
            b.row(-INF, clash, 1.0)


def _minor_hours(b: MilpBuilder, grid: Grid, shifts: list[int]) -> None:
    """Day and week limits of people under 16 (29 CFR 570.35), counted by the day on which a shift starts."""
    weekend: Weekend = grid.scenario.weekend
    by_day: defaultdict[tuple[str, str, int], Terms] = defaultdict(list)
    for option, column in zip(grid.shifts, shifts, strict=True):
        if option.person.birth_years is None:
            continue
        day = weekend.timeline.moment(option.start_min).date()
        limits = hour_limits(youngest_age(option.person.birth_years, day), day)
        if limits is not None:
            minutes = float(option.end_min - option.start_min)
            by_day[option.person.name, day.isoformat(), limits.day_max_min].append((column, minutes))
            week = f"{day.isocalendar().year} week {day.isocalendar().week}"
            by_day[option.person.name, week, limits.week_max_min].append((column, minutes))
    for (_, _, most), terms in by_day.items():
        b.row(-INF, terms, float(most))


def ask_for_fire(grid: Grid, hands: HandDemand, fires: Iterable[FireColumns], tended_from: int = 0) -> None:
    """Ask for the hands to light, tend (from a step on) and clean out fires."""
    for fire in fires:
        box = fire.firebox
        clean = grid.up(box.clean_out_min)
        for step in range(grid.steps):
            if step >= tended_from:
                hands.add("fire", step, [(fire.lit[step], box.tend_min * grid.step_min / box.tend_every_min)])
            hands.add("fire", step, [(fire.lighting[step], float(box.light_min))])
            for back in range(1, clean + 1):
                each = box.clean_out_min * grid.scenario.crew.hand_minutes_per_h / 60 / clean
                hands.add("fire", step - back, [(fire.relighting[step], each)])


def _counter_work(b: MilpBuilder, grid: Grid, hands: HandDemand) -> list[int]:
    """The counter must be manned. Missing hands have a column for each day, so dear that it is 0 wherever it can be."""
    weekend = grid.scenario.weekend
    give = grid.step_min * grid.scenario.crew.hand_minutes_per_h / 60
    unmanned = []
    for day in weekend.days:
        missing = b.column(day.counter_hands, UNMANNED_CENTS, integer=False)
        unmanned.append(missing)
        opens, closes = grid.minute(weekend.local(day.opens)), grid.minute(weekend.local(day.closes))
        for step in grid.touched(opens, closes):
            hands.add("counter", step, [(missing, -give)], day.counter_hands * give)
    return unmanned


def _enough_hands(
    b: MilpBuilder, grid: Grid, hands: HandDemand, on_shift: list[tuple[ShiftOption, int]], step: int
) -> None:
    """For each set of skills (Hall's condition): minutes asked <= minutes of the people with any of them."""
    give = grid.step_min * grid.scenario.crew.hand_minutes_per_h / 60
    widest: dict[frozenset[int], frozenset[Skill]] = {}
    for size in range(1, len(SKILLS) + 1):
        for some in combinations(SKILLS, size):
            skills = frozenset(some)
            able = frozenset(column for option, column in on_shift if option.skills & skills)
            widest[able] = widest.get(able, frozenset()) | skills
    for able, skills in widest.items():
        terms, constant = hands.at(skills, step)
        b.row(-INF, [*terms, *((column, -give) for column in able)], -constant)


def _presence(
    b: MilpBuilder,
    grid: Grid,
    hands: HandDemand,
    fires: list[FireColumns],
    any_cooking: list[int],
    on_shift: list[tuple[ShiftOption, int]],
    step: int,
) -> None:
    """Somebody tends while a fire is lit, nobody too many of them; somebody who can pull is there while pieces may be
    done.
    """
    tenders: Terms = [(column, 1.0) for option, column in on_shift if "fire" in option.skills]
    each = float(grid.scenario.crew.fires_per_person)
    b.row(-INF, [*((fire.lit[step], 1.0) for fire in fires), *scaled(tenders, -each)], 0.0)
    b.row(-INF, [(one_fire(b, fires, step), 1.0), *scaled(tenders, -1.0)], 0.0)
    b.row(-INF, [(any_cooking[step], 1.0), *scaled(tenders, -1.0)], 0.0)
    pullers: Terms = [(column, 1.0) for option, column in on_shift if "pit" in option.skills]
    there = b.column(1, integer=False)
    b.row(-INF, [(there, 1.0), *scaled(pullers, -1.0)], 0.0)
    for share in hands.watched[step]:
        b.row(-INF, [*share, (there, -1.0)], 0.0)
