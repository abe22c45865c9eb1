"""A board of which only what a move breaks is laid anew: the same as one laid anew from nothing."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

import numpy as np
import pytest
from solve_kitchen import grid_of, hand_made, open_board

from scheduler.bench.weekends import Case
from scheduler.solve.board import Board, Placed
from scheduler.solve.frame import Frame
from scheduler.solve.grid import build_grid
from scheduler.solve.improve import first_plans, step
from scheduler.solve.insert import Taste
from scheduler.solve.roster import work_alone
from scheduler.solve.settle import rebuild, remade


def same(one: Board, other: Board) -> bool:
    """True if nothing differs, in whatever order it came about."""
    rooms = zip((one.free, one.rest, one.hold, one.hot), (other.free, other.rest, other.hold, other.hot), strict=True)
    minutes = [
        [*(left for _, left in board.hands.left), board.hands.tables, board.hands.boards, *board.asked]
        for board in (one, other)
    ]
    return (
        one.placed == other.placed
        and all(np.array_equal(a, b) for a, b in rooms)
        and all(np.allclose(a, b) for a, b in zip(*minutes, strict=True))
        and np.array_equal(one.hands.pit_there, other.hands.pit_there)
    )


def broken(board: Board, rng: Random) -> Iterator[tuple[Frame, list[Placed]]]:
    """Frames and loads to be kept, as moves break a plan: fires out, fires open, setpoints, shifts, waves, spares."""
    grid, frame = board.grid, board.frame
    for _ in range(6):
        levels = [held.copy() for held in frame.levels]
        at = rng.randrange(grid.steps)
        held = rng.choice(levels)
        held[at : at + rng.randint(4, 40)] = rng.choice((0, 250, 275))
        shifts = tuple(option for option in frame.shifts if rng.random() < 0.9)
        spared = ((rng.randrange(grid.steps), 5.0),)
        gone = {rng.randrange(len(grid.demands)) for _ in range(3)}
        yield frame.with_levels(tuple(levels)), board.placed
        yield Frame(frame.levels, shifts, spared), board.placed
        yield Frame(tuple(levels), grid.shifts), [load for load in board.placed if load.demand not in gone]


@pytest.mark.parametrize("family", ["S", "M"])
def test_a_board_remade_is_one_laid_anew(family: str) -> None:
    grid = build_grid(Case(family, "easy", 0).scenario(), 30)
    rng, now = Random(3), min(first_plans(grid), key=lambda plan: plan.cents)
    fewer = 0
    for seed in range(4):
        for frame, keep in broken(now.board, rng):
            anew = rebuild(grid, frame, keep, Taste(noise=0.3, rng=Random(seed)))
            mended = remade(now.board, frame, keep, Taste(noise=0.3, rng=Random(seed)))
            assert same(mended, anew)
            fewer += any(load not in anew.placed for load in keep)
        now = step(now, rng) or now
    assert fewer, "some of it was broken"


def test_a_plan_remade_leaves_the_one_before_as_it_was() -> None:
    grid = build_grid(Case("S", "easy", 0).scenario(), 30)
    board = next(first_plans(grid)).board
    before = board.under(board.frame)
    for frame, keep in broken(board, Random(1)):
        remade(board, frame, keep)
    assert same(board, before)


def test_the_same_loads_under_another_frame() -> None:
    board = hand_made(grid_of())
    frame = Frame(open_board(board.grid).frame.levels, board.grid.shifts)
    assert same(board.under(frame), Board.holding(board.grid, frame, board.placed))
    bare = Board.holding(board.grid, board.frame.with_shifts(()), board.placed)
    assert all(np.allclose(a[1], b[1]) for a, b in zip(work_alone(board).left, bare.hands.left, strict=True))


def test_what_is_kept_must_be_there() -> None:
    board = hand_made(grid_of())
    with pytest.raises(ValueError, match="not on the board"):
        board.under(board.frame).keep(board.placed[::-1])
