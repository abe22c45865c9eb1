"""A stretch of the weekend planned anew as a whole: all loads of some waves and some fires, by HiGHS.

The neighbourhood search on the board places load after load, and does not find its way out where a dozen loads and a
fire must change together. The flow model does: with the crew, all other waves and all other fires as they are it is
small enough to be solved in seconds, place by place.
"""

from __future__ import annotations

import time
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from random import Random

import numpy as np
from numpy.typing import NDArray

from scheduler.solve.board import Board
from scheduler.solve.extract import Batch, batches_of, levels_of, used_by
from scheduler.solve.fire_rounds import rounds_every
from scheduler.solve.flow_stretch import StretchModel, stretch_flow
from scheduler.solve.frame import Frame
from scheduler.solve.grid import Grid
from scheduler.solve.highs import Answer, Effort, Progress, solve
from scheduler.solve.improve import Found, found
from scheduler.solve.in_hand import InHand
from scheduler.solve.left_over import MOST_STARTS, LeftOver, Stretch, left_over
from scheduler.solve.milp import Floats, Milp
from scheduler.solve.onto_racks import batch_of, put_on_racks
from scheduler.solve.settle import PLAIN, cost_cents, refill
from scheduler.solve.start import enter_fires, enter_loads
from scheduler.solve.zones import Starts, one_by_one

MOST_CELLS = 1500
"""Choices of recipe, place and step for all waves of a stretch; more of them take HiGHS too long."""
MOST_FIRES = 3
"""Fires planned anew together."""
LEAST_CENTS = 10.0
"""A plan that is not cheaper by so much is none."""
LEAST_S, WHOLE_S = 1.0, 3.0
NIGHT_LEAST_S, NIGHT_S = 0.3, 1.0
"""Seconds that the integer program has, at the least and at the most; where a plan is changed on the way, each time."""
MOST_WAYS = 150
"""Ways of what has begun that it keeps in a second run, those nearest to being used in the relaxation."""
MOST_REPACKED = 150
"""Loads that are put on other racks together where the new ones do not fit beside them; of more, some are left out,
and at night too, as the crew was told the racks."""
TINY = 1e-6
AHEAD_MIN = 180
"""The fire may be lit so long before the first of the loads."""


@dataclass(frozen=True, slots=True)
class Told:
    """What the crew was told, and the price of a piece that starts to finish elsewhere or at another time, cents."""

    starts: frozenset[tuple[int, int, int, int]]
    """Stream, place, demand, step."""
    cents: float


def stretches(
    board: Board,
    rng: Random,
    fires: Sequence[int] | None = None,
    most_cells: int = MOST_CELLS,
    most_starts: int = MOST_STARTS,
    *,
    otherwise: bool = False,
) -> list[Stretch]:
    """Stretches that cover the weekend, first where most is lost: each with several fires, then each with one alone.

    All fires, or some; `most_cells` as `MOST_CELLS`, `most_starts` as `MOST_STARTS`. With `otherwise` they are cut and
    thinned out otherwise each time, so that a round does not look once more at what the last one left as it was; they
    are more and smaller then.
    """
    grid = board.grid
    loss = _losses(board)
    fires = range(len(grid.fireboxes)) if fires is None else fires
    order = rng.sample(fires, len(fires))
    together = [frozenset(order[i : i + MOST_FIRES]) for i in range(0, len(order), MOST_FIRES)]
    alone = [frozenset({firebox}) for firebox in order]
    runs = sorted(
        _runs(grid, most_cells, most_starts, rng if otherwise else None), key=lambda run: -sum(loss[d] for d in run)
    )
    several = [(run, fires) for run in runs for fires in together if len(fires) > 1]
    singly = [(run, fires) for run in runs for fires in alone]
    phase = rng.randrange(most_starts) if otherwise else 0
    return [Stretch(frozenset(run), fires, most_starts, phase) for run, fires in several + singly]


