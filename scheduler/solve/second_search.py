"""The same search from another seed on the other core, from another crew; each tells the other what it has found.

The crew is the one with which a plan may cost least, as the bound is raised. Until that is known the core is left to
the bound, while the first search goes on with the crew that was scouted.
"""

from __future__ import annotations

import time
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from random import Random

from scheduler.model.scenario import Scenario
from scheduler.solve.board import Board, Placed
from scheduler.solve.crew_plan import crew_plan
from scheduler.solve.frame import Frame, Ints
from scheduler.solve.grid import Grid, build_grid
from scheduler.solve.improve import Found, first_plans, found
from scheduler.solve.lean import festival
from scheduler.solve.lines import Lines
from scheduler.solve.raised import cheapest_crew
from scheduler.solve.scout import scouted_plans
from scheduler.solve.tied import end_with_parent

PATIENCE_S = 2.0
"""How long it may be waited for at the end."""
TELL_GAIN = 5e-4
"""A plan is told of if it is cheaper by such a share than the last one told of."""
CREW_SHARE, CREW_LEAST_S = 0.4, 16.0
"""Share of the time in which the crew is waited for, and seconds below which it does not come."""

Sent = tuple[tuple[Ints, ...], list[int], list[Placed]]
"""A board as it is sent between processes: setpoints, numbers of the shifts, loads."""


class Exchange:
    """One end of the line between two searches of the same grid."""

    def __init__(self, grid: Grid, end: Connection) -> None:
        self._grid = grid
        self._end = end
        self._told_cents = float("inf")

    def tell(self, plan: Found) -> None:
        """Send a plan, if it is cheaper than what was told or heard before."""
        if plan.cents >= self._told_cents * (1 - TELL_GAIN):
            return
        self._told_cents = plan.cents
        numbers = [i for i, option in enumerate(self._grid.shifts) if option in plan.board.frame.shifts]
        try:
            self._end.send((plan.board.frame.levels, numbers, plan.board.placed))
        except OSError:  # The other search has ended.
            return

    def heard(self, patience_s: float = 0.0) -> Found | None:
        """The last plan that has come since it was asked; None if none has. With patience it is waited for until the
        other search ends."""
        sent: Sent | None = None
        until = time.monotonic() + patience_s
        try:
            while self._end.poll(max(0.0, until - time.monotonic())):
                sent = self._end.recv()
        except (EOFError, OSError):
            pass
        if sent is None:
            return None
        levels, shifts, placed = sent
        frame = Frame(levels, tuple(self._grid.shifts[i] for i in shifts))
        plan = found(Board.holding(self._grid, frame, placed))
        self._told_cents = min(self._told_cents, plan.cents)
        return plan

    def close(self) -> None:
        """The other end sees it."""
        self._end.close()


class SecondSearch:
    """The second search, in a process of its own."""

    def __init__(self, grid: Grid, seed: int, seconds: float, crews: Connection) -> None:
        context = get_context("spawn")
        here, there = context.Pipe()
        self.exchange = Exchange(grid, here)
        args = (grid.scenario, grid.step_min, seed, seconds, there, crews)
        self._process: BaseProcess = context.Process(target=_in_process, args=args, daemon=True)
        self._process.start()
        there.close()

    def last(self) -> Found | None:
        """The last that it found and did not tell of before; None if it was not heard of in time."""
        return self.exchange.heard(PATIENCE_S)

    def stop(self) -> None:
        """End it."""
        self._process.terminate()
        self._process.join()
        self.exchange.close()


def swap(lines: Lines, exchange: Exchange) -> None:
    """Go on from what the other search has found if that is cheaper, and tell it of what is cheaper here."""
    theirs = exchange.heard()
    if theirs is not None:
        lines.offer(theirs)
    exchange.tell(lines.best)


def _in_process(
    scenario: Scenario, step_min: int, seed: int, seconds: float, there: Connection, crews: Connection
) -> None:
    end_with_parent()
    started = time.monotonic()
    grid = build_grid(scenario, step_min)
    exchange = Exchange(grid, there)
    lines = Lines(_begun(grid, started, seconds, crews), Random(seed))
    while (elapsed := time.monotonic() - started) < seconds:
        lines.move(elapsed / seconds, seconds - elapsed)
        swap(lines, exchange)
    exchange.close()


def _begun(grid: Grid, started: float, seconds: float, crews: Connection) -> list[Found]:
    """Plans to begin with: one with the crew that may cost least, or else as the first search has them."""
    if not festival(grid) and seconds * CREW_SHARE >= CREW_LEAST_S:
        crew = cheapest_crew(grid, crews, started + CREW_SHARE * seconds - time.monotonic())
        if crew:
            return [crew_plan(grid, crew)]
    return [*first_plans(grid), *scouted_plans(grid, seconds)]
