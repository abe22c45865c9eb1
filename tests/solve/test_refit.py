"""A stretch planned anew: never dearer, the rest as it was, and what greedy moves do not find is found."""

from __future__ import annotations

from random import Random

import pytest
from solve.corner import corner, finished

from scheduler.audit import audit
from scheduler.solve.assemble import assemble
from scheduler.solve.board import Board
from scheduler.solve.highs import Effort
from scheduler.solve.improve import found
from scheduler.solve.progress import certificate
from scheduler.solve.refit import Refits, Stretch, refit, stretches
from scheduler.solve.settle import cost_cents

WHOLE = Effort(nodes=50, gap=1e-4)


def taken_off(board: Board) -> Board:
    """The same without the loads of the first three waves, and its fires as they are."""
    less = Board.empty(board.grid, board.frame)
    for load in board.placed:
        if load.demand > 2:
            less.put(load)
    return less


def steps(board: Board) -> dict[int, list[tuple[int, int]]]:
    """When pieces start to finish and how many, by demand."""
    by_demand: dict[int, list[tuple[int, int]]] = {}
    for load in board.placed:
        by_demand.setdefault(load.demand, []).append((load.finish_step, load.pieces))
    return {demand: sorted(pairs) for demand, pairs in by_demand.items()}


@pytest.fixture(scope="module")
def board() -> Board:
    return finished(corner())[1]


def test_what_was_taken_off_is_put_back_at_about_the_same_cost(board: Board) -> None:
    less = taken_off(board)
    assert cost_cents(less) > cost_cents(board)
    new = refit(less, Stretch(frozenset(range(3)), frozenset(range(len(board.grid.fireboxes)))), WHOLE)
    assert new is not None
    assert new.board.made() == board.made()
    assert new.cents <= 1.01 * cost_cents(board), "some starts are left out, and it stops at a gap"
    plan = assemble(new.board, certificate(0, None, board.grid.step_min, 0.0, "work", 0)).plan
    assert audit(plan, corner()) == ()


def test_what_lies_outside_the_stretch_stays(board: Board) -> None:
    less = taken_off(board)
    new = refit(less, Stretch(frozenset(range(3)), frozenset()), WHOLE)
    assert new is not None
    before, after = steps(less), steps(new.board)
    assert {d: pairs for d, pairs in after.items() if d > 2} == before
    assert new.board.frame.shifts == less.frame.shifts


def test_nothing_comes_of_a_stretch_in_which_nothing_can_be_saved(board: Board) -> None:
    first = stretches(board, Random(0))[0]
    better = refit(board, first, WHOLE)
    again = refit(board if better is None else better.board, first, WHOLE)
    assert again is None


def test_it_is_repeatable(board: Board) -> None:
    less = taken_off(board)
    stretch = Stretch(frozenset(range(3)), frozenset({0}))
    one, other = refit(less, stretch, WHOLE), refit(less, stretch, WHOLE)
    assert one is not None
    assert other is not None
    assert (one.cents, one.board.placed) == (other.cents, other.board.placed)


def test_a_person_stops_it(board: Board) -> None:
    assert refit(taken_off(board), Stretch(frozenset(range(3)), frozenset({0})), WHOLE, lambda _: True) is None


@pytest.mark.parametrize("otherwise", [False, True])
def test_the_stretches_cover_all_waves_with_all_fires(board: Board, otherwise: bool) -> None:
    grid = board.grid
    found = stretches(board, Random(1), otherwise=otherwise)
    met = {(d, f) for stretch in found for d in stretch.demands for f in stretch.fires}
    assert met == {(d, f) for d in range(len(grid.demands)) for f in range(len(grid.fireboxes))}


def test_a_round_ends_when_every_stretch_has_been_tried(board: Board) -> None:
    refits, plan, rounds = Refits(Random(0)), found(board), 0
    while (new := refits.next(plan, WHOLE)) is not None:
        assert new.cents <= plan.cents
        plan, rounds = new, rounds + 1
    assert rounds == len(stretches(board, Random(0), otherwise=True))