def _runs(grid: Grid, most_cells: int, most_starts: int, rng: Random | None) -> list[list[int]]:
    """Demands in order of time, cut into runs of about as many choices as HiGHS can take, or by chance of fewer."""
    demands = sorted(range(len(grid.demands)), key=lambda d: grid.ready_min[d])
    runs: list[list[int]] = []
    choices, day = 0, ""
    for d in demands:
        mine, today = len(_thinned(grid, d, most_starts)), grid.demands[d].ready_by_at.date().isoformat()
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


def _thinned(grid: Grid, demand: int, most_starts: int, phase: int = 0) -> list[tuple[int, int, int]]:
    """Stream, place and step in which pieces of a demand may start to finish: some of all steps, so far from the last
    one as the phase says."""
    chosen = []
    begun = 0 if grid.pinned is None else grid.pinned.step
    for stream in grid.streams:
        for finish in stream.finish:
            steps = grid.finish_steps(stream, finish, demand)
            steps = range(max(begun, steps.start), max(begun, steps.stop))
            by = max(1, -(-len(steps) // most_starts))
            chosen += [(stream.index, finish.place, step) for step in reversed(steps[::-1][phase % by :: by])]
    return chosen


def _choices(left: LeftOver, demand: int) -> list[tuple[int, int, int]]:
    """Those of a demand of the stretch."""
    return _thinned(left.board.grid, demand, left.stretch.most_starts, left.stretch.phase)


def refit(board: Board, stretch: Stretch, effort: Effort, progress: Progress | None = None) -> Found | None:
    """A cheaper plan that differs in the stretch only; None if none was found. `progress` as for `highs.solve`."""
    new = redrawn(board, stretch, effort, progress)
    plan = None if new is None else found(new.board())
    return plan if plan is not None and plan.cents < found(board).cents - LEAST_CENTS else None


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


def redrawn(
    board: Board,
    stretch: Stretch,
    effort: Effort,
    progress: Progress | None = None,
    told: Told | None = None,
    in_hand: tuple[InHand, ...] = (),
    crowded: Collection[int] = (),
) -> Redrawn | None:
    """The stretch as HiGHS would have it; None if that is not cheaper. `in_hand` and `crowded` as for `left_over`.

    The linear relaxation is nearly whole, so the integer program keeps only what the relaxation or the plan uses.
    """
    end_s = time.monotonic() + effort.seconds
    left = left_over(board, stretch, in_hand, crowded)
    model = stretch_flow(left, one_by_one(left.grid, _starts(left)))
    cost = model.milp.cost if told is None else _with_price_of_change(model, told)
    milp = replace(model.milp, cost=cost)
    value = entered(model, left)
    lower, upper = _fixed(model, left, value)
    now = float(cost @ value) + _moves_cents(left)
    chosen = np.flatnonzero(milp.integer)
    relaxed = solve(milp, effort, lower=lower, upper=upper, relax=True, progress=progress)
    if relaxed.x is None or not relaxed.proven or relaxed.cost > now - LEAST_CENTS:
        return None
    # The gap is meant of the whole plan, of which the model sees a part.
    effort = replace(effort, gap=effort.gap * max(1.0, cost_cents(board) / max(1.0, now)))
    best, cents = value, now
    for number in (0, MOST_WAYS) if in_hand else (0,):
        if effort.nodes is None:
            left_s = end_s - time.monotonic()
            if number and left_s <= 0:
                break
            least_s, most_s = (NIGHT_LEAST_S, NIGHT_S) if in_hand else (LEAST_S, WHOLE_S)
            effort = replace(effort, seconds=min(most_s, max(least_s, left_s)))
        allowed = np.where(_useful(milp, model, relaxed, best, number), upper, lower)
        start = chosen.tolist(), best[chosen].tolist()
        answer = solve(milp, effort, lower=lower, upper=allowed, start=start, progress=progress)
        if answer.x is not None and answer.cost < cents - LEAST_CENTS:
            best, cents = answer.x, answer.cost
    return None if best is value else Redrawn(left, model, best)


def _useful(milp: Milp, model: StretchModel, relaxed: Answer, best: Floats, ways: int) -> NDArray[np.bool_]:
    """Columns that the relaxation or the best point uses, the continuous ones, and so many ways of what has begun."""
    assert relaxed.x is not None
    assert relaxed.reduced is not None
    useful: NDArray[np.bool_] = ~milp.integer | (relaxed.x >= TINY) | (best != 0)
    useful[sorted(model.in_hand.columns, key=relaxed.reduced.item)[:ways]] = True
    return useful


def _starts(left: LeftOver) -> Starts:
    """Steps to choose from: some of all that are allowed and have somebody to pull, and what the plan has."""
    grid, board = left.grid, left.board
    chosen: dict[tuple[int, int, int], set[int]] = {}
    for demand in left.stretch.demands:
        for stream, place, step in _choices(left, demand):
            took = grid.finish_at[stream, place].took
            pulls = grid.touched(step * grid.step_min + took.early_min, step * grid.step_min + took.late_min)
            if board.hands.pit_there[pulls.start : pulls.stop].all():
                chosen.setdefault((stream, place, demand), set()).add(step)
    for load in left.loads:
        chosen.setdefault((load.stream, board.spots[load.finish_spot].place, load.demand), set()).add(load.finish_step)
    return {key: sorted(steps) for key, steps in chosen.items()}


def _with_price_of_change(model: StretchModel, told: Told) -> Floats:
    cost = model.milp.cost.copy()
    for stream, columns in enumerate(model.streams):
        for (place, demand, step), column in columns.by_demand.items():
            if (stream, place, demand, step) not in told.starts:
                cost[column] += told.cents
    return cost


def entered(model: StretchModel, left: LeftOver) -> Floats:
    """The plan as a point of the model, but for what follows from its integers."""
    x: Floats = np.zeros(model.milp.size[1])
    enter_loads(x, model.zones, model.streams, left.board, left.loads)
    enter_fires(x, model.fires, left.board)
    model.in_hand.enter(x)
    going = [(load.demand, load.pieces) for load in left.loads]
    going += [(way.demand, n) for load in left.in_hand for way, n in zip(load.ways, load.now, strict=True)]
    for d, (short, demand) in enumerate(zip(model.shorts, left.grid.demands, strict=True)):
        x[short] = demand.pieces - sum(pieces for wave, pieces in going if wave == d)
    return x


def _moves_cents(left: LeftOver) -> float:
    """What moves to another smoker or oven cost in the stretch: the model has no integers for them."""
    grid, spots = left.grid, left.board.spots
    cents = 0.0
    for load in left.loads:
        smoke, finish = (grid.places[spots[spot].place].name for spot in (load.smoke_spot, load.finish_spot))
        cents += load.pieces * grid.streams[load.stream].cut.move_cents * (smoke != finish)
    return cents


def _fixed(model: StretchModel, left: LeftOver, value: Floats) -> tuple[Floats, Floats]:
    """Bounds of the columns: fires outside the hours of the stretch are as in the plan, whose values are given."""
    grid = left.board.grid
    fixed: list[int] = []
    for firebox, fire in model.fires.items():
        free = _free_hours(left, firebox)
        every = rounds_every(grid, fire.firebox)
        for column in (fire.lit, fire.lighting, *fire.holds.values()):
            fixed += [j for step, j in enumerate(column) if not free[step]]
        fixed += [j for step, j in enumerate(fire.lighting) if (step - firebox) % every]
    lower, upper = model.milp.lower.copy(), model.milp.upper.copy()
    lower[fixed] = upper[fixed] = value[fixed]
    return lower, upper


def _free_hours(left: LeftOver, firebox: int) -> NDArray[np.bool_]:
    """Steps in which a fire of the stretch may be changed: about those in which its loads cook."""
    grid = left.board.grid
    begun = [load.load_step for load in left.loads]
    begun += [step for demand in left.stretch.demands for _, _, step in _choices(left, demand)]
    if left.in_hand:
        begun.append(0)
    first = min(begun, default=0) - grid.up(AHEAD_MIN)
    free = np.zeros(grid.steps, dtype=np.bool_)
    free[max(0, first) : max(grid.up(grid.ready_min[d]) for d in left.stretch.demands)] = True
    if grid.pinned is not None:
        free &= grid.pinned.free_to_burn(grid, firebox)
    return free


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
