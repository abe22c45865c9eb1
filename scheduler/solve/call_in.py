"""Who is called in without a roster worked out: hour by hour, the first of the crew list who can do what is missing."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from scheduler.model.crew import Skill
from scheduler.solve.board import Board
from scheduler.solve.frame import Ints
from scheduler.solve.grid import Grid
from scheduler.solve.shift_options import ShiftOption
from scheduler.trade.minors import hour_limits, youngest_age

TINY_MIN = 1e-6


def call_in(board: Board, *, narrow_first: bool = True) -> tuple[ShiftOption, ...]:
    """Shifts for the loads and fires of a board, whatever shifts its frame has.

    Goes through the weekend from its start, first for the fires, then for pieces to be pulled, then for the counter and
    the minutes of all work. Wherever hands are missing, the first of the crew list who can help, and who may work then,
    is called in for the shift that lasts longest from there; for the counter and the rest of the work, people who can't
    tend fires come first. Where nobody can help, the hands stay missing. Where several kinds of work are too much at
    once, the work of fewest skills is manned first, or with `narrow_first` off the work of most.
    """
    return _Caller(board, narrow_first).called()


class _Caller:
    def __init__(self, board: Board, narrow_first: bool) -> None:
        self.grid = board.grid
        bare = Board.empty(board.grid, board.frame.with_shifts(()))
        for load in board.placed:
            bare.put(load)
        self.left = sorted(bare.hands.left, key=lambda pair: (len(pair[0]), sorted(pair[0])), reverse=not narrow_first)
        self.fires, self.pulls = _heads(bare)
        self.tending = np.zeros(board.grid.steps, dtype=np.int64)
        self.pulling = np.zeros(board.grid.steps, dtype=np.int64)
        order = {person.name: i for i, person in enumerate(self.grid.scenario.crew.people)}
        self.options = sorted(self.grid.shifts, key=lambda option: (order[option.person.name], -option.end_min))
        self.chosen: list[ShiftOption] = []

    def called(self) -> tuple[ShiftOption, ...]:
        """The shifts, in order of start."""
        for missing in (self._no_tender, self._no_puller, self._too_few):
            for step in range(self.grid.steps):
                while (option := self._who_helps(step, missing(step))) is not None:
                    self._call(option)
        return tuple(sorted(self.chosen, key=lambda option: (option.start_min, option.end_min, option.person.name)))

    def _no_tender(self, step: int) -> list[frozenset[Skill]]:
        return [frozenset({"fire"})] if self.tending[step] < self.fires[step] else []

    def _no_puller(self, step: int) -> list[frozenset[Skill]]:
        return [frozenset({"pit"})] if self.pulling[step] < self.pulls[step] else []

    def _too_few(self, step: int) -> list[frozenset[Skill]]:
        return [skills for skills, minutes in self.left if minutes[step] < -TINY_MIN]

    def _who_helps(self, step: int, missing: list[frozenset[Skill]]) -> ShiftOption | None:
        """The next to be called for a step; None if nothing is missing there, or nobody can help."""
        for skills in missing:
            able = [option for option in self.options if option.skills & skills]
            if "fire" not in skills:
                able.sort(key=lambda option: "fire" in option.skills)
            for option in able:
                if step in _whole_steps(self.grid, option) and may_also_work(self.grid, option, self.chosen):
                    return option
        return None

    def _call(self, option: ShiftOption) -> None:
        self.chosen.append(option)
        steps = _whole_steps(self.grid, option)
        there = slice(steps.start, steps.stop)
        give = self.grid.step_min * self.grid.scenario.crew.hand_minutes_per_h / 60
        for skills, minutes in self.left:
            if option.skills & skills:
                minutes[there] += give
        self.tending[there] += "fire" in option.skills
        self.pulling[there] += "pit" in option.skills


def may_also_work(grid: Grid, option: ShiftOption, chosen: Iterable[ShiftOption]) -> bool:
    """True if a person may take a shift beside those already chosen: rest between, and the hours of people under 16."""
    rest = grid.scenario.crew.least_rest_min
    mine = [other for other in chosen if other.person.name == option.person.name]
    apart = all(other.end_min + rest <= option.start_min or option.end_min + rest <= other.start_min for other in mine)
    return apart and _within_hours(grid, option, mine)


def _whole_steps(grid: Grid, option: ShiftOption) -> range:
    return range(grid.up(option.start_min), min(grid.down(option.end_min), grid.steps))


def _heads(board: Board) -> tuple[Ints, Ints]:
    """People who must be there by step, however little they do: fire tenders, and one who can pull."""
    grid = board.grid
    fires = np.zeros(grid.steps, dtype=np.int64)
    pulls = np.zeros(grid.steps, dtype=np.int64)
    for burn in board.frame.burns(grid):
        fires[max(0, burn.lit) : burn.out] += 1
    for load in board.placed:
        steps = board.pull_steps(load)
        pulls[steps.start : steps.stop] = 1
    return -(-fires // grid.scenario.crew.fires_per_person), pulls


def _within_hours(grid: Grid, option: ShiftOption, mine: list[ShiftOption]) -> bool:
    """False if the shift takes a person under 16 over the hours of a day or week (29 CFR 570.35)."""
    if option.person.birth_years is None:
        return True
    timeline = grid.scenario.weekend.timeline
    day = timeline.moment(option.start_min).date()
    limits = hour_limits(youngest_age(option.person.birth_years, day), day)
    if limits is None:
        return True
    minutes = option.end_min - option.start_min
    on_day = in_week = minutes
    for other in mine:
        other_day = timeline.moment(other.start_min).date()
        length = other.end_min - other.start_min
        on_day += length if other_day == day else 0
        in_week += length if other_day.isocalendar()[:2] == day.isocalendar()[:2] else 0
    return on_day <= limits.day_max_min and in_week <= limits.week_max_min
