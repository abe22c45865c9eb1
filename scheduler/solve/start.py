"""A plan on the board as a point of the flow model, to start the solver from."""

from __future__ import annotations

import numpy as np

from scheduler.solve.board import Board
from scheduler.solve.flow import FlowModel
from scheduler.solve.milp import Floats, RunningTotal


def integers_of(model: FlowModel, board: Board) -> tuple[list[int], list[float]]:
    """Integer columns of the model and their values in a plan; the rest follows from the rows."""
    x: Floats = np.zeros(model.milp.size[1])
    zone_of = {place: z for z, places in enumerate(model.zones.zones) for place in places}
    for load in board.placed:
        columns = model.streams[load.stream]
        finish = zone_of[board.spots[load.finish_spot].place]
        x[columns.by_demand[finish, load.demand, load.finish_step]] += load.pieces
        _add(x, columns.finishing[finish], load.finish_step, load.pieces)
        if load.wrap_step is not None:
            smoke = zone_of[board.spots[load.smoke_spot].place]
            _add(x, columns.loaded[smoke], load.load_step, load.pieces)
            _add(x, columns.wrapped[smoke], load.wrap_step, load.pieces)
    for d, (short, made) in enumerate(zip(model.shorts, board.made(), strict=True)):
        x[short] = board.grid.demands[d].pieces - made
    for burn in board.frame.burns(board.grid):
        fire = model.fires[burn.firebox]
        x[fire.lit[burn.lit : burn.out]] = 1
        x[fire.lighting[burn.lit]] = 1
    for firebox, levels in enumerate(board.frame.levels):
        for step in np.flatnonzero(levels):
            x[model.fires[firebox].holds[int(levels[step])][step]] = 1
    for option, column in zip(board.grid.shifts, model.shifts, strict=True):
        x[column] = float(option in board.frame.shifts)
    chosen = np.flatnonzero(model.milp.integer)
    return chosen.tolist(), x[chosen].tolist()


def _add(x: Floats, total: RunningTotal, step: int, pieces: int) -> None:
    for column, _ in total.at(step):
        x[column] += pieces
