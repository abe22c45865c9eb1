"""The bound, found beside the search: no plan on the grid costs less."""

from __future__ import annotations

import os
from multiprocessing import get_context
from multiprocessing.process import BaseProcess
from multiprocessing.sharedctypes import Synchronized

from scheduler.model.scenario import Scenario
from scheduler.solve.flow import build_flow
from scheduler.solve.grid import Grid, build_grid
from scheduler.solve.highs import Effort, solve
from scheduler.solve.zones import melted

ROUNDING_CENTS = 3
"""The parts of a cost are rounded to whole cents one by one; the bound allows for that."""

BEHIND = 2
"""The bound gives way to the two searches a little; it comes to a stand long before they do."""


class Bound:
    """The best bound known so far, cents; it only rises. Nothing in the model is negative, so it starts at 0."""

    def __init__(self, grid: Grid) -> None:
        self._grid = grid
        self._best = 0.0
        # A process, not a thread: HiGHS calls back into the interpreter, and would wait for the search each time.
        context = get_context("spawn")
        self._shared: Synchronized[float] = context.Value("d", 0.0)
        self._process: BaseProcess | None = None

    @property
    def cents(self) -> int:
        """The bound in whole cents."""
        self.rise(self._shared.value)
        return max(0, int(self._best) - ROUNDING_CENTS)

    def start(self) -> None:
        """Work at it in a process of its own."""
        context = get_context("spawn")
        args = (self._grid.scenario, self._grid.step_min, self._shared)
        self._process = context.Process(target=_in_process, args=args, daemon=True)
        self._process.start()

    def work(self, nodes: int) -> None:
        """Work at it here, to a number of nodes: repeatable."""
        self.rise(solve(build_flow(melted(self._grid)).milp, Effort(nodes=nodes)).bound)

    def stop(self) -> None:
        """End the work; what is known stays."""
        if self._process is not None:
            self._process.terminate()
            self._process.join()

    def rise(self, cents: float) -> None:
        """Take over a bound, wherever it was proven."""
        if self._best < cents < 1e15:
            self._best = cents


def _in_process(scenario: Scenario, step_min: int, shared: Synchronized[float]) -> None:
    os.nice(BEHIND)

    def hear(bound: float) -> bool:
        if shared.value < bound < 1e15:
            shared.value = bound
        return False

    answer = solve(build_flow(melted(build_grid(scenario, step_min))).milp, Effort(), progress=hear)
    hear(answer.bound)
