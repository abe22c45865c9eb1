"""Which shifts to call in for given loads and burns: the cheapest cover, solved exactly (a small program)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from scheduler.model.crew import Skill
from scheduler.solve.board import Board
from scheduler.solve.flow_hands import UNMANNED_CENTS, add_shifts
from scheduler.solve.frame import Floats
from scheduler.solve.grid import Grid
from scheduler.solve.hands import Hands, share_of
from scheduler.solve.highs import Effort, solve
from scheduler.solve.milp import INF, MilpBuilder
from scheduler.solve.shift_options import ShiftOption

SHORTFALL_CENTS = 3e4
"""Price of a person missing for a while; loads are then taken off or moved until the work fits."""
ALONE_CENTS = 1e6
"""Price of a fire that nobody tends, or of pieces that nobody pulls."""
EFFORT = Effort(nodes=200, gap=1e-3)


def roster(
    board: Board, shortfall_cents: float = SHORTFALL_CENTS, *, hands: Hands | None = None
) -> tuple[ShiftOption, ...]:
    """The cheapest shifts that do the work on a board, whatever shifts its frame has; or the work of some `hands`.

    A person missing for a while counts `shortfall_cents`: the less, the sooner loads are left to be moved out of a rush
    instead of somebody being called in for it.
    """
    grid = board.grid
    b = MilpBuilder()
    columns = add_shifts(b, grid)
    for (able, price), count in _needs(board, columns, shortfall_cents, hands or work_alone(board)).items():
        missing = b.column(INF, price, integer=False)
        b.row(count, [*((column, 1.0) for column in able), (missing, 1.0)], INF)
    for option, column in zip(grid.shifts, columns, strict=True):
        if grid.pinned is not None and option in grid.pinned.running:
            b.row(1, [(column, 1.0)], INF)
    answer = solve(b.finish(), EFFORT)
    if answer.x is None:
        return ()
    return tuple(option for option, column in zip(grid.shifts, columns, strict=True) if answer.x[column] > 0.5)


def _needs(
    board: Board, columns: list[int], shortfall_cents: float, alone: Hands
) -> dict[tuple[frozenset[int], float], float]:
    """For each set of shifts (as columns) that can help, and price of a person missing: the most people ever asked."""
    grid = board.grid
    give = grid.step_min * grid.scenario.crew.hand_minutes_per_h / 60
    fires, pulls = _watching(board)
    asked: list[tuple[frozenset[Skill], Floats, float]] = [
        (frozenset({"fire"}), np.ceil(fires / grid.scenario.crew.fires_per_person), ALONE_CENTS),
        (frozenset({"pit"}), pulls, ALONE_CENTS),
        (frozenset({"counter"}), _counter_open(grid), UNMANNED_CENTS),
        # Who can help is whole people, so a fraction asked is a person asked.
        *(
            (skills, np.ceil(_with_spared(board, skills, -left) / give - 1e-6), shortfall_cents)
            for skills, left in alone.left
        ),
    ]
    needs: defaultdict[tuple[frozenset[int], float], float] = defaultdict(float)
    for steps, there in _stretches(grid, columns):
        for skills, people, price in asked:
            most = float(people[steps].max())
            if most > 0:
                able = frozenset(column for option, column in there if option.skills & skills)
                needs[able, price] = max(needs[able, price], most)
    return needs


def _stretches(grid: Grid, columns: list[int]) -> Iterator[tuple[slice, list[tuple[ShiftOption, int]]]]:
    """Stretches of steps over which the same shifts can be on."""
    ends = {edge for o in grid.shifts for edge in (grid.up(o.start_min), grid.down(o.end_min))}
    edges = sorted({0, grid.steps, *(edge for edge in ends if 0 < edge < grid.steps)})
    for first, last in pairwise(edges):
        there = [
            (option, column)
            for option, column in zip(grid.shifts, columns, strict=True)
            if grid.up(option.start_min) <= first < grid.down(option.end_min)
        ]
        yield slice(first, last), there


def _with_spared(board: Board, skills: frozenset[Skill], asked: Floats) -> Floats:
    """Minutes asked of some skills, and those to be spared where any are asked."""
    minutes = asked.copy()
    for step, spared in board.frame.spared:
        if asked[step] > 0:
            minutes[step] += share_of(skills, spared)
    return minutes


def work_alone(board: Board) -> Hands:
    """The hands of a board as if nobody were called in: what is left is minus what is asked."""
    return board.under(board.frame.with_shifts(())).hands


def _watching(board: Board) -> tuple[Floats, Floats]:
    """Fires lit, and 1 where pieces may come to done, by step."""
    fires, pulls = np.zeros(board.grid.steps), np.zeros(board.grid.steps)
    for burn in board.frame.burns(board.grid):
        fires[max(0, burn.lit) : burn.out] += 1
    for load in board.placed:
        steps = board.pull_steps(load)
        pulls[steps.start : steps.stop] = 1
    if board.grid.pinned is not None:
        fires[: board.grid.pinned.helped] = 0
        pulls[board.grid.pinned.pulls(board.grid)] = 1
    return fires, pulls


def _counter_open(grid: Grid) -> Floats:
    """People wanted at the counter by step."""
    weekend = grid.scenario.weekend
    counter = np.zeros(grid.steps)
    for day in weekend.days:
        steps = grid.touched(grid.minute(weekend.local(day.opens)), grid.minute(weekend.local(day.closes)))
        counter[steps.start : steps.stop] = np.maximum(counter[steps.start : steps.stop], day.counter_hands)
    if grid.pinned is not None:
        counter[: grid.pinned.step] = 0
        counter = np.minimum(counter, grid.pinned.counter)
    return counter
