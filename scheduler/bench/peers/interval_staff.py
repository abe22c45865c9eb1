"""People of the interval model: shifts that may be called in, and all that takes their hands.

What a set of people can give is a resource as large as all shifts together would make it; a shift that is not called
in takes its share of it away.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations, pairwise
from math import ceil

from ortools.sat.python import cp_model

from scheduler.model.crew import Skill
from scheduler.model.site import Firebox
from scheduler.solve.grid import Grid
from scheduler.solve.shift_options import ShiftOption

TENTHS = 10
"""Hand-minutes are counted in tenths."""


class Staff:
    """Shifts and work."""

    def __init__(self, model: cp_model.CpModel, grid: Grid) -> None:
        self._model, self._grid = model, grid
        self.called_in = [model.new_bool_var("") for _ in grid.shifts]
        self._give = int(TENTHS * grid.step_min * grid.scenario.crew.hand_minutes_per_h / 60)
        self._asked: dict[frozenset[Skill], list[tuple[cp_model.IntervalVar, int]]] = {s: [] for s in grid.skill_sets}
        self._fires: list[tuple[cp_model.IntervalVar, int]] = []
        self._stations: dict[Skill, list[tuple[cp_model.IntervalVar, int]]] = {"wrap": [], "slice": []}
        self._always = model.new_constant(1)
        self._nobody_twice()
        weekend = grid.scenario.weekend
        for day in weekend.days:
            steps = grid.touched(grid.minute(weekend.local(day.opens)), grid.minute(weekend.local(day.closes)))
            self._ask("counter", steps.start, len(steps), self._always, day.counter_hands * self._give)

    def _nobody_twice(self) -> None:
        rest = self._grid.scenario.crew.least_rest_min
        for (i, one), (j, other) in combinations(enumerate(self._grid.shifts), 2):
            if one.person.name != other.person.name:
                continue
            if one.start_min < other.end_min + rest and other.start_min < one.end_min + rest:
                self._model.add_at_most_one([self.called_in[i], self.called_in[j]])

    def wages(self) -> Iterable[cp_model.LinearExprT]:
        """Wage of each shift, if it is called in, in sixtieths of a cent."""
        return [option.wage_cent_min * on for option, on in zip(self._grid.shifts, self.called_in, strict=True)]

    def called(self, solver: cp_model.CpSolver) -> tuple[ShiftOption, ...]:
        """The shifts of a solution."""
        pairs = zip(self._grid.shifts, self.called_in, strict=True)
        return tuple(option for option, on in pairs if solver.value(on))

    def work(
        self, skill: Skill, start: cp_model.LinearExprT, steps: int, used: cp_model.IntVar, minutes: float
    ) -> None:
        """Minutes of a skill, spread over steps, if something is so."""
        self._ask(skill, start, steps, used, ceil(minutes * TENTHS / steps - 1e-9))

    def _ask(self, skill: Skill, start: cp_model.LinearExprT, steps: int, used: cp_model.IntVar, tenths: int) -> None:
        if not tenths:
            return
        interval = self._model.new_optional_fixed_size_interval_var(start, steps, used, "")
        for skills, asked in self._asked.items():
            if skill in skills:
                asked.append((interval, tenths))
        if skill in self._stations:
            self._stations[skill].append((interval, tenths))

    def fire(
        self, box: Firebox, lit: cp_model.IntVar, out: cp_model.IntVar, used: cp_model.IntVar, *, again: bool
    ) -> None:
        """A burn is lit, tended on the average, and, if there was one before it, cleaned out first."""
        grid = self._grid
        length = self._model.new_int_var(0, grid.steps, "")
        burning = self._model.new_optional_interval_var(lit, length, out, used, "")
        self._fires.append((burning, 1))
        tend = ceil(TENTHS * box.tend_min * grid.step_min / box.tend_every_min)
        for skills, asked in self._asked.items():
            if "fire" in skills:
                asked.append((burning, tend))
        self.work("fire", lit, 1, used, box.light_min)
        clean = grid.up(box.clean_out_min)
        if again and clean:
            minutes = box.clean_out_min * grid.scenario.crew.hand_minutes_per_h / 60
            self.work("fire", lit - clean, clean, used, minutes)

    def close(self) -> None:
        """Nobody gives more than they have."""
        grid, site = self._grid, self._grid.scenario.site
        for skills, asked in self._asked.items():
            self._limit(skills, asked, self._give)
        self._limit(frozenset({"fire"}), self._fires, grid.scenario.crew.fires_per_person)
        for skill, stations in (("wrap", site.wrap_tables), ("slice", site.cutting_boards)):
            taken = self._stations[skill]  # type: ignore[index]
            room = TENTHS * stations * grid.step_min
            if taken:
                self._model.add_cumulative([i for i, _ in taken], [tenths for _, tenths in taken], room)

    def _limit(self, skills: frozenset[Skill], asked: list[tuple[cp_model.IntervalVar, int]], each: int) -> None:
        grid, model = self._grid, self._model
        able = [
            (grid.up(o.start_min), grid.down(o.end_min), on)
            for o, on in zip(grid.shifts, self.called_in, strict=True)
            if o.skills & skills
        ]
        edges = sorted({0, grid.steps, *(e for first, last, _ in able for e in (first, min(last, grid.steps)))})
        there = {(a, b): sum(first <= a and b <= last for first, last, _ in able) for a, b in pairwise(edges)}
        most = max(there.values())
        taken = list(asked)
        for (first, last), count in there.items():
            if count < most:
                taken.append((model.new_fixed_size_interval_var(first, last - first, ""), each * (most - count)))
        for first, last, on in able:
            last = min(last, grid.steps)
            if first < last:
                gone = model.new_optional_fixed_size_interval_var(first, last - first, on.negated(), "")
                taken.append((gone, each))
        model.add_cumulative([i for i, _ in taken], [size for _, size in taken], each * most)
