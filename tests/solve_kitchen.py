"""The small invented kitchen of `audit_kitchen` on a grid, and boards laid in it by hand."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np
from audit_kitchen import Kitchen, kitchen

from scheduler.model.plan import Plan
from scheduler.solve.assemble import assemble
from scheduler.solve.board import Board, Placed
from scheduler.solve.flow import FlowModel
from scheduler.solve.frame import Frame
from scheduler.solve.grid import Grid, build_grid
from scheduler.solve.highs import Effort, solve
from scheduler.solve.progress import certificate
from scheduler.solve.settle import everywhere
from scheduler.solve.start import integers_of

TOP, LOW, SOUTH, OVEN = range(4)
"""Spots of the kitchen: racks of the north smoker, the rack of the south one, the oven."""

BRISKETS = Placed(
    stream=0, demand=0, pieces=3, smoke_spot=TOP, finish_spot=TOP, load_step=8, wrap_step=22, rest=0, hold=0
)
"""BR01 of the hand-made plan: loaded at 2:00, wrapped at 5:30, done from 7:00 to 8:30."""
FOR_OAK = replace(BRISKETS, demand=2, pieces=1, finish_spot=OVEN, load_step=9, wrap_step=23)
"""BR02: 15 minutes later, into the oven."""
CHICKENS = Placed(
    stream=1, demand=1, pieces=4, smoke_spot=LOW, finish_spot=LOW, load_step=30, wrap_step=None, rest=-1, hold=0
)
"""CH01: at 7:30 on the low rack, done from 8:50 to 9:30."""
CALLED = {("Ana", "night"), ("Ben", "day"), ("Cal", "service")}


def grid_of(of: Kitchen | None = None, step_min: int = 15) -> Grid:
    """The kitchen on a grid."""
    return build_grid((of or kitchen()).scenario, step_min)


def demand_of(grid: Grid, cut: str, wave: str) -> int:
    """The number of a demand."""
    (found,) = (d for d, demand in enumerate(grid.demands) if (demand.cut, demand.wave) == (cut, wave))
    return found


def open_board(grid: Grid, setpoint: int = 250) -> Board:
    """An empty board with every fire at one setpoint all day and everybody called in."""
    return Board.empty(grid, Frame(everywhere(grid, [setpoint] * len(grid.fireboxes)), grid.shifts))


def frame_of(grid: Grid, *oak: tuple[int, int, int], called: Iterable[tuple[str, str]] = CALLED) -> Frame:
    """The north fire at setpoints from step to step, any other cold, and some shifts called in."""
    levels = np.zeros(grid.steps, dtype=np.int64)
    for first, last, setpoint in oak:
        levels[first:last] = setpoint
    shifts = tuple(option for option in grid.shifts if (option.person.name, option.pattern.name) in set(called))
    return Frame((levels, *(np.zeros_like(levels) for _ in grid.fireboxes[1:])), shifts)


HAND_MADE = ((8, 30, 225), (30, 40, 250))
"""The north fire of the hand-made plan: 225 F from 2:00 am, 250 F from 7:30, out at 10:00."""


def hand_made(grid: Grid) -> Board:
    """The hand-made plan of `audit_kitchen` on a board."""
    board = Board.empty(grid, frame_of(grid, *HAND_MADE))
    for load in (BRISKETS, FOR_OAK, CHICKENS):
        board.put(load)
    return board


def plan_of(board: Board) -> Plan:
    """The plan of a board, without a bound."""
    return assemble(board, certificate(0, None, board.grid.step_min, 0.0, "time", 0)).plan


def fixed_cents(model: FlowModel, board: Board) -> float:
    """Cost of a plan as a point of a flow model: its integers held, the rest solved. inf if it is no point of it."""
    chosen, values = integers_of(model, board)
    lower, upper = model.milp.lower.copy(), model.milp.upper.copy()
    lower[chosen] = values
    upper[chosen] = values
    upper[model.unmanned] = 0  # the dear way out, which only tells that the counter can't be manned at all
    return solve(model.milp, Effort(), lower=lower, upper=upper, relax=True).cost
