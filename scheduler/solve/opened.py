"""Fires that burn wherever they could, for loads to be placed over; what carries nothing is let out again."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from scheduler.solve.frame import Ints
from scheduler.solve.grid import Grid
from scheduler.solve.hands import people_with
from scheduler.solve.shift_options import ShiftOption


def opened_levels(
    grid: Grid, levels: tuple[Ints, ...], shifts: tuple[ShiftOption, ...], cold: Callable[[int], int]
) -> tuple[Ints, ...]:
    """Setpoints as they are and, where cold, each fire's usual one wherever one of the shifts could tend it.

    `cold` gives the setpoint of a firebox that is not to burn at all.
    """
    tended = people_with(grid, shifts, frozenset({"fire"})) > 0
    begun = 0 if grid.pinned is None else grid.pinned.step
    found: list[Ints] = []
    for firebox, held in enumerate(levels):
        burning = held[begun:][held[begun:] > 0]
        usual = int(np.bincount(burning).argmax()) if len(burning) else cold(firebox)
        warm = grid.up(grid.fireboxes[firebox].warm_up_min)
        ready = tended & np.append(np.zeros(warm, dtype=np.bool_), tended[: grid.steps - warm])
        found.append(np.where(held > 0, held, np.where(ready, usual, 0)).astype(np.int64))
    return tuple(found)
