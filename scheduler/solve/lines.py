"""Lines of plans, each plan a move from the one before, or a refit of it.

First there are moves that place loads one by one, then by turns a round of refits and some bold moves.
"""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from scheduler.solve.bold import bold_step
from scheduler.solve.highs import Effort, Progress
from scheduler.solve.improve import Found, step
from scheduler.solve.lean import festival
from scheduler.solve.refit import Refits
from scheduler.solve.settle import shorts_cents

LINES, LINES_SHARE = 3, 0.1
"""A search starts as so many lines by turns; after this share of its time one of them goes on alone."""
HOPE = 0.5
"""Share of what is lost on short pieces that refits are expected to win back: a plan with a lean crew is worth more
than it seems."""
COOLING = 0.03
"""At the start a line may stray by up to this share of the cost above its best."""
MOVES_BEFORE = 100
"""Moves before the first round of refits; at a festival there are none but these."""
MOVES_BETWEEN, BOLD_BETWEEN = 20, 20
"""Moves, and then bold ones, before each further round."""
REFIT_S, REFIT_NODES, REFIT_GAP = 20.0, 100, 0.004
"""Where a refit stops."""
REFIT_LEAST_S = 4.0
"""In the last seconds only moves are made."""


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
        self._refits_pay = not festival(plans[0].board.grid)
        """At a festival nearly all of the cost are wages, and a refit leaves the crew as it is."""
        self._lines = [_Line(plan, plan) for plan in sorted(plans, key=self._hoped_for)[:LINES]]
        self._left: list[_Line] = []
        """Lines that were left for one with more hope, and plans found elsewhere: what a round of refits makes of the
        present one has to be cheaper in the end."""
        self._rng = rng
        self._turn = 0
        self._refits = Refits(rng)
        self._moves = MOVES_BEFORE
        """Moves to be made before the next bold move or refit."""
        self._bold = 0
        """Bold moves to be made before the next stretch is refitted."""

    @property
    def best(self) -> Found:
        """The cheapest plan of all lines."""
        return min((line.best for line in self._lines + self._left), key=lambda plan: plan.cents)

    def _hoped_for(self, plan: Found) -> float:
        return plan.cents - HOPE * shorts_cents(plan.board) if self._refits_pay else plan.cents

    def offer(self, plan: Found) -> None:
        """Go on from a plan found elsewhere, if it is cheaper than all here: as soon as the round of refits is over."""
        if plan.cents < self.best.cents - 1e-6:
            self._left.append(_Line(plan, plan))
            if not self._refits_pay:
                self._go_on_from_the_best()

    def move(self, done: float, left_s: float | None = None, stop: Progress | None = None) -> None:
        """One move of one line, or of a single line a refit; `done` is the share of the search that is over, 0 to 1.

        `left_s` are the seconds left, None if the search is to be repeatable; `stop` says during a refit whether to
        stop.
        """
        if len(self._lines) > 1 and done > LINES_SHARE:
            self._lines.sort(key=lambda line: self._hoped_for(line.best))
            self._left += self._lines[1:]
            del self._lines[1:]
        enough_time = left_s is None or left_s > REFIT_LEAST_S
        if len(self._lines) == 1 and self._moves <= 0 and enough_time and self._refits_pay:
            effort = Effort(gap=REFIT_GAP, nodes=REFIT_NODES)
            if left_s is not None:
                effort = Effort(gap=REFIT_GAP, seconds=min(REFIT_S, left_s))
            self._bold_move(effort, stop) if self._bold else self._refit(effort, stop)
            return
        self._turn += 1
        self._moves -= 1
        self._lines[self._turn % len(self._lines)].move(done, self._rng)

    def _bold_move(self, effort: Effort, stop: Progress | None) -> None:
        self._bold -= 1
        line = self._lines[0]
        new = bold_step(line.best, self._rng, effort, stop)
        if new is not None:
            line.now = line.best = new
        if not self._bold:
            self._go_on_from_the_best()

    def _refit(self, effort: Effort, stop: Progress | None) -> None:
        line = self._lines[0]
        new = self._refits.next(line.now, effort, stop)
        if new is None:
            self._moves, self._bold = MOVES_BETWEEN, BOLD_BETWEEN
            self._go_on_from_the_best()
            return
        line.now = new
        if new.cents < line.best.cents - 1e-6:
            line.best = new

    def _go_on_from_the_best(self) -> None:
        self._lines, self._left = [min(self._lines + self._left, key=lambda line: line.best.cents)], []
