"""What a plan leaves to a stretch of it: put back what was in the stretch, and the plan is whole again."""

from __future__ import annotations

from itertools import combinations
from math import inf

import numpy as np
import pytest
from solve.corner import corner, finished, smaller, with_site

from scheduler.solve.board import Board
from scheduler.solve.flow_stretch import stretch_flow
from scheduler.solve.hands import fire_minutes
from scheduler.solve.highs import Effort, solve
from scheduler.solve.left_over import Stretch, left_over
from scheduler.solve.program import entered
from scheduler.solve.settle import load_cents
from scheduler.solve.zones import one_by_one

STRETCH = Stretch(frozenset({1, 3, 6}), frozenset({0}))


@pytest.fixture(scope="module")
def board() -> Board:
    return finished(corner())[1]


def test_with_its_loads_and_fires_back_the_board_is_as_it_was(board: Board) -> None:
    left = left_over(board, STRETCH)
    assert {load.demand for load in left.loads} <= STRETCH.demands
    assert {load.demand for load in left.board.placed}.isdisjoint(STRETCH.demands)
    assert sum(demand.pieces for demand in left.grid.demands) == sum(load.pieces for load in left.loads)
    asked = fire_minutes(board.grid, board.frame, STRETCH.fires)
    left.board.hands.spend("fire", slice(0, board.grid.steps), asked)
    for load in left.loads:
        left.board.put(load)
    for (_, mine), (_, its) in zip(left.board.hands.left, board.hands.left, strict=True):
        assert np.allclose(mine, its)
    for mine, its in zip(left.board.free, board.free, strict=True):
        assert mine.tolist() == its.tolist()


def test_what_stays_on_the_fires_of_the_stretch_keeps_them_burning(board: Board) -> None:
    left = left_over(board, STRETCH)
    stays = [stay for firebox, stay in left.needs_fire() if firebox in STRETCH.fires]
    assert stays, "something of other waves is on that fire"
    starts = {
        (load.stream, board.spots[load.finish_spot].place, load.demand): [load.finish_step] for load in left.loads
    }
    model = stretch_flow(left, one_by_one(left.grid, starts))
    answer = solve(model.milp, Effort(nodes=50))
    assert answer.x is not None
    holds = model.fires[0].holds
    for stay in stays:
        for step in range(stay.first, stay.last):
            assert sum(answer.x[holds[level][step]] for level in stay.levels) == pytest.approx(1)


def as_a_point(board: Board, stretch: Stretch) -> float:
    """Cost of a plan's stretch as a point of the model; inf if it breaks a row."""
    left = left_over(board, stretch)
    starts: dict[tuple[int, int, int], list[int]] = {}
    for load in left.loads:
        starts.setdefault((load.stream, board.spots[load.finish_spot].place, load.demand), []).append(load.finish_step)
    model = stretch_flow(left, one_by_one(left.grid, {key: sorted(set(steps)) for key, steps in starts.items()}))
    x = entered(model, left)
    lower, upper = model.milp.lower.copy(), model.milp.upper.copy()
    whole = model.milp.integer
    lower[whole] = upper[whole] = x[whole]
    return solve(model.milp, Effort(), lower=lower, upper=upper).cost


def test_the_plan_is_a_point_of_the_model_at_its_own_cost(board: Board) -> None:
    left = left_over(board, STRETCH)
    box = board.grid.fireboxes[0]
    lit = sum(burn.out - burn.lit for burn in board.frame.burns(board.grid) if burn.firebox == 0)
    wood = lit * box.wood_lb_per_h * board.grid.scenario.site.wood_cents_per_lb * board.grid.step_min / 60
    assert as_a_point(board, STRETCH) == pytest.approx(wood + sum(load_cents(board, load) for load in left.loads))


def test_the_plan_is_a_point_whichever_waves_are_planned_anew() -> None:
    """Also where others come to a full cabinet as soon as the first of them have left it."""
    board = finished(with_site(corner(), hold_cabinets=smaller(corner().site.hold_cabinets, 0.65)))[1]
    fires = frozenset(range(len(board.grid.fireboxes)))
    for some in combinations(range(len(board.grid.demands)), 2):
        assert as_a_point(board, Stretch(frozenset(some), fires)) < inf, some
