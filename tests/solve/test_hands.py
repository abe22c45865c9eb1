"""Hands that are left: minutes are spared where there are any, and nobody is missed where nothing is asked."""

from __future__ import annotations

import numpy as np
import pytest
from solve.corner import corner, finished

from scheduler.solve.board import Board
from scheduler.solve.frame import Frame
from scheduler.solve.hands import crew_hands
from scheduler.solve.roster import roster

SPARED_MIN = 5.0


@pytest.fixture(scope="module")
def board() -> Board:
    return finished(corner())[1]


def spared_at(board: Board, step: int) -> Frame:
    return Frame(board.frame.levels, board.frame.shifts, ((step, SPARED_MIN),))


def test_sparing_takes_minutes_of_those_who_have_any_and_of_nobody_else(board: Board) -> None:
    plain = crew_hands(board.grid, board.frame)
    taken = 0.0
    for step in range(board.grid.steps):
        for (_, before), (_, after) in zip(
            plain.left, crew_hands(board.grid, spared_at(board, step)).left, strict=True
        ):
            assert np.array_equal(np.delete(before, step), np.delete(after, step))
            assert min(before[step], 0.0) <= after[step] <= before[step]
            taken += before[step] - after[step]
    assert taken > 0


def test_nobody_is_called_in_for_minutes_spared_where_nothing_is_asked(board: Board) -> None:
    alone = board.under(board.frame.with_shifts(())).hands
    idle = next(k for k in range(board.grid.steps) if all(left[k] == 0 for _, left in alone.left))
    assert roster(board.under(spared_at(board, idle))) == roster(board)


def test_somebody_is_called_in_where_what_is_spared_leaves_too_little(board: Board) -> None:
    """As much as everybody gives is spared at the busiest step: some skill has to be called in oftener there."""
    alone = board.under(board.frame.with_shifts(())).hands
    busiest = int(np.argmin(sum(left for _, left in alone.left)))
    wanted = Frame(board.frame.levels, board.frame.shifts, ((busiest, 200.0),))
    assert len(roster(board.under(wanted))) > len(roster(board))
