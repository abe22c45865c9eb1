"""Which shifts to call in for given loads and burns: the cheapest cover, solved exactly (a small program)."""

from __future__ import annotations

from collections import defaultdict

import numpy as np

from scheduler.model.crew import Skill
from scheduler.solve.board import Board
from scheduler.solve.flow_hands import UNMANNED_CENTS, add_shifts
from scheduler.solve.grid import Grid
from scheduler.solve.hands import Hands
from scheduler.solve.highs import Effort, solve
from scheduler.solve.milp import INF, MilpBuilder
from scheduler.solve.shift_options import ShiftOption

SHORTFALL_CENTS = 3e4
"""Price of a person missing for a while; loads are then taken off or moved until the work fits."""
ALONE_CENTS = 1e6
"""Price of a fire that nobody tends, or of pieces that nobody pulls."""
EFFORT = Effort(nodes=200, gap=1e-3)


def roster(board: Board) -> tuple[ShiftOption, ...]:
    """The cheapest shifts that do all the work on a board, whatever shifts its frame has."""
    grid = board.grid
    b = MilpBuilder()
    columns = add_shifts(b, grid)
    for (able, price), count in _needs(board, columns).items():
        missing = b.column(INF, price, integer=False)
        b.row(count, [*((column, 1.0) for column in able), (missing, 1.0)], INF)
    answer = solve(b.finish(), EFFORT)
    if answer.x is None:
        return ()
    return tuple(option for option, column in zip(grid.shifts, columns, strict=True) if answer.x[column] > 0.5)


def _needs(board: Board, columns: list[int]) -> dict[tuple[frozenset[int], float], float]:
    """For each set of shifts (as columns) that can help, and price of a person missing: the most people ever asked."""
    grid = board.grid
    give = grid.step_min * grid.scenario.crew.hand_minutes_per_h / 60
    work = work_alone(board)
    fires, pulls = _watching(board)
    counter = _counter_open(grid)
    needs: defaultdict[tuple[frozenset[int], float], float] = defaultdict(float)
    for step in range(grid.steps):
        there = [
            (option, column)
            for option, column in zip(grid.shifts, columns, strict=True)
            if grid.up(option.start_min) <= step < grid.down(option.end_min)
        ]
        tenders = -(-fires[step] // grid.scenario.crew.fires_per_person)
        asked: list[tuple[frozenset[Skill], float, float]] = [
            (frozenset({"fire"}), float(tenders), ALONE_CENTS),
            (frozenset({"pit"}), float(pulls[step]), ALONE_CENTS),
            (frozenset({"counter"}), float(counter[step]), UNMANNED_CENTS),
            *((skills, float(-left[step]) / give, SHORTFALL_CENTS) for skills, left in work.left),
        ]
        for skills, people, price in asked:
            if people <= 1e-9:
                continue
            # Who can help is whole people, so a fraction asked is a person asked.
            able = frozenset(column for option, column in there if option.skills & skills)
            needs[able, price] = max(needs[able, price], float(np.ceil(people - 1e-6)))
    return needs


def work_alone(board: Board) -> Hands:
    """The hands of a board as if nobody were called in: what is left is minus what is asked."""
    bare = Board.empty(board.grid, board.frame.with_shifts(()))
    for load in board.placed:
        bare.put(load)
    return bare.hands


def _watching(board: Board) -> tuple[list[int], list[bool]]:
    """Fires lit, and whether pieces may come to done, by step."""
    fires = [0] * board.grid.steps
    for burn in board.frame.burns(board.grid):
        for step in range(max(0, burn.lit), min(burn.out, board.grid.steps)):
            fires[step] += 1
    pulls = [False] * board.grid.steps
    for load in board.placed:
        for step in board.pull_steps(load):
            pulls[step] = True
    return fires, pulls


def _counter_open(grid: Grid) -> list[int]:
    weekend = grid.scenario.weekend
    counter = [0] * grid.steps
    for day in weekend.days:
        for step in grid.touched(grid.minute(weekend.local(day.opens)), grid.minute(weekend.local(day.closes))):
            counter[step] = max(counter[step], day.counter_hands)
    return counter
