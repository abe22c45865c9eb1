"""What a crew costs at the least, and what that says of all other crews.

Wages are most of the cost, and with the crew given the melted kitchen's linear relaxation is soon solved. The prices of
its rows bound the cost of any crew, as a constant and a slope for each shift.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from scheduler.solve.flow import build_flow
from scheduler.solve.flow_hands import add_shifts
from scheduler.solve.grid import Grid
from scheduler.solve.highs import Relaxed
from scheduler.solve.milp import Floats, MilpBuilder
from scheduler.solve.prices import least
from scheduler.solve.zones import melted


class CrewPrices:
    """What is known of the cost of crews in the melted kitchen: crews are rows of 0 and 1, a column each shift."""

    def __init__(self, grid: Grid) -> None:
        self._model = build_flow(melted(grid))
        self._relaxed = Relaxed(self._model.milp)
        self._constants: list[float] = []
        self._slopes: list[Floats] = []

    def look(self, crew: Floats) -> float | None:
        """No plan with the crew costs less, cents; None where HiGHS found no optimum. It says something of others."""
        prices = self._relaxed.prices(self._model.shifts, crew)
        if prices is None:
            return None
        constant, slope = least(self._model.milp, prices, self._model.shifts)
        self._constants.append(constant)
        self._slopes.append(slope)
        return constant + float(slope @ crew)

    def least(self, crews: Floats) -> Floats:
        """No plan with each of some crews costs less, cents, by all that was looked at. At least one must have been."""
        most: Floats = (np.array(self._constants) + crews @ np.array(self._slopes).T).max(axis=1)
        return most


def lawful(grid: Grid) -> Callable[[Floats], NDArray[np.bool_]]:
    """Says which of some crews are lawful for each person."""
    b = MilpBuilder()
    add_shifts(b, grid)
    limits = b.finish()
    each = np.zeros(limits.size)
    each[np.repeat(np.arange(len(each)), np.diff(limits.starts)), limits.columns] = limits.values

    def within(crews: Floats) -> NDArray[np.bool_]:
        kept: NDArray[np.bool_] = np.all(crews @ each.T <= limits.row_upper + 1e-9, axis=1)
        return kept

    return within


def wages_cents(grid: Grid) -> Floats:
    """Wages of each shift."""
    return np.array([option.wage_cent_min / 60 for option in grid.shifts])
