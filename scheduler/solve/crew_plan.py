"""Plans with a given crew: all fires and loads of a small weekend at once, where the crew is known from its bound.

HiGHS chooses among few columns, as in a refit: first among those that the linear relaxation uses (with like racks as
one zone, `parted.py`), then among those near the plan in time.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

import numpy as np

from scheduler.solve.board import Board
from scheduler.solve.fire_rounds import rounds_every
from scheduler.solve.flow_streams import StreamColumns
from scheduler.solve.flow_stretch import StretchModel, stretch_flow
from scheduler.solve.grid import Grid
from scheduler.solve.highs import Effort, Progress, solve
from scheduler.solve.improve import Found, found, plans_with
from scheduler.solve.left_over import LeftOver, Stretch, left_over
from scheduler.solve.milp import Floats
from scheduler.solve.parted import starts_of, starts_used, totals, used_columns
from scheduler.solve.program import entered
from scheduler.solve.redrawn import Redrawn
from scheduler.solve.shift_options import ShiftOption
from scheduler.solve.zones import Starts, alike, one_by_one

Next = Callable[[], Effort | None]
"""What the next round may take; None if there is to be none."""
Round = Callable[[Found, Effort, Progress | None], Found | None]
WIDTHS = (1, 2, 3)
"""Steps by which anything may be moved near a plan: one, which takes HiGHS a second or two, then more."""


def crew_plan(grid: Grid, crew: tuple[ShiftOption, ...]) -> Found:
    """The cheapest first plan with the crew."""
    return min(plans_with(grid, crew), key=lambda plan: plan.cents)


def cheaper_plans(plan: Found, effort: Next, progress: Progress | None = None) -> Iterator[Found]:
    """Cheaper and cheaper plans with the same crew, round by round; before each, `effort` is asked what it may take.

    First with the cheapest fire alone, which is soonest done; with all fires where nothing comes of that, or at the
    end.
    """
    boxes = plan.board.grid.fireboxes
    one = frozenset(sorted(range(len(boxes)), key=lambda firebox: boxes[firebox].wood_lb_per_h)[:1])
    some = partial(anew, fires=one)
    rounds: list[Round] = [some, *(partial(near, width=width) for width in WIDTHS), anew, partial(near, width=1)]
    while rounds and (limit := effort()) is not None:
        now = rounds.pop(0)
        new = now(plan, limit, progress)
        if now is some and new is None:
            rounds.remove(anew)
            rounds.insert(0, anew)
        if new is not None:
            plan = new
            yield plan


def anew(
    plan: Found, effort: Effort, progress: Progress | None = None, *, fires: frozenset[int] | None = None
) -> Found | None:
    """A cheaper plan with the same crew, and no fires but some where so wanted; None if none was found."""
    left = _everything(plan.board)
    rough = stretch_flow(left, alike(left.grid), lean=True)
    relaxed = solve(rough.milp, effort, upper=_in_step(rough, left, fires), relax=True, progress=progress)
    if relaxed.x is None or not relaxed.proven or relaxed.cost + _wages(plan) >= plan.cents:
        return None
    starts = starts_used(plan.board, plan.board.placed, rough, relaxed.x)
    model = stretch_flow(left, one_by_one(left.grid, starts))
    return _solved(plan, left, model, used_columns(model, rough, relaxed.x), effort, progress)


def near(plan: Found, effort: Effort, progress: Progress | None = None, *, width: int) -> Found | None:
    """A cheaper plan with the same crew in which all that is done is done within so many steps of the same done before,
    in any place; None if none was found."""
    left = _everything(plan.board)
    model = stretch_flow(left, one_by_one(left.grid, _starts_near(plan.board, width)))
    return _solved(plan, left, model, _columns_near(model, left, width), effort, progress)


def _everything(board: Board) -> LeftOver:
    """All loads and fires as one stretch: what is left is the crew."""
    grid = board.grid
    return left_over(board, Stretch(frozenset(range(len(grid.demands))), frozenset(range(len(grid.fireboxes)))))


def _wages(plan: Found) -> float:
    return sum(option.wage_cent_min for option in plan.board.frame.shifts) / 60


def _solved(
    plan: Found, left: LeftOver, model: StretchModel, used: list[int], effort: Effort, progress: Progress | None
) -> Found | None:
    """The cheapest plan with the crew of a plan, and with no columns but those given and its own, if it is cheaper."""
    value = entered(model, left)
    upper = _in_step(model, left)
    unused = model.milp.integer & (value == 0)
    unused[used] = False
    upper[unused] = model.milp.lower[unused]
    chosen = np.flatnonzero(model.milp.integer)
    start = chosen.tolist(), value[chosen].tolist()
    answer = solve(model.milp, effort, upper=upper, start=start, progress=progress)
    if answer.x is None:
        return None
    new = found(Redrawn(left, model, answer.x).board())
    return new if new.cents < plan.cents - 1e-6 else None


def _in_step(model: StretchModel, left: LeftOver, fires: frozenset[int] | None = None) -> Floats:
    """Upper bounds of the columns: fires are lit only at steps of their own, or not at all."""
    upper = model.milp.upper.copy()
    for firebox, fire in model.fires.items():
        every = rounds_every(left.grid, fire.firebox)
        out = fires is not None and firebox not in fires
        upper[[column for step, column in enumerate(fire.lighting) if out or (step - firebox) % every]] = 0.0
    return upper


def _starts_near(board: Board, width: int) -> Starts:
    """Steps to choose from: by any recipe and in any place, those near one at which the board has the wave start."""
    grid = board.grid
    chosen: dict[tuple[int, int, int], list[int]] = {}
    for demand in range(len(grid.demands)):
        now = [load.finish_step for load in board.placed if load.demand == demand]
        close = {step + by for step in now for by in range(-width, width + 1)}
        for stream in grid.streams:
            for finish in stream.finish:
                if steps := sorted(close.intersection(grid.finish_steps(stream, finish, demand))):
                    chosen[stream.index, finish.place, demand] = steps
    return chosen


def _columns_near(model: StretchModel, left: LeftOver, width: int) -> list[int]:
    """Columns of the same thing done near one of the steps at which the board has it done; shorts and starts as
    well."""
    done = set(np.flatnonzero(entered(model, left) > 0).tolist())
    chosen = [*model.shorts, *starts_of(model)]
    for steps in _same_things(model):
        now = [step for step, column in steps if column in done]
        chosen += [column for step, column in steps if any(abs(step - at) <= width for at in now)]
    return chosen


def _same_things(model: StretchModel) -> Iterator[list[tuple[int, int]]]:
    """Steps and columns of each thing to be done: a fire lit, lighted, hot; a cut loaded, wrapped, begun to finish."""
    for fire in model.fires.values():
        yield list(enumerate(fire.lit))
        yield list(enumerate(fire.lighting))
        yield [pair for columns in fire.holds.values() for pair in enumerate(columns)]
    by_cut: dict[str, list[StreamColumns]] = {}
    for option, columns in zip(model.zones.streams, model.streams, strict=True):
        by_cut.setdefault(option.stream.cut.name, []).append(columns)
    for some in by_cut.values():
        for alike_totals in zip(*map(totals, some), strict=True):
            by_place = (total for places in alike_totals for total in places.values())
            yield [pair for total in by_place for pair in zip(total.steps, total.amount, strict=True)]
