"""Fires trimmed to use, the cheapest shifts, and the cost of a board against the audit's price of its plan."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np
import pytest
from audit_kitchen import kitchen
from hypothesis import given, settings
from hypothesis import strategies as st
from solve_kitchen import (
    BRISKETS,
    CALLED,
    CHICKENS,
    FOR_OAK,
    HAND_MADE,
    frame_of,
    grid_of,
    hand_made,
    open_board,
    plan_of,
)
from strategies import weekends

from scheduler.audit.cost import half_up
from scheduler.model.scenario import Scenario
from scheduler.solve.board import Board
from scheduler.solve.grid import build_grid
from scheduler.solve.improve import first_plans
from scheduler.solve.roster import roster
from scheduler.solve.settle import cost_cents, in_step, load_cents, settle, shorts_cents, tended, trimmed
from scheduler.solve.shift_options import ShiftOption


@given(weekends(), st.sampled_from((15, 30)))
@settings(max_examples=40)
def test_each_part_of_the_cost_is_the_audits_to_the_cent(scenario: Scenario, step_min: int) -> None:
    board = next(iter(first_plans(build_grid(scenario, step_min)))).board
    cost = plan_of(board).cost
    grid = board.grid
    wages = sum(option.wage_cent_min for option in board.frame.shifts)
    loads = sum(load_cents(board, load) for load in board.placed)
    wood = cost_cents(board) - wages / 60 - loads - shorts_cents(board)
    assert cost.shorts == shorts_cents(board)
    assert cost.wages == half_up(wages)
    assert cost.wood == half_up(round(wood * 60))
    assert cost.hold + cost.moves == half_up(round(loads * 60))
    moved = [x for x in board.placed if board.spots[x.smoke_spot].place != board.spots[x.finish_spot].place]
    away = [
        x for x in moved if len({grid.places[board.spots[s].place].name for s in (x.smoke_spot, x.finish_spot)}) == 2
    ]
    assert cost.moves == sum(x.pieces * grid.streams[x.stream].cut.move_cents for x in away)


# Fires


def test_a_fire_burns_only_while_it_is_used() -> None:
    board = hand_made(grid_of())
    assert trimmed(board)[0].tolist() == [0] * 8 + [225] * 22 + [250] * 8 + [0] * 18


@pytest.mark.parametrize(("gap", "through"), [(8, True), (9, False)])
def test_a_pause_too_short_for_another_burn_is_burnt_through(gap: int, through: bool) -> None:
    # Four steps to clean out and four to warm up. It is lit again at 22, not 23, as rounds fall on every fourth step.
    grid = grid_of()
    board = Board.empty(grid, frame_of(grid, (10, 40, 250)))
    board.put(replace(CHICKENS, load_step=10, pieces=1))
    board.put(replace(CHICKENS, load_step=18 + gap, pieces=1))
    held = trimmed(board)[0]
    assert bool(held[18 : 18 + gap].all()) == through
    assert bool(held[18:26].any()) == through


def test_a_fire_that_nobody_has_the_hands_to_light_again_burns_on() -> None:
    grid = grid_of(kitchen().firebox("oak", light_min=60))
    board = Board.empty(grid, frame_of(grid, (10, 40, 250)))
    board.put(replace(CHICKENS, load_step=10, pieces=1))
    board.put(replace(CHICKENS, load_step=30, pieces=1))
    assert trimmed(board)[0][18:30].all(), "nobody has an hour to spare within a quarter of one"


def test_burns_are_lit_in_step_whenever_they_begin() -> None:
    grid = grid_of()
    for first in range(10, 24):
        (burn,) = in_step(grid, frame_of(grid, (first, 40, 250))).burns(grid)
        assert burn.lit % 4 == 0, "rounds every hour, and this is the first firebox"
        assert first <= burn.lit + 4 < first + 4


def test_fires_that_nobody_can_tend_are_not_lit() -> None:
    grid = grid_of()
    frame = frame_of(grid, (8, 40, 250), called={("Ben", "day")})
    held = tended(grid, frame).levels[0]
    # Ben comes at 6:00; warmed up, the fire is ready at 7:00 at the earliest.
    assert not held[:28].any()
    assert held[30:40].all()
    assert not tended(grid, frame_of(grid, (8, 40, 250), called=())).levels[0].any()


def test_fires_beyond_what_one_person_tends_go_out() -> None:
    grid = grid_of(kitchen().crew(fires_per_person=1))
    frame = frame_of(grid, (12, 30, 250), called={("Ana", "night")})
    both = replace(frame, levels=(frame.levels[0], frame.levels[0].copy()))
    levels = tended(grid, both).levels
    assert not (levels[0].astype(bool) & levels[1].astype(bool)).any()
    assert levels[0].any() or levels[1].any()


@pytest.mark.parametrize("first", [0, 1, 3])
def test_a_burn_that_would_start_before_planning_is_no_burn(first: int) -> None:
    grid = grid_of()
    frame = frame_of(grid, (first, 3, 250), (20, 30, 250), called={("Ben", "night")})
    held = tended(grid, frame).levels[0]
    assert not held[:4].any()


# Shifts


def names(shifts: Iterable[ShiftOption]) -> set[tuple[str, str]]:
    return {(option.person.name, option.pattern.name) for option in shifts}


def test_the_cheapest_shifts_for_the_hand_made_plan() -> None:
    # Ana loads and wraps at night, and stays for the last pull. Cal is at the counter, so Ben slices, from 10:00.
    found = names(roster(hand_made(grid_of())))
    assert found == {("Ana", "night"), ("Ben", "service"), ("Cal", "service")}


def test_whose_work_it_is_decides_who_comes() -> None:
    grid = grid_of()
    board = Board.empty(grid, frame_of(grid, (30, 40, 250)))
    board.put(CHICKENS)
    # The fire is lit at 6:30, and out by 9:30: Ben's day is cheaper than Ana's, and he slices.
    assert names(roster(board)) == {("Ben", "day"), ("Cal", "service")}
    assert names(roster(Board.empty(grid, frame_of(grid)))) == {("Cal", "service")}


def test_a_counter_without_hands_calls_nobody() -> None:
    grid = grid_of(kitchen().counter_hands(0))
    assert roster(Board.empty(grid, frame_of(grid))) == ()


def test_settling_keeps_the_loads_and_saves_what_is_not_needed() -> None:
    board = hand_made(grid_of())
    settled = settle(board)
    assert settled.placed[:3] == board.placed
    # Half an hour of wood, and Ben's 3.5 hours at $18.00.
    assert cost_cents(settled) == pytest.approx(cost_cents(board) - 150 - 6300)


def test_loads_without_hands_are_placed_anew_or_left_out() -> None:
    grid = grid_of()
    board = Board.empty(grid, frame_of(grid, *HAND_MADE, called=CALLED - {("Ana", "night")}))
    for load in (BRISKETS, FOR_OAK, CHICKENS):
        board.put(load)
    settled = settle(board, old_shifts=True)
    assert BRISKETS not in settled.placed, "nobody is there at 2:00 am"
    assert all(float(np.min(left)) >= -1e-6 for _, left in settled.hands.left)


def test_everything_at_all_times_costs_every_shift_and_log() -> None:
    board = open_board(grid_of())
    # Three people at $20.00, $18.00 and $15.00, each for 10, 8.5 and 5 hours; two fires for 14 hours.
    wages = (2000 + 1800 + 1500) * 23.5
    wood = 2 * 14 * 300
    shorts = 5 * 12_000 + 500 + 4 * 900
    assert cost_cents(board) == pytest.approx(wages + wood + shorts)
