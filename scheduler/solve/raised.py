"""The bound raised in a process of its own, and on the way the crew with which a plan may cost least.

Only who is called in has to be whole; pieces and fires may be parts. That gives most of the bound, by far the soonest.
The kitchen is melted into few zones first, then into more, which raises it further and takes longer. The relaxation by
interior point is nearly whole with few cuts, while the library's own search for points, simplex in smaller programs,
would take most of the time and find nothing better.
"""

from __future__ import annotations

import os
import time
from contextlib import suppress
from dataclasses import replace
from multiprocessing.connection import Connection
from multiprocessing.sharedctypes import Synchronized

from scheduler.model.scenario import Scenario
from scheduler.solve.exact import cells
from scheduler.solve.flow import FlowModel, build_flow
from scheduler.solve.grid import Grid, build_grid
from scheduler.solve.highs import Effort, Improved, central_prices, solve
from scheduler.solve.milp import Floats
from scheduler.solve.prices import least
from scheduler.solve.shift_options import ShiftOption
from scheduler.solve.tied import end_with_parent
from scheduler.solve.zones import alike, hot_racks_apart, ovens_apart

BEHIND, FAR_BEHIND = 2, 15
"""It gives way to the two searches: a little, and much in the last and longest stage."""
STANDS_GAIN, STANDS_S, STANDS_SHARE = 5e-4, 10.0, 2.0
"""A stage is over where the bound gained less than this in so many seconds of the processor, at the least so many times
what was taken to the first bound."""
EFFORT = Effort(gap=3e-4, heuristics=0.0, interior=True)
HUGE_CELLS = 40_000
"""Size of a weekend (`exact.cells`) beyond which it takes HiGHS a minute to have its first relaxation in whole columns;
that by interior point alone is told before."""
NEAR = 1.2
"""A point that costs so many times as much as the bound tells nothing of the crew."""

Numbers = list[int]
"""A crew as numbers of the grid's shifts."""


def cheapest_crew(grid: Grid, crews: Connection, patience_s: float) -> tuple[ShiftOption, ...]:
    """The crew of the first stage when that is over, or the best one after so many seconds; none if none came."""
    numbers: Numbers = []
    until = time.monotonic() + patience_s
    with suppress(EOFError, OSError):
        while crews.poll(max(0.0, until - time.monotonic())):
            told: Numbers | None = crews.recv()
            if told is None:
                break
            numbers = told
    return tuple(grid.shifts[i] for i in numbers)


def raise_bound(scenario: Scenario, step_min: int, shared: Synchronized[float], crews: Connection) -> None:
    """All of the process: the bound goes to `shared` as it rises, crews to `crews`, and None after the first stage."""
    end_with_parent()
    os.nice(BEHIND)
    grid = build_grid(scenario, step_min)
    model, rising = build_flow(ovens_apart(grid)), _Rising(shared)
    if cells(grid) > HUGE_CELLS:
        prices = central_prices(model.milp)
        if prices is not None:
            rising.hear(least(model.milp, prices, [])[0])
    rising.hear(solve(model.crew_whole, EFFORT, improved=_teller(crews, model, rising), progress=rising.hear).bound)
    with suppress(OSError):
        crews.send(None)
    for zones in (hot_racks_apart, alike):
        if zones is alike:
            os.nice(FAR_BEHIND - BEHIND)
        rising = _Rising(shared)
        rising.hear(solve(build_flow(zones(grid)).crew_whole, EFFORT, progress=rising.hear).bound)


def crew_bound(grid: Grid, nodes: int) -> float:
    """The bound of the first stage after so many nodes: repeatable."""
    return solve(build_flow(ovens_apart(grid)).crew_whole, replace(EFFORT, nodes=nodes)).bound


class _Rising:
    """Tells of each higher bound, and sees when a stage is over."""

    def __init__(self, shared: Synchronized[float]) -> None:
        self._shared = shared
        self._began_s = time.process_time()
        self._from, self._since_s, self._patience_s = 0.0, 0.0, 0.0

    @property
    def bound(self) -> float:
        """Of all stages so far."""
        return float(self._shared.value)

    def hear(self, bound: float) -> bool:
        """True where it stands."""
        if not bound < 1e15:
            return False
        self._shared.value = max(self._shared.value, bound)
        now_s = time.process_time()
        if bound > self._from * (1 + STANDS_GAIN):
            if not self._from:
                self._patience_s = max(STANDS_S, STANDS_SHARE * (now_s - self._began_s))
            self._from, self._since_s = bound, now_s
        return self._from > 0 and now_s - self._since_s > self._patience_s


def _teller(crews: Connection, model: FlowModel, rising: _Rising) -> Improved:
    """Sends the crew of each point that is near the bound."""

    def tell(x: Floats, cost: float) -> None:
        if cost <= rising.bound * NEAR:
            with suppress(OSError):  # The other search has ended, or there is none.
                crews.send([i for i, column in enumerate(model.shifts) if x[column] > 0.5])

    return tell
