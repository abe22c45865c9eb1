"""Lines of plans, each plan a move from the one before; and a second set of them on the other core."""

from __future__ import annotations

import time
from dataclasses import dataclass
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from random import Random

from scheduler.model.scenario import Scenario
from scheduler.solve.board import Board, Placed
from scheduler.solve.frame import Frame, Ints
from scheduler.solve.grid import Grid, build_grid
from scheduler.solve.highs import Effort, Progress
from scheduler.solve.improve import Found, first_plans, found, step
from scheduler.solve.lean import festival
from scheduler.solve.refit import Refits
from scheduler.solve.scout import scouted_plans

LINES, LINES_SHARE = 3, 0.1
"""A search starts as so many lines by turns; after this share of its time the best of them goes on alone."""
COOLING = 0.03
"""At the start a line may stray by up to this share of the cost above its best."""
MOVES_BETWEEN = 100
"""Moves between rounds of refits, and before the first."""
REFIT_S, REFIT_NODES, REFIT_GAP = 20.0, 100, 0.004
"""Where a refit stops."""
REFIT_LEAST_S = 4.0
"""In the last seconds only moves are made."""
PATIENCE_S = 2.0
"""How long the second search may be waited for at the end."""


@dataclass(slots=True)
class _Line:
    now: Found
    best: Found

    def move(self, done: float, rng: Random) -> None:
        """One move; kept if it is not dearer than the best of the line by more than some of the slack."""
        limit = self.best.cents * (1 + COOLING * max(0.0, 1 - done) * rng.random() ** 3)
        new = step(self.now, rng, limit)
        if new is None:
            return
        if new.cents < limit:
            self.now = new
        if new.cents < self.best.cents - 1e-6:
            self.best = new


class Lines:
    """Several lines by turns, then the best of them alone."""

    def __init__(self, plans: list[Found], rng: Random) -> None:
        self._lines = [_Line(plan, plan) for plan in sorted(plans, key=lambda plan: plan.cents)[:LINES]]
        self._rng = rng
        self._turn = 0
        self._refits = Refits(rng)
        self._refits_pay = not festival(self.best.board.grid)
        """At a festival nearly all of the cost are wages, and a refit leaves the crew as it is."""
        self._moves = MOVES_BETWEEN
        """Moves to be made before the next stretch is refitted."""

    @property
    def best(self) -> Found:
        """The cheapest plan of all lines."""
        return min((line.best for line in self._lines), key=lambda plan: plan.cents)

    def move(self, done: float, left_s: float | None = None, stop: Progress | None = None) -> None:
        """One move of one line, or of a single line a refit; `done` is the share of the search that is over, 0 to 1.

        `left_s` are the seconds left, None if the search is to be repeatable; `stop` says during a refit whether to
        stop.
        """
        if len(self._lines) > 1 and done > LINES_SHARE:
            self._lines = [min(self._lines, key=lambda line: line.best.cents)]
        time_to_refit = self._moves <= 0 and (left_s is None or left_s > REFIT_LEAST_S)
        if len(self._lines) == 1 and time_to_refit and self._refits_pay:
            self._refit(self._lines[0], left_s, stop)
            return
        self._turn += 1
        self._moves -= 1
        self._lines[self._turn % len(self._lines)].move(done, self._rng)

    def _refit(self, line: _Line, left_s: float | None, stop: Progress | None) -> None:
        effort = Effort(gap=REFIT_GAP, nodes=REFIT_NODES)
        if left_s is not None:
            effort = Effort(gap=REFIT_GAP, seconds=min(REFIT_S, left_s))
        new = self._refits.next(line.now, effort, stop)
        if new is None:
            self._moves = MOVES_BETWEEN
            return
        line.now = new
        if new.cents < line.best.cents - 1e-6:
            line.best = new


Sent = tuple[tuple[Ints, ...], list[int], list[Placed]]
"""A board as it is sent between processes: setpoints, numbers of the shifts, loads."""


class SecondSearch:
    """The same search from another seed, in a process of its own."""

    def __init__(self, grid: Grid, seed: int, seconds: float) -> None:
        self._grid = grid
        context = get_context("spawn")
        self._here, there = context.Pipe(duplex=False)
        args = (grid.scenario, grid.step_min, seed, seconds, there)
        self._process: BaseProcess = context.Process(target=_in_process, args=args, daemon=True)
        self._process.start()
        there.close()

    def best(self) -> Found | None:
        """What it found; None if it was not heard of in time."""
        try:
            if not self._here.poll(PATIENCE_S):
                return None
            sent: Sent = self._here.recv()
        except EOFError:
            return None
        levels, shifts, placed = sent
        frame = Frame(levels, tuple(self._grid.shifts[i] for i in shifts))
        return found(Board.holding(self._grid, frame, placed))

    def stop(self) -> None:
        """End it."""
        self._process.terminate()
        self._process.join()
        self._here.close()


def _in_process(scenario: Scenario, step_min: int, seed: int, seconds: float, there: Connection) -> None:
    started = time.monotonic()
    grid = build_grid(scenario, step_min)
    lines = Lines([*first_plans(grid), *scouted_plans(grid, seconds)], Random(seed))
    while (elapsed := time.monotonic() - started) < seconds:
        lines.move(elapsed / seconds, seconds - elapsed)
    board = lines.best.board
    numbers = [i for i, option in enumerate(grid.shifts) if option in board.frame.shifts]
    there.send((board.frame.levels, numbers, board.placed))
