"""Which crew is worth most looking at, where few are lawful, and what a plan with each of them costs at the least.

Wages are most of the cost of a small weekend, and with the crew given the rest is nearly a linear program. So crews are
listed one by one. The linear relaxation of the melted kitchen with one crew, by its prices, says something of all of
them: mostly a dozen of some hundred crews have to be looked at until the cheapest is one of these.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from scheduler.solve.crew_prices import CrewPrices, lawful, wages_cents
from scheduler.solve.exact import cells
from scheduler.solve.flow import FlowModel, build_flow
from scheduler.solve.grid import Grid
from scheduler.solve.highs import Effort, solve
from scheduler.solve.milp import INF, Floats
from scheduler.solve.shift_options import ShiftOption
from scheduler.solve.zones import alike

MOST_CREWS = 2000
"""Lawful crews up to which they are listed."""
MOST_CELLS = 1500
"""Size of a weekend (`cells`) up to which it pays: its linear programs take less than a second each."""

Stop = Callable[[], bool]


class Crews:
    """Lawful crews of a small weekend; of those that differ only in who of like people comes, the cheapest."""

    def __init__(self, grid: Grid, members: Floats) -> None:
        self.grid = grid
        self.members = members
        """1 for each shift called in, a row a crew."""
        self.least: Floats = members @ wages_cents(grid)
        """No plan with that crew costs less, cents."""

    @property
    def bound(self) -> float:
        """No plan costs less, whoever is called in."""
        return float(self.least.min())

    @property
    def cheapest(self) -> int:
        """The crew with which a plan may cost least."""
        return int(self.least.argmin())

    def shifts(self, crew: int) -> tuple[ShiftOption, ...]:
        """The shifts of a crew."""
        return tuple(self.grid.shifts[i] for i in np.flatnonzero(self.members[crew]))

    def compare(self, stop: Stop) -> int:
        """Look at one crew after another in the melted kitchen, until the cheapest is one of them."""
        prices = CrewPrices(self.grid)
        seen: set[int] = set()
        while not stop() and self.cheapest not in seen:
            crew = self.cheapest
            seen.add(crew)
            if prices.look(self.members[crew]) is None:
                break
            self.least = np.maximum(self.least, prices.least(self.members))
        return self.cheapest

    def prove(self, stop: Stop, until: float = INF) -> None:
        """Raise what the cheapest crew costs, place by place but for like racks; another crew may then be cheapest.

        Until a time of the monotonic clock, as HiGHS may not ask for long whether to stop.
        """
        model = build_flow(alike(self.grid), lean=True)
        proven: set[int] = set()
        while not stop() and self.cheapest not in proven and (left_s := until - time.monotonic()) > 0:
            crew = self.cheapest
            if self._raise(model, crew, stop, left_s):
                proven.add(crew)

    def _raise(self, model: FlowModel, crew: int, stop: Stop, left_s: float) -> bool:
        """True if the crew is solved to the end; False if stopped, or another crew has become the cheapest."""

        def hear(bound: float) -> bool:
            self.least[crew] = max(self.least[crew], bound)
            return stop() or self.cheapest != crew

        lower, upper = model.milp.lower.copy(), model.milp.upper.copy()
        lower[model.shifts] = upper[model.shifts] = self.members[crew]
        answer = solve(model.milp, Effort(seconds=left_s, heuristics=0.0), lower=lower, upper=upper, progress=hear)
        hear(answer.bound)
        return answer.proven


def few_crews(grid: Grid) -> Crews | None:
    """The crews of a weekend small enough to list them; None for others, and where a plan is changed on the way."""
    if grid.pinned is not None or cells(grid) > MOST_CELLS:
        return None
    members = _lawful(grid)
    return None if members is None else Crews(grid, members[_cheapest_of_kind(grid, members)])


def _lawful(grid: Grid) -> Floats | None:
    """Every set of shifts that is lawful for each person; None if there are too many."""
    columns, within = len(grid.shifts), lawful(grid)
    crews = np.zeros((1, columns))
    for shift in range(columns):
        more = crews.copy()
        more[:, shift] = 1.0
        crews = np.vstack((crews, more[within(more)]))
        if len(crews) > MOST_CREWS:
            return None
    return crews


def _cheapest_of_kind(grid: Grid, members: Floats) -> NDArray[np.int64]:
    """Of crews with the same skills at the same hours, the cheapest: people of a kind can do each other's work."""
    kinds = [(o.start_min, o.end_min, sorted(o.skills)) for o in grid.shifts]
    wages = members @ wages_cents(grid)
    best: dict[str, int] = {}
    for crew in np.argsort(wages, kind="stable"):
        best.setdefault(repr(sorted(kinds[i] for i in np.flatnonzero(members[crew]))), int(crew))
    return np.array(sorted(best.values()), dtype=np.int64)
