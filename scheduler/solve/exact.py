"""Proven optima of small weekends: the flow model of every place, solved to the end, and its point made a board again.

The flow model counts pieces by place, so racks, rest shelves and cabinets are settled after it. Where they can't be
packed, pieces are placed anew or left out, the plan costs more than the model's point, and the gap stays open.
"""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.solve.board import Board
from scheduler.solve.extract import draft
from scheduler.solve.flow import build_flow
from scheduler.solve.grid import Grid
from scheduler.solve.highs import Effort, Progress, solve
from scheduler.solve.milp import INF, Floats
from scheduler.solve.onto_racks import settled
from scheduler.solve.settle import cost_cents
from scheduler.solve.start import integers_of
from scheduler.solve.zones import one_by_one

SMALL_CELLS = 1000
"""Size up to which a weekend is small. Measured on one core: 220 cells are proven in 2 s; at 700 the bound is above the
melted kitchen's after 15 s, but the gap stays open."""
TINY_CELLS = 400
"""Size up to which a run limited by nodes alone is started: beyond it the root takes a minute (93 s at 700 cells)."""
EQUAL_CENTS = 0.01
"""Costs are sums of sixtieths of a cent; what is nearer than this is the same."""
POINTS = 5
"""Points of the model, newest first, that are tried for one that packs whole."""


@dataclass(frozen=True, slots=True)
class Proof:
    """The best board known and what is known about better ones."""

    board: Board
    cents: float
    """Cost of the board."""
    bound: float
    """No plan on the grid costs less, cents; -inf if nothing is known."""

    @property
    def proven(self) -> bool:
        """True if there is no cheaper plan on the grid."""
        return self.cents - self.bound < EQUAL_CENTS


def cells(grid: Grid) -> int:
    """Size of a weekend: ways (recipe, place, step) in which a piece may start to finish, over all waves."""
    return sum(
        len(grid.finish_steps(stream, finish, d))
        for stream in grid.streams
        for finish in stream.finish
        for d in range(len(grid.demands))
    )


def small(grid: Grid) -> bool:
    """True if `prove` has a good chance to come to an end."""
    return cells(grid) <= SMALL_CELLS


def prove(grid: Grid, start: Board, effort: Effort, *, progress: Progress | None = None) -> Proof:
    """Solve a weekend exactly, from a plan on a board.

    The board that comes back never costs more than the start. `progress` hears the bound now and then, on a foreign
    thread; it stops the run by returning True. Runs limited by nodes alone leave weekends that are not tiny unproven.
    """
    if effort.seconds == INF and effort.nodes is not None and cells(grid) > TINY_CELLS:
        return Proof(start, cost_cents(start), -INF)
    model = build_flow(one_by_one(grid))
    points: list[Floats] = []

    def keep(x: Floats, cents: float) -> None:
        del cents
        points.append(x)

    answer = solve(model.milp, effort, start=integers_of(model, start), improved=keep, progress=progress)
    if answer.x is not None:
        points.append(answer.x)
    best, cents = start, cost_cents(start)
    for x in reversed(points[-POINTS:]):
        if any(x[column] > 1e-6 for column in model.unmanned):
            continue
        board, whole = settled(grid, draft(model, x))
        if cost_cents(board) < cents - EQUAL_CENTS:
            best, cents = board, cost_cents(board)
        if whole:
            break
    return Proof(best, cents, answer.bound)
