"""Hand-minutes left at each step under a frame: by set of skills, at wrap tables, at cutting boards."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.model.crew import Skill
from scheduler.model.site import Firebox
from scheduler.solve.fire_rounds import round_extra_min, rounds_of
from scheduler.solve.frame import Burn, Floats, Frame
from scheduler.solve.grid import Grid
from scheduler.solve.pinned import PAST_HEADS
from scheduler.solve.shift_options import SKILLS, ShiftOption


@dataclass(slots=True)
class Hands:
    """Minutes left by set of skills (Hall's condition), at wrap tables and at cutting boards."""

    left: list[tuple[frozenset[Skill], Floats]]
    tables: Floats
    boards: Floats
    pit_there: NDArray[np.bool_]
    """Somebody who can pull is on shift."""

    def spend(self, skill: Skill, steps: slice | int, minutes: float) -> None:
        """Take minutes of a skill at each of the steps; negative gives them back."""
        for skills, left in self.left:
            if skill in skills:
                left[steps] -= minutes
        if skill == "wrap":
            self.tables[steps] -= minutes
        if skill == "slice":
            self.boards[steps] -= minutes

    def overspent(self) -> bool:
        """True if more is asked somewhere than there is, as at a counter that nobody stands at."""
        return any(float(left.min()) < -1e-6 for _, left in self.left)

    def enough(self, skill: Skill, steps: slice) -> bool:
        """True if no minutes of a skill are overspent at the steps."""
        stations = {"wrap": self.tables, "slice": self.boards}.get(skill)
        if stations is not None and stations[steps].min() < -1e-6:
            return False
        return all(left[steps].min() >= -1e-6 for skills, left in self.left if skill in skills)

    def least(self, skill: Skill) -> Floats:
        """Minutes left of a skill at each step, whatever set of skills binds."""
        left = [minutes for skills, minutes in self.left if skill in skills]
        if skill == "wrap":
            left.append(self.tables)
        if skill == "slice":
            left.append(self.boards)
        least: Floats = np.minimum.reduce(left)
        return least


def people_with(grid: Grid, shifts: tuple[ShiftOption, ...], skills: frozenset[Skill]) -> Floats:
    """People on shift with any of the skills, by step; nobody counts twice, even where shifts to choose from
    overlap.
    """
    there: dict[str, NDArray[np.bool_]] = {}
    for option in shifts:
        if option.skills & skills:
            mine = there.setdefault(option.person.name, np.zeros(grid.steps, dtype=np.bool_))
            mine[grid.up(option.start_min) : grid.down(option.end_min)] = True
    people: Floats = np.zeros(grid.steps)
    for on_shift in there.values():
        people += on_shift
    if grid.pinned is not None:
        people[: grid.pinned.step] += PAST_HEADS
    return people


def open_hands(grid: Grid, frame: Frame) -> Hands:
    """Minutes that the shifts of a frame give, less the counter's, the fires' and those spared."""
    shifts = frame.shifts
    crew, site = grid.scenario.crew, grid.scenario.site
    give = grid.step_min * crew.hand_minutes_per_h / 60
    left = [(skills, give * people_with(grid, shifts, skills)) for skills in grid.skill_sets]
    pit = people_with(grid, shifts, frozenset({"pit"})) > 0
    hands = Hands(
        left,
        np.full(grid.steps, float(site.wrap_tables * grid.step_min)),
        np.full(grid.steps, float(site.cutting_boards * grid.step_min)),
        pit,
    )
    weekend = grid.scenario.weekend
    for day in weekend.days:
        steps = grid.touched(grid.minute(weekend.local(day.opens)), grid.minute(weekend.local(day.closes)))
        if grid.pinned is None:
            hands.spend("counter", slice(steps.start, steps.stop), day.counter_hands * give)
            continue
        for k in range(max(steps.start, grid.pinned.step), min(steps.stop, grid.steps)):
            hands.spend("counter", k, min(day.counter_hands, int(grid.pinned.counter[k])) * give)
    spend_on_fires(grid, frame, hands, range(len(grid.fireboxes)))
    for step, minutes in frame.spared:
        for skill in SKILLS:
            hands.spend(skill, step, minutes / len(SKILLS))
    return hands


def spend_on_fires(grid: Grid, frame: Frame, hands: Hands, fires: Container[int], sign: int = 1) -> None:
    """Take the minutes that lighting, tending and cleaning out some fires need, or give them back."""
    burnt: set[int] = set()
    for burn in frame.burns(grid):
        if burn.firebox in fires:
            _fire_work(grid, burn, hands, again=burn.firebox in burnt, sign=sign)
        burnt.add(burn.firebox)


def _fire_work(grid: Grid, burn: Burn, hands: Hands, *, again: bool, sign: int) -> None:
    box = grid.fireboxes[burn.firebox]
    hands.spend("fire", max(0, burn.lit), sign * float(box.light_min))
    asked = 0 if grid.pinned is None else grid.pinned.helped
    lit = slice(max(asked, burn.lit), max(asked, burn.out))
    average = box.tend_min * grid.step_min / box.tend_every_min
    hands.spend("fire", lit, sign * average)
    # A round falls into one step whole.
    extra = round_extra_min(grid, burn.firebox)
    if extra > 0:
        for due in rounds_of(grid, burn):
            if due >= asked:
                hands.spend("fire", due, sign * extra)
    clean = grid.up(box.clean_out_min)
    if again and clean:
        hands.spend("fire", slice(max(0, burn.lit - clean), burn.lit), sign * clean_min_per_step(grid, box))


def clean_min_per_step(grid: Grid, box: Firebox) -> float:
    """Hand-minutes of a clean-out in each of its steps: one person's whole attention, at the crew's pace."""
    return box.clean_out_min * grid.scenario.crew.hand_minutes_per_h / 60 / grid.up(box.clean_out_min)
