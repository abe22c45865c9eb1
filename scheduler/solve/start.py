"""A plan on the board as a point of the flow model, to start the solver from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np

from scheduler.solve.board import Board, Placed
from scheduler.solve.flow import FlowModel
from scheduler.solve.flow_fire import FireColumns
from scheduler.solve.flow_streams import StreamColumns
from scheduler.solve.milp import Floats, RunningTotal
from scheduler.solve.zones import Zones


def integers_of(model: FlowModel, board: Board) -> tuple[list[int], list[float]]:
    """Integer columns of the model and their values in a plan; the rest follows from the rows."""
    x: Floats = np.zeros(model.milp.size[1])
    enter_loads(x, model.zones, model.streams, board, board.placed)
    enter_fires(x, dict(enumerate(model.fires)), board)
    for d, (short, made) in enumerate(zip(model.shorts, board.made(), strict=True)):
        x[short] = board.grid.demands[d].pieces - made
    for option, column in zip(board.grid.shifts, model.shifts, strict=True):
        x[column] = float(option in board.frame.shifts)
    chosen = np.flatnonzero(model.milp.integer)
    return chosen.tolist(), x[chosen].tolist()


def enter_loads(x: Floats, zones: Zones, streams: list[StreamColumns], board: Board, loads: Iterable[Placed]) -> None:
    """Put loads into a point."""
    zone_of = zones.zone_of
    for load in loads:
        columns = streams[load.stream]
        finish = zone_of[board.spots[load.finish_spot].place]
        x[columns.by_demand[finish, load.demand, load.finish_step]] += load.pieces
        _add(x, columns.finishing[finish], load.finish_step, load.pieces)
        if load.wrap_step is not None:
            smoke = zone_of[board.spots[load.smoke_spot].place]
            _add(x, columns.loaded[smoke], load.load_step, load.pieces)
            _add(x, columns.wrapped[smoke], load.wrap_step, load.pieces)


def enter_fires(x: Floats, fires: Mapping[int, FireColumns], board: Board) -> None:
    """Put the burns of some fireboxes into a point."""
    for burn in board.frame.burns(board.grid):
        if burn.firebox in fires:
            x[fires[burn.firebox].lit[burn.lit : burn.out]] = 1
            x[fires[burn.firebox].lighting[burn.lit]] = 1
    for firebox, fire in fires.items():
        levels = board.frame.levels[firebox]
        for step in np.flatnonzero(levels):
            x[fire.holds[int(levels[step])][step]] = 1


def _add(x: Floats, total: RunningTotal, step: int, pieces: int) -> None:
    for column, _ in total.at(step):
        x[column] += pieces
