"""A load of a plan as it lies on the board."""

from __future__ import annotations

from scheduler.model.plan import Load
from scheduler.solve.board import Placed
from scheduler.solve.grid import Grid


def placed_of(grid: Grid, load: Load) -> Placed | None:
    """A load of a plan on the board; None if it names what the kitchen does not have, or is off the grid."""
    start = grid.minute(load.load_at)
    wrap = None if load.wrap_at is None else grid.minute(load.wrap_at)
    if start % grid.step_min or (wrap or 0) % grid.step_min:
        return None
    try:
        return Placed(
            stream=grid.stream_of[load.cut, load.recipe],
            demand=grid.demand_of[load.cut, load.wave],
            pieces=load.pieces,
            smoke_spot=grid.spot_of[load.smoker, load.rack],
            finish_spot=grid.spot_of[load.finish_place, load.finish_rack],
            load_step=grid.down(start),
            wrap_step=None if wrap is None else grid.down(wrap),
            rest=grid.shelf_of[load.rest_place],
            hold=grid.shelf_of[load.hold_place],
        )
    except KeyError:
        return None
