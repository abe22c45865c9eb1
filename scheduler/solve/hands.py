"""Hand-minutes left at each step under a frame: by set of skills, at wrap tables, at cutting boards."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from scheduler.model.crew import Skill
from scheduler.model.site import Firebox
from scheduler.solve.frame import Floats, Frame
from scheduler.solve.grid import Grid
from scheduler.solve.pinned import PAST_HEADS
from scheduler.solve.shift_options import SKILLS, ShiftOption

SPARE_MIN = 5.0
"""Minutes of hands spared at a step whose work could not be shared out, each time."""


@dataclass(slots=True)
class Hands:
    """Minutes left by set of skills (Hall's condition), at wrap tables and at cutting boards."""

    left: list[tuple[frozenset[Skill], Floats]]
    tables: Floats
    boards: Floats
    pit_there: NDArray[np.bool_]
    """Somebody who can pull is on shift."""

    def spend(self, skill: Skill, steps: slice | int, minutes: float | Floats) -> None:
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
    return _Crew(grid, shifts).people(skills)


class _Crew:
    """Who of some shifts is there when, counted by what they can do."""

    def __init__(self, grid: Grid, shifts: tuple[ShiftOption, ...]) -> None:
        self._grid = grid
        there: dict[str, dict[frozenset[Skill], NDArray[np.bool_]]] = {}
        for option in shifts:
            mine = there.setdefault(option.person.name, {})
            if option.skills not in mine:
                mine[option.skills] = np.zeros(grid.steps, dtype=np.bool_)
            mine[option.skills][grid.up(option.start_min) : grid.down(option.end_min)] = True
        self._alike: dict[frozenset[Skill], Floats] = {}
        self._others: list[dict[frozenset[Skill], NDArray[np.bool_]]] = []
        """People who may do more on one day than on another."""
        for mine in there.values():
            if len(mine) > 1:
                self._others.append(mine)
                continue
            ((able, on_shift),) = mine.items()
            self._alike[able] = self._alike.get(able, np.zeros(grid.steps)) + on_shift

    def people(self, skills: frozenset[Skill]) -> Floats:
        """How many have any of the skills, by step."""
        people: Floats = np.zeros(self._grid.steps)
        for able, number in self._alike.items():
            if able & skills:
                people += number
        for mine in self._others:
            with_them = [on_shift for able, on_shift in mine.items() if able & skills]
            if with_them:
                people += np.any(with_them, axis=0)
        if self._grid.pinned is not None:
            people[: self._grid.pinned.step] += PAST_HEADS
        return people


def open_hands(grid: Grid, frame: Frame) -> Hands:
    """Minutes that the shifts of a frame give, less the counter's, the fires' and those spared."""
    hands = crew_hands(grid, frame)
    hands.spend("fire", slice(0, grid.steps), fire_minutes(grid, frame))
    return hands


def crew_hands(grid: Grid, frame: Frame) -> Hands:
    """The same as if no fire burnt."""
    crew, site = grid.scenario.crew, grid.scenario.site
    give = grid.step_min * crew.hand_minutes_per_h / 60
    there = _Crew(grid, frame.shifts)
    left = [(skills, give * there.people(skills)) for skills in grid.skill_sets]
    hands = Hands(
        left,
        np.full(grid.steps, float(site.wrap_tables * grid.step_min)),
        np.full(grid.steps, float(site.cutting_boards * grid.step_min)),
        there.people(frozenset({"pit"})) > 0,
    )
    weekend = grid.scenario.weekend
    for day in weekend.days:
        steps = grid.touched(grid.minute(weekend.local(day.opens)), grid.minute(weekend.local(day.closes)))
        if grid.pinned is None:
            hands.spend("counter", slice(steps.start, steps.stop), day.counter_hands * give)
            continue
        for k in range(max(steps.start, grid.pinned.step), min(steps.stop, grid.steps)):
            hands.spend("counter", k, min(day.counter_hands, int(grid.pinned.counter[k])) * give)
    for step, minutes in frame.spared:
        for skills, free in hands.left:
            free[step] -= min(max(0.0, float(free[step])), share_of(skills, minutes))
    return hands


def share_of(skills: frozenset[Skill], minutes: float) -> float:
    """What some skills have of minutes that are to be spared, all skills the same."""
    return minutes * len(skills) / len(SKILLS)


def fire_minutes(grid: Grid, frame: Frame, fires: Container[int] | None = None) -> Floats:
    """Minutes that the fires of a frame, or some of them, ask by step: lighting, rounds and cleaning out."""
    minutes: Floats = np.zeros(grid.steps)
    burnt: set[int] = set() if grid.pinned is None else grid.pinned.to_clean
    for burn in frame.burns(grid):
        if fires is not None and burn.firebox not in fires:
            continue
        box = grid.fireboxes[burn.firebox]
        clean = grid.up(box.clean_out_min) if burn.firebox in burnt else 0
        minutes += _asked(
            _Fire(
                steps=grid.steps,
                step_min=grid.step_min,
                lit=burn.lit,
                out=burn.out,
                helped=0 if grid.pinned is None else grid.pinned.helped,
                light_min=box.light_min,
                tend_min=box.tend_min,
                tend_every_min=box.tend_every_min,
                extra_min=grid.round_extra_min[burn.firebox],
                clean=clean,
                clean_min=clean_min_per_step(grid, box) if clean else 0.0,
            )
        )
        burnt.add(burn.firebox)
    return minutes


@dataclass(frozen=True, slots=True)
class _Fire:
    """A burn as its work sees it."""

    steps: int
    step_min: int
    lit: int
    out: int
    helped: int
    """No work is asked before this step."""
    light_min: int
    tend_min: int
    tend_every_min: int
    extra_min: float
    """What a round takes of its step beyond the average: it falls into one step whole."""
    clean: int
    """Steps of cleaning out before it is lit."""
    clean_min: float
    """Minutes in each of them."""


@lru_cache(maxsize=4096)
def _asked(fire: _Fire) -> Floats:
    """Minutes by step; from move to move most fires burn as before."""
    minutes: Floats = np.zeros(fire.steps)
    minutes[max(0, fire.lit)] += fire.light_min
    first = max(fire.helped, fire.lit)
    minutes[first : max(fire.helped, fire.out)] += fire.tend_min * fire.step_min / fire.tend_every_min
    if fire.extra_min > 0:
        start, end, every = fire.lit * fire.step_min, fire.out * fire.step_min, fire.tend_every_min
        steps = -(-np.arange(start + every, end, every) // fire.step_min)
        np.add.at(minutes, steps[(steps >= fire.helped) & (steps < fire.steps)], fire.extra_min)
    minutes[max(0, fire.lit - fire.clean) : max(0, fire.lit)] += fire.clean_min
    minutes.setflags(write=False)
    return minutes


def clean_min_per_step(grid: Grid, box: Firebox) -> float:
    """Hand-minutes of a clean-out in each of its steps: one person's whole attention, at the crew's pace."""
    return box.clean_out_min * grid.scenario.crew.hand_minutes_per_h / 60 / grid.up(box.clean_out_min)
