"""The board: what is left of room, fires and hands while loads are put and taken."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import numpy as np
import pytest
from audit_kitchen import COST, kitchen, naive
from hypothesis import given, settings
from hypothesis import strategies as st
from solve_kitchen import BRISKETS, CHICKENS, FOR_OAK, LOW, OVEN, TOP, frame_of, grid_of, hand_made, open_board
from strategies import weekends

from scheduler.model.scenario import Scenario
from scheduler.model.weekend import OutOfUse
from scheduler.solve.board import Board, Placed
from scheduler.solve.frame import Burn, Ints, burns_of
from scheduler.solve.grid import build_grid
from scheduler.solve.hands import people_with
from scheduler.solve.improve import first_plans
from scheduler.solve.settle import cost_cents, load_cents, shorts_cents


def state(board: Board) -> list[list[float]]:
    """Everything that a load may change."""
    rooms = [*board.free, *board.rest, *board.hold, *board.hot]
    hands = [*(left for _, left in board.hands.left), board.hands.tables, board.hands.boards]
    return [array.tolist() for array in (*rooms, *hands)]


def taken(before: Ints, after: Ints) -> dict[int, int]:
    """What is gone by step, or by minute of a shelf or cabinet."""
    gone = before - after
    return {int(at): int(gone[at]) for at in np.flatnonzero(gone)}


# The hand-made plan


def test_the_hand_made_plan_costs_what_was_worked_out_by_hand() -> None:
    board = hand_made(grid_of())
    assert cost_cents(board) == pytest.approx(COST.total)
    assert shorts_cents(board) == COST.shorts
    assert sum(load_cents(board, load) for load in board.placed) == pytest.approx(COST.hold + COST.moves)
    assert board.made() == [3, 4, 1]


def test_nothing_of_the_hand_made_plan_is_over_its_limits() -> None:
    board = hand_made(grid_of())
    assert min(float(np.min(array)) for array in (*board.free, *board.rest, *board.hold)) == 0, "and some is full"
    assert min(float(left.min()) for _, left in board.hands.left) >= 0


# Room


def test_where_a_wrapped_load_takes_room_and_for_how_long() -> None:
    grid = grid_of()
    empty, board = open_board(grid), open_board(grid)
    board.put(FOR_OAK)
    # Loaded at step 9 (2:15), into the oven at 23 (5:45), late 8:45 = 35, rest to 9:15 = 37, served to 12:30 = 50.
    assert taken(empty.free[TOP], board.free[TOP]) == dict.fromkeys(range(9, 23), 100)
    assert taken(empty.free[OVEN], board.free[OVEN]) == dict.fromkeys(range(23, 35), 100)
    assert taken(empty.rest[0], board.rest[0]) == dict.fromkeys(range(435, 555), 100), "from the early pull, 7:15"
    assert taken(empty.hold[0], board.hold[0]) == dict.fromkeys(range(465, 750), 100), "from the early pull and rest"
    assert np.flatnonzero(board.hot[0]).tolist() == list(range(9, 23))
    assert not board.hot[1].any()


def test_a_bare_load_without_rest_space_takes_none() -> None:
    grid = grid_of()
    empty, board = open_board(grid), open_board(grid)
    board.put(CHICKENS)
    assert taken(empty.free[LOW], board.free[LOW]) == dict.fromkeys(range(30, 38), 200)
    assert taken(empty.rest[0], board.rest[0]) == {}
    # Done 8:50 at the earliest, and 10 minutes of rest: held from 9:00 = minute 540.
    assert taken(empty.hold[0], board.hold[0]) == dict.fromkeys(range(540, 840), 200)


@given(weekends(), st.integers(0, 5), st.randoms(use_true_random=False))
@settings(max_examples=25)
def test_put_and_take_leave_no_trace(scenario: Scenario, which: int, rng: Random) -> None:
    board = next(iter(first_plans(build_grid(scenario)))).board
    loads = list(board.placed)
    before = state(board)
    rng.shuffle(loads)
    for load in loads[: which + 1]:
        board.take(load)
    rng.shuffle(loads)
    for load in loads:
        if load not in board.placed:
            board.put(load)
    assert sorted(map(repr, board.placed)) == sorted(map(repr, loads))
    for old, new in zip(before, state(board), strict=True):
        assert new == pytest.approx(old, abs=1e-6)


# Asking first


def refused(board: Board, *loads: Placed) -> list[bool]:
    """Whether each load in turn is refused, leaving the board as it was."""
    found = []
    for load in loads:
        before = state(board)
        put = board.try_put(load)
        found.append(not put)
        if not put:
            assert state(board) == before
    return found


def test_loads_are_put_while_there_is_room() -> None:
    board = open_board(grid_of())
    assert refused(board, BRISKETS, FOR_OAK) == [False, False]
    assert refused(board, replace(FOR_OAK, load_step=20, wrap_step=33)) == [True], "the oven is full until 8:45"
    assert refused(board, replace(FOR_OAK, load_step=22, wrap_step=35, pieces=2)) == [True], "two are too many for it"
    assert refused(board, replace(FOR_OAK, load_step=23, wrap_step=35)) == [False]


@pytest.mark.parametrize(
    ("change", "expected"), [({}, False), ({"rest": 3.99}, True), ({"hold": 3.99}, True), ({"rack": 3.99}, True)]
)
def test_rack_shelf_and_cabinet_each_refuse(change: dict[str, float], expected: bool) -> None:
    of = kitchen()
    of = of.shelf(spaces=change["rest"]) if "rest" in change else of
    of = of.cabinet(spaces=change["hold"]) if "hold" in change else of
    of = of.rack("north", "top", spaces=change["rack"]) if "rack" in change else of
    assert refused(open_board(grid_of(of)), replace(BRISKETS, pieces=4)) == [expected]


def test_a_fire_that_the_load_does_not_accept_refuses_it() -> None:
    assert refused(open_board(grid_of(), 275), BRISKETS) == [True], "275 F is too hot before the wrap"
    assert refused(open_board(grid_of(), 225), CHICKENS) == [True]
    assert refused(open_board(grid_of(), 250), BRISKETS, CHICKENS) == [False, False]


@pytest.mark.parametrize(("turn", "expected"), [(30, False), (24, False), (23, True)])
def test_a_change_of_setpoint_closes_the_rack_before_it(turn: int, expected: bool) -> None:
    # To 275 F takes 30 minutes, two steps in which both setpoints count. Smoke ends at step 22, and takes 250 at most.
    board = Board.empty(grid_of(), frame_of(grid_of(), (8, turn, 250), (turn, 40, 275)))
    assert refused(board, BRISKETS) == [expected]


def test_letting_the_fire_out_is_no_change_of_setpoint() -> None:
    board = Board.empty(grid_of(), frame_of(grid_of(), (8, 34, 250)))
    assert refused(board, BRISKETS) == [False]
    board = Board.empty(grid_of(), frame_of(grid_of(), (8, 33, 250)))
    assert refused(board, BRISKETS) == [True]


def test_a_smoker_out_of_use_has_no_room() -> None:
    window = OutOfUse(place="north", from_at=naive("8:29"), until_at=naive("9:00"))
    assert refused(open_board(grid_of(kitchen().weekend(out_of_use=(window,)))), BRISKETS) == [True]
    window = OutOfUse(place="north", from_at=naive("8:30"), until_at=naive("9:00"))
    assert refused(open_board(grid_of(kitchen().weekend(out_of_use=(window,)))), BRISKETS) == [False]


# Hands


@pytest.mark.parametrize(
    ("task", "most"),
    # A person gives 12.5 minutes a step. Ana and Ben can load; two fires take 1.25 of them each on average.
    # Only Ana can wrap, and Ben tends meanwhile.
    [("load_min", 22.5), ("wrap_min", 12.5)],
)
def test_a_step_has_only_so_many_minutes(task: str, most: float) -> None:
    for minutes, expected in ((most, False), (most + 0.1, True)):
        of = kitchen().hands("brisket", **{"load_min": 0, "wrap_min": 0, "pull_min": 0, "slice_min": 0, task: minutes})
        board = open_board(grid_of(of))
        # Not at 2:00, when a tending round is due.
        assert refused(board, replace(BRISKETS, pieces=1, load_step=9)) == [expected]


def test_one_wrap_table_is_not_enough_for_two_people() -> None:
    everyone = {"skills": ("fire", "pit", "wrap", "slice")}
    of = kitchen().person("Ben", **everyone).hands("brisket", load_min=0, wrap_min=5.1, pull_min=0)
    assert refused(open_board(grid_of(of)), BRISKETS) == [True], "15.3 minutes at a table that has 15 a step"
    assert refused(open_board(grid_of(of.site(wrap_tables=2))), BRISKETS) == [False]


def test_nobody_who_can_pull_is_nobody_to_pull() -> None:
    grid = grid_of()
    board = open_board(grid)
    early = tuple(option for option in grid.shifts if option.pattern.name == "service")
    assert refused(Board.empty(grid, board.frame.with_shifts(early)), BRISKETS) == [True]


def test_a_person_in_two_shifts_at_once_counts_once() -> None:
    grid = grid_of()
    ana = tuple(option for option in grid.shifts if option.person.name == "Ana")
    there = people_with(grid, ana, frozenset({"fire"}))
    assert there.tolist() == [0.0] * 2 + [1.0] * 54, "night from 0:30, day from 6:00 over it, service to 3:00 pm"
    assert people_with(grid, (), frozenset({"fire"})).tolist() == [0.0] * 56


# Burns


def test_burns_are_runs_of_setpoints_with_the_warm_up_before() -> None:
    levels = np.array([0, 0, 225, 225, 250, 0, 0, 0, 250, 250], dtype=np.int64)
    assert list(burns_of(1, levels, 2)) == [
        Burn(1, 0, 5, ((2, 225), (4, 250))),
        Burn(1, 6, 10, ((8, 250),)),
    ]
    assert not burns_of(0, np.zeros(4, dtype=np.int64), 1)


def test_wood_is_saved_where_a_fire_burns_already() -> None:
    board = open_board(grid_of())
    # 10 lb an hour at 30 cents: 75 cents a step.
    assert board.cold_cents()[:, -1].tolist() == pytest.approx([56 * 75, 56 * 75, 0]), "two fires, and the ovens' none"
    board.put(BRISKETS)
    assert board.cold_cents()[:, -1].tolist() == pytest.approx([(56 - 26) * 75, 56 * 75, 0])
