"""A stretch of the weekend planned anew as a whole: all loads of some waves and some fires, by HiGHS.

The neighbourhood search on the board places load after load, and does not find its way out where a dozen loads and a
fire must change together. The flow model does: with the crew, all other waves and all other fires as they are it is
small enough to be solved in seconds, place by place.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from random import Random

import numpy as np

from scheduler.solve.board import Board
from scheduler.solve.exact import cells, settled
from scheduler.solve.extract import draft
from scheduler.solve.fire_rounds import rounds_every
from scheduler.solve.flow import FlowModel, build_flow
from scheduler.solve.flow_hands import BoardHands
from scheduler.solve.grid import Grid
from scheduler.solve.highs import Effort, Progress, solve
from scheduler.solve.improve import Found, found
from scheduler.solve.milp import Floats
from scheduler.solve.start import integers_of
from scheduler.solve.zones import Starts, one_by_one

MOST_STARTS = 6
"""Steps to choose from for a wave in one place, spread over all that are allowed."""
MOST_CELLS = 3000
"""Choices of recipe, place and step for all waves of a stretch; more of them take HiGHS too long."""
MOST_FIRES = 3
"""Fires planned anew together."""
LEAST_CENTS = 10.0
"""A plan that is not cheaper by so much is none."""
LEAST_S, WHOLE_S = 1.0, 6.0
"""Seconds that the integer program has, at the least and at the most: it is small."""
TINY = 1e-6
LARGEST_CELLS = 40_000
"""Choices in a whole weekend up to which refits pay: 6,000 take about 3 s a stretch, 16,000 about 15 s; with 80,000
the model alone takes 15 s to build."""
AHEAD_MIN = 180
"""The fire may be lit so long before the first of the loads."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """What is planned anew; all else stays."""

    demands: frozenset[int]
    fires: frozenset[int]


def stretches(board: Board, rng: Random) -> list[Stretch]:
    """Stretches that cover the weekend, first where most is lost: each with several fires, then each with one alone."""
    grid = board.grid
    loss = _losses(board)
    order = rng.sample(range(len(grid.fireboxes)), len(grid.fireboxes))
    together = [frozenset(order[i : i + MOST_FIRES]) for i in range(0, len(order), MOST_FIRES)]
    alone = [frozenset({firebox}) for firebox in order]
    runs = sorted(_runs(grid), key=lambda run: -sum(loss[d] for d in run))
    several = [Stretch(frozenset(run), fires) for run in runs for fires in together if len(fires) > 1]
    return several + [Stretch(frozenset(run), fires) for run in runs for fires in alone]


def _runs(grid: Grid) -> list[list[int]]:
    """Demands in order of time, cut into runs of about as many choices as HiGHS can take."""
    demands = sorted(range(len(grid.demands)), key=lambda d: grid.ready_min[d])
    runs: list[list[int]] = []
    choices, day = 0, ""
    for d in demands:
        mine, today = len(_thinned(grid, d)), grid.demands[d].ready_by_at.date().isoformat()
        if not runs or choices + mine > MOST_CELLS or today != day:
            runs.append([])
            choices = 0
        runs[-1].append(d)
        choices, day = choices + mine, today
    return runs


def _losses(board: Board) -> list[float]:
    """What is lost on each demand: pieces short, and quality in the hold."""
    grid, made = board.grid, board.made()
    loss = [float((demand.pieces - made[d]) * grid.short_cents(d)) for d, demand in enumerate(grid.demands)]
    for load in board.placed:
        stream = grid.streams[load.stream]
        finish = next(f for f in stream.finish if f.place == board.spots[load.finish_spot].place)
        loss[load.demand] += load.pieces * grid.hold_cents_per_piece(stream, finish, load.demand, load.finish_step)
    return loss


def _thinned(grid: Grid, demand: int) -> list[tuple[int, int, int]]:
    """Stream, place and step in which pieces of a demand may start to finish: the last step of all, and some before."""
    chosen = []
    for stream in grid.streams:
        for finish in stream.finish:
            steps = grid.finish_steps(stream, finish, demand)
            by = max(1, -(-len(steps) // MOST_STARTS))
            chosen += [(stream.index, finish.place, step) for step in reversed(steps[::-1][::by])]
    return chosen


def refit(board: Board, stretch: Stretch, effort: Effort, progress: Progress | None = None) -> Found | None:
    """A cheaper plan that differs in the stretch only; None if none was found. `progress` as for `highs.solve`.

    The linear relaxation is nearly whole, so the integer program keeps only what the relaxation or the plan uses.
    """
    began = time.monotonic()
    grid = board.grid
    model = build_flow(one_by_one(grid, _starts(board, stretch)), BoardHands(board.frame.spared))
    start = integers_of(model, board)
    value: Floats = np.zeros(model.milp.size[1])
    value[start[0]] = start[1]
    lower, upper = _fixed(model, board, stretch, value)
    now = found(board).cents
    relaxed = solve(model.milp, effort, lower=lower, upper=upper, relax=True, progress=progress)
    if relaxed.x is None or not relaxed.proven or relaxed.cost > now - LEAST_CENTS:
        return None
    unused = model.milp.integer & (relaxed.x < TINY) & (value == 0)
    upper[unused] = lower[unused]
    if effort.nodes is None:
        effort = replace(effort, seconds=min(WHOLE_S, max(LEAST_S, effort.seconds - (time.monotonic() - began))))
    answer = solve(model.milp, effort, lower=lower, upper=upper, start=start, progress=progress)
    if answer.x is None or answer.cost > now - LEAST_CENTS or any(answer.x[c] > TINY for c in model.unmanned):
        return None
    new = found(settled(grid, draft(model, answer.x), board.frame.spared)[0])
    return new if new.cents < now - LEAST_CENTS else None


def _starts(board: Board, stretch: Stretch) -> Starts:
    """Steps to choose from: what the plan has, and in the stretch some of all that are allowed."""
    chosen: dict[tuple[int, int, int], set[int]] = {}
    for load in board.placed:
        key = load.stream, board.spots[load.finish_spot].place, load.demand
        chosen.setdefault(key, set()).add(load.finish_step)
    for demand in stretch.demands:
        for stream, place, step in _thinned(board.grid, demand):
            chosen.setdefault((stream, place, demand), set()).add(step)
    return {key: sorted(steps) for key, steps in chosen.items()}


def _fixed(model: FlowModel, board: Board, stretch: Stretch, value: Floats) -> tuple[Floats, Floats]:
    """Bounds of the columns: what lies outside the stretch is as in the plan, whose values are given."""
    grid = board.grid
    fixed = [*model.shifts, *(column for d, column in enumerate(model.shorts) if d not in stretch.demands)]
    for columns in model.streams:
        fixed += [column for (_, d, _), column in columns.by_demand.items() if d not in stretch.demands]
    first, last = _hours(board, stretch)
    for firebox, fire in enumerate(model.fires):
        every = rounds_every(grid, fire.firebox)
        for column in (fire.lit, fire.lighting, *fire.holds.values()):
            free = range(first, last) if firebox in stretch.fires else range(0)
            fixed += [j for step, j in enumerate(column) if step not in free]
        fixed += [j for step, j in enumerate(fire.lighting) if (step - firebox) % every]
    lower, upper = model.milp.lower.copy(), model.milp.upper.copy()
    lower[fixed] = upper[fixed] = value[fixed]
    return lower, upper


def _hours(board: Board, stretch: Stretch) -> tuple[int, int]:
    """Steps in which the fire of a stretch may be changed: about those in which its loads cook."""
    grid = board.grid
    begun = [load.load_step for load in board.placed if load.demand in stretch.demands]
    begun += [step for demand in stretch.demands for _, _, step in _thinned(grid, demand)]
    first = min(begun, default=0) - grid.up(AHEAD_MIN)
    return max(0, first), max(grid.up(grid.ready_min[d]) for d in stretch.demands)


def refits_pay(grid: Grid) -> bool:
    """False for a kitchen so large that a model of one stretch takes longer to build than the search can wait."""
    return cells(grid) <= LARGEST_CELLS


class Refits:
    """One stretch after another, until all of them have been tried; then moves have their turn again."""

    def __init__(self, rng: Random) -> None:
        self._rng = rng
        self._todo: list[Stretch] | None = None

    def next(self, plan: Found, effort: Effort, progress: Progress | None = None) -> Found | None:
        """The plan with the next stretch refitted, the same plan if that did not help; None where the round is over."""
        if self._todo is None:
            self._todo = stretches(plan.board, self._rng)
        if not self._todo:
            self._todo = None
            return None
        return refit(plan.board, self._todo.pop(0), effort, progress) or plan
