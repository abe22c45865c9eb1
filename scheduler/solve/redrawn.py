"""A stretch as HiGHS would have it, and the plan that comes of it.

The linear relaxation, with like racks as one zone, is nearly whole, so the integer program keeps only what the
relaxation or the plan uses.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from scheduler.solve.board import Board
from scheduler.solve.extract import Batch, batches_of, levels_of, used_by
from scheduler.solve.flow_stretch import StretchModel
from scheduler.solve.frame import Frame
from scheduler.solve.grid import Grid
from scheduler.solve.highs import Answer, Effort, Progress, solve
from scheduler.solve.in_hand import InHandColumns
from scheduler.solve.left_over import LeftOver, Stretch
from scheduler.solve.milp import Floats
from scheduler.solve.onto_racks import batch_of, put_on_racks
from scheduler.solve.parted import TINY, used_columns
from scheduler.solve.program import BEFORE, Night, Program, parted_program, program
from scheduler.solve.settle import PLAIN, cost_cents, refill

LEAST_CENTS = 10.0
"""A plan that is not cheaper by so much is none."""
LEAST_S, WHOLE_S = 1.0, 3.0
NIGHT_LEAST_S, NIGHT_S, FREE_S = 0.3, 0.7, 1.5
"""Seconds that the integer program has, at the least and at the most; at night, there at the most where loads in hand
may go on otherwise, and with all of them free."""
MOST_WAYS = 150
"""Ways of what has begun that it keeps in a second run, those nearest to being used in the relaxation."""
MOST_REPACKED = 150
"""Loads that are put on other racks together where the new ones do not fit beside them; of more, some are left out,
and at night too, as the crew was told the racks."""
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Redrawn:
    """A stretch as HiGHS would have it."""

    left: LeftOver
    model: StretchModel
    x: Floats

    @cached_property
    def batches(self) -> dict[Batch, int]:
        """Pieces to come."""
        return batches_of(self.left.grid, self.model.streams, self.x)

    @cached_property
    def frame(self) -> Frame:
        """The fires with those of the stretch as they should be."""
        grid, frame = self.left.board.grid, self.left.board.frame
        levels = list(frame.levels)
        used = used_by(grid, self.batches)
        for firebox, stay in self.model.in_hand.burning(self.x):
            used[firebox][stay.first : stay.last] = True
        for firebox, fire in self.model.fires.items():
            levels[firebox] = levels_of(grid, fire, self.x, used[firebox] | (self.left.board.hot[firebox] > 0))
        return Frame(tuple(levels), frame.shifts, frame.spared)

    def board(self, grid: Grid | None = None) -> Board:
        """The plan with its stretch so: beside what stays, or on other racks where it must be. `grid` is the one on
        which what has begun goes on as it should, where that was free."""
        grid = self.left.board.grid if grid is None else grid
        board = Board.holding(grid, self.frame, self.left.board.placed)
        if put_on_racks(board, self.batches):
            return board
        if self.left.in_hand or len(board.placed) > MOST_REPACKED:
            refill(board, PLAIN)
            return board
        everything = dict(self.batches)
        for load in self.left.board.placed:
            batch = batch_of(self.left.board, load)
            everything[batch] = everything.get(batch, 0) + load.pieces
        board = Board.empty(grid, self.frame)
        if not put_on_racks(board, everything):
            refill(board, PLAIN)
        return board


@dataclass(frozen=True, slots=True)
class Outlook:
    """A stretch relaxed: what could be saved, and what of its columns are of use for that."""

    program: Program
    relaxed: Answer

    @property
    def to_be_freed(self) -> bool:
        """True if what has begun is to be looked at once more, free to go on otherwise, when there is a good plan."""
        return bool(self.program.left.in_hand) and not self.program.night.brief

    @property
    def span_s(self) -> tuple[float, float]:
        """Seconds that the first integer program may take, at the least and at the most."""
        if self.program.night is BEFORE:
            return LEAST_S, WHOLE_S
        return NIGHT_LEAST_S, NIGHT_S if self.program.left.in_hand else WHOLE_S

    @property
    def gain_cents(self) -> float:
        """What could be saved at the most with the steps that there are to choose from, about."""
        return max(0.0, self.program.now_cents - self.relaxed.cost)

    @property
    def promising(self) -> bool:
        """True if that is worth anything."""
        return self.gain_cents >= LEAST_CENTS


def outlook(
    board: Board, stretch: Stretch, effort: Effort, progress: Progress | None = None, night: Night = BEFORE
) -> Outlook | None:
    """What could be saved in a stretch; None if HiGHS was stopped."""
    ahead = program(board, stretch, night)
    relaxed = solve(ahead.milp, effort, lower=ahead.lower, upper=ahead.upper, relax=True, progress=progress)
    return Outlook(ahead, relaxed) if relaxed.x is not None and relaxed.proven else None


def redrawn(
    board: Board,
    stretch: Stretch,
    effort: Effort,
    progress: Progress | None = None,
    night: Night = BEFORE,
    worth_it: Callable[[float], bool] | None = None,
) -> Redrawn | None:
    """The stretch as HiGHS would have it; None if that is not cheaper, or not `worth_it` to save so many cents."""
    until_s = time.monotonic() + effort.seconds
    ahead = outlook(board, stretch, effort, progress, night)
    if ahead is None or (worth_it is not None and not worth_it(ahead.gain_cents)):
        return None
    return drawn(board, ahead, replace(effort, seconds=until_s - time.monotonic()), progress)


def drawn(board: Board, ahead: Outlook, effort: Effort, progress: Progress | None = None) -> Redrawn | None:
    """The stretch as HiGHS would have it by its outlook; None if that is not cheaper.

    What is held in hand is free only in the end, when there is a good plan to begin with: the relaxation of all leads
    astray.
    """
    until_s = time.monotonic() + effort.seconds
    if not ahead.promising and not (ahead.to_be_freed and ahead.program.model.in_hand.held):
        return None
    exact = ahead if not ahead.program.model.zones.melted else _exactly(ahead, effort, progress)
    if exact is None:
        return None
    whole, relaxed = exact.program, exact.relaxed
    assert relaxed.x is not None
    # The gap is meant of the whole plan, of which the model sees a part.
    effort = replace(effort, gap=effort.gap * max(1.0, cost_cents(board) / max(1.0, whole.now_cents)))
    point = _Point(whole, whole.now, whole.now_cents)
    useful: Mask = ~whole.milp.integer | (relaxed.x >= TINY)
    if ahead.promising:
        point = point.improved(useful, _limit(effort, until_s, *ahead.span_s), progress)
    if ahead.to_be_freed and _left(effort, until_s):
        in_hand = whole.model.in_hand
        point = replace(point, program=whole.freed)
        useful[in_hand.held] = True
        useful[_nearest(in_hand, relaxed)] = True
        point = point.improved(useful, _limit(effort, until_s, NIGHT_LEAST_S, FREE_S), progress)
    return None if point.x is whole.now else Redrawn(point.program.left, point.program.model, point.x)


def _exactly(ahead: Outlook, effort: Effort, progress: Progress | None) -> Outlook | None:
    """The outlook place by place, with no columns but those that are of use so far."""
    assert ahead.relaxed.x is not None
    exact = parted_program(ahead.program, ahead.relaxed.x)
    useful: Mask = ~exact.milp.integer | (exact.now != 0)
    useful[used_columns(exact.model, ahead.program.model, ahead.relaxed.x)] = True
    upper = np.where(useful, exact.upper, exact.lower)
    relaxed = solve(exact.milp, effort, lower=exact.lower, upper=upper, relax=True, progress=progress)
    return Outlook(exact, relaxed) if relaxed.x is not None and relaxed.proven else None


def _left(effort: Effort, until_s: float) -> bool:
    """True if there is time; always where the search is to be repeatable."""
    return effort.nodes is not None or time.monotonic() < until_s


def _limit(effort: Effort, until_s: float, least_s: float, most_s: float) -> Effort:
    """What an integer program may take."""
    if effort.nodes is not None:
        return effort
    return replace(effort, seconds=min(most_s, max(least_s, until_s - time.monotonic())))


@dataclass(frozen=True, slots=True)
class _Point:
    """A point of the program of a stretch; what follows from its integers may be missing, but not in the cost."""

    program: Program
    x: Floats
    cents: float

    def improved(self, useful: Mask, effort: Effort, progress: Progress | None) -> _Point:
        """A cheaper point with no columns but the useful ones and its own; the same point if none was found."""
        p = self.program
        chosen = np.flatnonzero(p.milp.integer)
        start = chosen.tolist(), self.x[chosen].tolist()
        upper = np.where(useful | (self.x != 0), p.upper, p.lower)
        answer = solve(p.milp, effort, lower=p.lower, upper=upper, start=start, progress=progress)
        if answer.x is None or answer.cost >= self.cents - LEAST_CENTS:
            return self
        return _Point(p, answer.x, answer.cost)


def _nearest(in_hand: InHandColumns, relaxed: Answer) -> list[int]:
    """Ways of what is not held that are nearest to being used in the relaxation."""
    assert relaxed.reduced is not None
    held = set(in_hand.held)
    free = [column for column in in_hand.columns if column not in held]
    return sorted(free, key=relaxed.reduced.item)[:MOST_WAYS]
