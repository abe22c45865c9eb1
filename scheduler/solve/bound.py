"""The bound, found beside the search: no plan on the grid costs less."""

from __future__ import annotations

import time
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from multiprocessing.sharedctypes import Synchronized
from threading import Event, Thread

from scheduler.solve.crews import Crews, few_crews
from scheduler.solve.grid import Grid
from scheduler.solve.milp import INF
from scheduler.solve.raised import crew_bound, raise_bound
from scheduler.solve.shift_options import ShiftOption

ROUNDING_CENTS = 3
"""The parts of a cost are rounded to whole cents one by one; the bound allows for that."""


class Bound:
    """The best bound known so far, cents; it only rises. Nothing in the model is negative, so it starts at 0."""

    def __init__(self, grid: Grid) -> None:
        self._grid = grid
        self._best = 0.0
        self._crews = few_crews(grid)
        self._by_crew = None if self._crews is None else _ByCrew(self._crews)
        # A process, not a thread: its model is large, and to build it would hold up the search.
        context = get_context("spawn")
        self._shared: Synchronized[float] = context.Value("d", 0.0)
        self._process: BaseProcess | None = None
        self.crews: Connection | None = None
        """Where the process tells of crews that may cost least."""

    @property
    def cents(self) -> int:
        """The bound in whole cents."""
        self.rise(self._shared.value)
        if self._crews is not None:
            self.rise(self._crews.bound)
        return max(0, int(self._best) - ROUNDING_CENTS)

    @property
    def by_crew(self) -> bool:
        """True if crews are looked at one by one, in a thread of this process."""
        return self._by_crew is not None

    def crew(self, seconds: float | None) -> tuple[ShiftOption, ...]:
        """The crew with which a plan may cost least, as far as is known after so many seconds; none if there are too
        many to look at. Without seconds it is worked out here, repeatably."""
        if self._crews is None or self._by_crew is None:
            return ()
        if seconds is None:
            return self._crews.shifts(self._crews.compare(lambda: False))
        self._by_crew.compared.wait(max(0.0, seconds))
        return self._crews.shifts(self._crews.cheapest)

    def start(self, seconds: float = INF) -> None:
        """Work at it beside the search, for so long: in a thread, where that begins sooner, or in a process of its own,
        which can be ended at any time."""
        if self._by_crew is not None:
            self._by_crew.start(seconds)
            return
        context = get_context("spawn")
        self.crews, there = context.Pipe(duplex=False)
        args = (self._grid.scenario, self._grid.step_min, self._shared, there)
        self._process = context.Process(target=raise_bound, args=args, daemon=True)
        self._process.start()
        there.close()

    def work(self, nodes: int) -> None:
        """Work at it here, to a number of nodes: repeatable."""
        self.rise(crew_bound(self._grid, nodes))

    def stop(self) -> None:
        """End the work; what is known stays."""
        if self._by_crew is not None:
            self._by_crew.stop()
        if self._process is not None:
            self._process.terminate()
            self._process.join()

    def rise(self, cents: float) -> None:
        """Take over a bound, wherever it was proven."""
        if self._best < cents < 1e15:
            self._best = cents


class _ByCrew:
    """Crews compared, then the cheapest of them proven, in a thread: HiGHS leaves the interpreter to the search, and a
    process takes a second to start."""

    def __init__(self, crews: Crews) -> None:
        self.compared = Event()
        self._crews = crews
        self._stop = Event()
        self._thread: Thread | None = None

    def start(self, seconds: float) -> None:
        self._thread = Thread(target=self._run, args=(time.monotonic() + seconds,), daemon=True)
        self._thread.start()

    def stop(self) -> None:
        self._stop.set()
        if self._thread is not None:
            self._thread.join()

    def _run(self, until: float) -> None:
        self._crews.compare(self._stop.is_set)
        self.compared.set()
        self._crews.prove(self._stop.is_set, until)
