"""The bound, found beside the search: no plan on the grid costs less."""

from __future__ import annotations

import os
import time
from dataclasses import replace
from multiprocessing import get_context
from multiprocessing.process import BaseProcess
from multiprocessing.sharedctypes import Synchronized
from threading import Event, Thread

import numpy as np

from scheduler.model.scenario import Scenario
from scheduler.solve.crews import Crews, few_crews
from scheduler.solve.flow import build_flow
from scheduler.solve.grid import Grid, build_grid
from scheduler.solve.highs import Effort, central_prices, solve
from scheduler.solve.milp import INF
from scheduler.solve.prices import least
from scheduler.solve.shift_options import ShiftOption
from scheduler.solve.tied import end_with_parent
from scheduler.solve.zones import melted

ROUNDING_CENTS = 3
"""The parts of a cost are rounded to whole cents one by one; the bound allows for that."""

BEHIND, FAR_BEHIND = 2, 15
"""The bound gives way to the two searches: a little, and much once it rises slowly."""
STANDS_GAIN, STANDS_S = 5e-4, 10.0
"""It stands where it gained less than this in so many seconds of the processor."""
CREW_S = 30.0
"""Seconds in which only who is called in has to be whole. That lifts the bound most, and much sooner than if pieces and
fires had to be whole as well. HiGHS may be silent for long, so a bound that stands does not always end it."""


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
        args = (self._grid.scenario, self._grid.step_min, self._shared)
        self._process = context.Process(target=_in_process, args=args, daemon=True)
        self._process.start()

    def work(self, nodes: int) -> None:
        """Work at it here, to a number of nodes: repeatable."""
        self.rise(solve(build_flow(melted(self._grid)).milp, Effort(nodes=nodes)).bound)

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


class _Rising:
    """Tells of each higher bound, and sees when it stands."""

    def __init__(self, shared: Synchronized[float]) -> None:
        self._shared = shared
        self._from, self._since_s = 0.0, time.process_time()

    def hear(self, bound: float) -> bool:
        """True where it stands."""
        if self._shared.value < bound < 1e15:
            self._shared.value = bound
        now_s = time.process_time()
        if self._shared.value > self._from * (1 + STANDS_GAIN):
            self._from, self._since_s = self._shared.value, now_s
        return self._from > 0 and now_s - self._since_s > STANDS_S


def _in_process(scenario: Scenario, step_min: int, shared: Synchronized[float]) -> None:
    end_with_parent()
    os.nice(BEHIND)
    model = build_flow(melted(build_grid(scenario, step_min)))
    milp, crew = model.milp, np.zeros(len(model.milp.cost), dtype=np.bool_)
    crew[model.shifts] = True
    rising = _Rising(shared)
    prices = central_prices(milp)
    if prices is not None:
        rising.hear(least(milp, prices, [])[0])
    answer = solve(replace(milp, integer=crew), Effort(seconds=CREW_S), progress=rising.hear)
    rising.hear(answer.bound)
    os.nice(FAR_BEHIND - BEHIND)
    rising.hear(solve(milp, Effort(), progress=lambda bound: rising.hear(bound) and False).bound)
