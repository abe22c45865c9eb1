"""A stretch of the weekend planned anew as a whole: all loads of some waves and some fires, by HiGHS.

The neighbourhood search on the board places load after load, and does not find its way out where a dozen loads and a
fire must change together. The flow model does: with the crew, all other waves and all other fires as they are it is
small enough to be solved in seconds, place by place.
"""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

from scheduler.solve.board import Board
from scheduler.solve.grid import Grid
from scheduler.solve.highs import Effort, Progress
from scheduler.solve.improve import Found, found
from scheduler.solve.left_over import MOST_STARTS, Stretch
from scheduler.solve.program import thinned
from scheduler.solve.redrawn import LEAST_CENTS, Outlook, drawn, redrawn
from scheduler.solve.zones import alike

MOST_CELLS = 900
"""Choices of recipe, zone of like racks and step for all waves of a stretch; more of them take HiGHS too long."""
MOST_FIRES = 3
"""Fires planned anew together."""


def stretches(
    board: Board,
    rng: Random,
    fires: Sequence[int] | None = None,
    most_cells: int = MOST_CELLS,
    most_starts: int = MOST_STARTS,
    *,
    otherwise: bool = False,
) -> list[Stretch]:
    """Stretches that cover the weekend, first where most is lost: each with its fires as they are, which is soonest
    done, then with several of them free at once.

    All fires, or some; `most_cells` as `MOST_CELLS`, `most_starts` as `MOST_STARTS`. With `otherwise` they are cut and
    thinned out otherwise each time, so that a round does not look once more at what the last one left as it was; they
    are more and smaller then.
    """
    grid = board.grid
    loss = _losses(board)
    fires = range(len(grid.fireboxes)) if fires is None else fires
    order = rng.sample(fires, len(fires))
    together = [frozenset(order[i : i + MOST_FIRES]) for i in range(0, len(order), MOST_FIRES)]
    runs = sorted(
        _runs(grid, most_cells, most_starts, rng if otherwise else None), key=lambda run: -sum(loss[d] for d in run)
    )
    phase = rng.randrange(most_starts) if otherwise else 0
    return [Stretch(frozenset(run), free, most_starts, phase) for run in runs for free in (frozenset[int](), *together)]


def _runs(grid: Grid, most_cells: int, most_starts: int, rng: Random | None) -> list[list[int]]:
    """Demands in order of time, cut into runs of about as many choices as HiGHS can take, or by chance of fewer."""
    zones = alike(grid)
    demands = sorted(range(len(grid.demands)), key=lambda d: grid.ready_min[d])
    runs: list[list[int]] = []
    choices, day = 0, ""
    for d in demands:
        mine = sum(1 for _ in thinned(zones, d, most_starts))
        today = grid.demands[d].ready_by_at.date().isoformat()
        if not runs or choices + mine > most_cells or today != day:
            runs.append([])
            choices = 0 if rng is None else rng.randint(0, most_cells // 2)
        runs[-1].append(d)
        choices, day = choices + mine, today
    return runs


def _losses(board: Board) -> list[float]:
    """What is lost on each demand: pieces short, and quality in the hold."""
    grid, made = board.grid, board.made()
    loss = [float((demand.pieces - made[d]) * grid.short_cents(d)) for d, demand in enumerate(grid.demands)]
    for load in board.placed:
        stream = grid.streams[load.stream]
        finish = grid.finish_at[load.stream, board.spots[load.finish_spot].place]
        loss[load.demand] += load.pieces * grid.hold_cents_per_piece(stream, finish, load.demand, load.finish_step)
    return loss


def refit(
    board: Board, stretch: Stretch, effort: Effort, progress: Progress | None = None, ahead: Outlook | None = None
) -> Found | None:
    """A cheaper plan that differs in the stretch only; None if none was found. `progress` as for `highs.solve`; `ahead`
    is the stretch's outlook, where that is known."""
    new = redrawn(board, stretch, effort, progress) if ahead is None else drawn(board, ahead, effort, progress)
    plan = None if new is None else found(new.board())
    return plan if plan is not None and plan.cents < found(board).cents - LEAST_CENTS else None


class Refits:
    """One stretch after another, until all of them have been tried; then moves have their turn again."""

    def __init__(self, rng: Random) -> None:
        self._rng = rng
        self._todo: list[Stretch] | None = None

    def next(self, plan: Found, effort: Effort, progress: Progress | None = None) -> Found | None:
        """The plan with the next stretch refitted, the same plan if that did not help; None where the round is over."""
        if self._todo is None:
            self._todo = stretches(plan.board, self._rng, otherwise=True)
        if not self._todo:
            self._todo = None
            return None
        return refit(plan.board, self._todo.pop(0), effort, progress) or plan
