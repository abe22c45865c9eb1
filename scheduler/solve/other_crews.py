"""From a crew to a cheaper one: a shift more, a shift less, or one in place of another, until none of these is better.

What is compared is the least that the melted kitchen costs with a crew. Most crews beside a good one are absurd, as
nobody is at the counter or tends a fire; that is soon seen on steps of an hour, where a crew takes a tenth of a second.
Those that are left take HiGHS half a second each, and mostly two or three of them have to be looked at.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from scheduler.solve.crew_prices import CrewPrices, lawful
from scheduler.solve.grid import Grid, build_grid
from scheduler.solve.improve import Crew
from scheduler.solve.milp import Floats
from scheduler.solve.scout import COARSE_MIN

ABSURD = 1.2
"""A crew that costs so many times as much as the present one, on the coarse grid, is not looked at on the fine one."""
LEAST_CENTS = 100.0
"""A crew that is not cheaper by so much is none."""


def cheaper_crew(grid: Grid, crew: Crew, stop: Callable[[], bool]) -> Crew:
    """The cheapest crew that such steps lead to, or come to before `stop` says so; the same crew if it is that one."""
    return _Descent(grid, crew).run(stop)


class _Descent:
    """Crews are rows of 0 and 1, a column each shift of the fine grid."""

    def __init__(self, grid: Grid, crew: Crew) -> None:
        self._grid = grid
        self._lawful = lawful(grid)
        self._fine = CrewPrices(grid)
        self._rough = CrewPrices(coarse := build_grid(grid.scenario, COARSE_MIN))
        number = {option: i for i, option in enumerate(grid.shifts)}
        self._columns = [number[option] for option in coarse.shifts]
        self._seen: set[bytes] = set()
        """Crews that were looked at on the coarse grid."""
        self._crew = np.array([float(option in crew) for option in grid.shifts])

    def run(self, stop: Callable[[], bool]) -> Crew:
        rough, fine = self._look_roughly(self._crew), self._fine.look(self._crew)
        while rough is not None and fine is not None and not stop():
            found = self._step(rough, fine, stop)
            if found is None:
                break
            rough, fine = found
        return tuple(self._grid.shifts[i] for i in np.flatnonzero(self._crew))

    def _step(self, rough: float, fine: float, stop: Callable[[], bool]) -> tuple[float, float] | None:
        """One step to a cheaper crew, and what that costs on both grids; None where there is none."""
        near = self._neighbours()
        while not stop():
            on_fine, on_rough = self._fine.least(near), self._rough.least(near[:, self._columns])
            hopeful = np.flatnonzero((on_fine < fine - LEAST_CENTS) & (on_rough < rough * ABSURD))
            if not len(hopeful):
                return None
            crew = near[hopeful[np.maximum(on_fine / fine, on_rough / rough)[hopeful].argmin()]]
            if crew.tobytes() not in self._seen:
                if self._look_roughly(crew) is None:
                    return None
                continue
            cents = self._fine.look(crew)
            if cents is None:
                return None
            if cents < fine - LEAST_CENTS:
                self._crew = crew
                return float(self._rough.least(crew[None, self._columns])[0]), cents
        return None

    def _look_roughly(self, crew: Floats) -> float | None:
        self._seen.add(crew.tobytes())
        return self._rough.look(crew[self._columns])

    def _neighbours(self) -> NDArray[np.float64]:
        """Lawful crews that differ by one shift, or by one in place of another."""
        shifts = len(self._crew)
        flipped = np.abs(self._crew - np.eye(shifts))
        on, off = np.flatnonzero(self._crew > 0.5), np.flatnonzero(self._crew < 0.5)
        swapped = np.repeat(self._crew[None], len(on) * len(off), axis=0)
        each = np.arange(len(swapped))
        swapped[each, np.repeat(on, len(off))] = 0.0
        swapped[each, np.tile(off, len(on))] = 1.0
        near = np.vstack((flipped, swapped))
        return near[self._lawful(near)]
