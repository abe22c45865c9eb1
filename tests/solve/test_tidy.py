"""Fewer and simpler loads at no higher cost."""

from __future__ import annotations

from dataclasses import replace

import pytest
from solve.corner import corner, finished
from solve_kitchen import BRISKETS, CHICKENS, SOUTH, TOP, grid_of, hand_made, open_board

from scheduler.audit import audit
from scheduler.solve.assemble import assemble
from scheduler.solve.board import Board
from scheduler.solve.progress import certificate
from scheduler.solve.settle import cost_cents
from scheduler.solve.tidy import tidied


@pytest.fixture(scope="module")
def board() -> Board:
    return finished(corner())[1]


def test_a_finished_plan_makes_the_same_pieces_in_no_more_loads_at_no_higher_cost(board: Board) -> None:
    tidy = tidied(board)
    assert tidy.made() == board.made()
    assert len(tidy.placed) <= len(board.placed)
    assert cost_cents(tidy) <= cost_cents(board) + 1e-6
    assert not tidy.hands.overspent()
    plan = assemble(tidy, certificate(0, None, board.grid.step_min, 0.0, "work", 0)).plan
    assert audit(plan, corner()) == ()


def test_pieces_of_a_wave_join_on_one_rack_where_there_is_room() -> None:
    grid = grid_of()
    board = open_board(grid)
    for load_step in (28, 29, 30):
        board.put(replace(CHICKENS, pieces=1, load_step=load_step))
    (load,) = tidied(board).placed
    assert (load.pieces, load.load_step) == (3, 30), "the last of them is held for the shortest time"


def test_loads_of_different_waves_stay_apart() -> None:
    board = hand_made(grid_of())
    assert set(tidied(board).placed) == set(board.placed)


def test_a_load_stays_on_its_rack_where_that_suits_it() -> None:
    grid = grid_of()
    board = open_board(grid, 225)
    board.put(replace(BRISKETS, pieces=1, finish_spot=SOUTH))
    (load,) = tidied(board).placed
    assert load.smoke_spot == load.finish_spot
    assert load.smoke_spot in (TOP, SOUTH)
