"""The bound, found beside the search: no plan on the grid costs less."""

from __future__ import annotations

from threading import Event, Thread

from scheduler.solve.flow import build_flow
from scheduler.solve.grid import Grid
from scheduler.solve.highs import Effort, solve
from scheduler.solve.zones import melted

ROUNDING_CENTS = 3
"""The parts of a cost are rounded to whole cents one by one; the bound allows for that."""


class Bound:
    """The best bound known so far, cents; it only rises. Nothing in the model is negative, so it starts at 0."""

    def __init__(self, grid: Grid) -> None:
        self._grid = grid
        self._best = 0.0
        self._stop = Event()
        self._thread: Thread | None = None

    @property
    def cents(self) -> int:
        """The bound in whole cents."""
        return max(0, int(self._best) - ROUNDING_CENTS)

    def start(self) -> None:
        """Work at it on a thread of its own; HiGHS lets the interpreter go meanwhile."""
        self._thread = Thread(target=self._run, args=(Effort(),), daemon=True)
        self._thread.start()

    def work(self, nodes: int) -> None:
        """Work at it here, to a number of nodes: repeatable."""
        self._stop.clear()
        self._run(Effort(nodes=nodes))

    def rise(self, cents: float) -> None:
        """Take over a bound that was proven elsewhere."""
        self._rise(cents)

    def stop(self) -> None:
        """End the work; what is known stays."""
        self._stop.set()
        if self._thread is not None:
            self._thread.join()

    def _run(self, effort: Effort) -> None:
        model = build_flow(melted(self._grid))
        answer = solve(model.milp, effort, progress=self._hear)
        self._rise(answer.bound)

    def _hear(self, bound: float) -> bool:
        self._rise(bound)
        return self._stop.is_set()

    def _rise(self, bound: float) -> None:
        if self._best < bound < 1e15:
            self._best = bound
