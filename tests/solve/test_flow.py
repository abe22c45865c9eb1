"""The flow model against plans: every sound plan is a point of it at its own cost, and what breaks a rule is none."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from dataclasses import replace
from math import inf
from random import Random

import pytest
from audit_kitchen import COST, Kitchen, kitchen, naive
from hypothesis import given, settings
from hypothesis import strategies as st
from solve_kitchen import (
    BRISKETS,
    CALLED,
    CHICKENS,
    FOR_OAK,
    HAND_MADE,
    LOW,
    SOUTH,
    TOP,
    fixed_cents,
    frame_of,
    grid_of,
    hand_made,
    plan_of,
)
from strategies import weekends

from scheduler.audit import audit
from scheduler.model.scenario import Scenario
from scheduler.model.weekend import OutOfUse
from scheduler.solve.board import Board, Placed
from scheduler.solve.flow import build_flow
from scheduler.solve.grid import build_grid
from scheduler.solve.highs import Effort, solve
from scheduler.solve.improve import first_plans, step
from scheduler.solve.settle import cost_cents
from scheduler.solve.zones import melted, one_by_one

TO_THE_CENT = 0.01


def walk(scenario: Scenario, step_min: int, seed: int, moves: int = 8) -> list[Board]:
    """A first plan and some that a few moves make of it."""
    rng = Random(seed)
    now = next(iter(first_plans(build_grid(scenario, step_min))))
    boards = [now.board]
    for _ in range(moves):
        new = step(now, rng)
        if new is not None:
            now = new
            boards.append(new.board)
    return boards


@given(weekends(), st.sampled_from((10, 15, 30)), st.integers(0, 99))
@settings(max_examples=40)
def test_every_plan_that_passes_the_audit_is_a_point_at_its_own_cost(
    scenario: Scenario, step_min: int, seed: int
) -> None:
    boards = walk(scenario, step_min, seed)
    exact, small = build_flow(one_by_one(boards[0].grid)), build_flow(melted(boards[0].grid))
    for board in (boards[0], boards[-1]):
        if not audit(plan_of(board), scenario):
            assert fixed_cents(exact, board) == pytest.approx(cost_cents(board), abs=TO_THE_CENT)
            assert fixed_cents(small, board) <= cost_cents(board) + TO_THE_CENT


def test_the_hand_made_plan_is_a_point_at_its_cost() -> None:
    board = hand_made(grid_of())
    assert fixed_cents(build_flow(one_by_one(board.grid)), board) == pytest.approx(COST.total, abs=TO_THE_CENT)
    free_moves = fixed_cents(build_flow(melted(board.grid)), board)
    assert free_moves == pytest.approx(COST.total - COST.moves, abs=TO_THE_CENT)


# What breaks a rule is no point


def cents(
    of: Kitchen,
    *loads: Placed,
    oak: Iterable[tuple[int, int, int]] = HAND_MADE,
    both: bool = False,
    called: Iterable[tuple[str, str]] = CALLED,
) -> float:
    """Cost, as a point of the exact model, of loads with the north fire, or both, so held; inf if they break a row."""
    grid = grid_of(of)
    frame = frame_of(grid, *oak, called=called)
    if both:
        frame = replace(frame, levels=(frame.levels[0], frame.levels[0].copy()))
    board = Board.empty(grid, frame)
    for load in loads or (BRISKETS, FOR_OAK, CHICKENS):
        board.put(load)
    return fixed_cents(build_flow(one_by_one(grid)), board)


short_night = kitchen().pattern("night", length_min=510)
"""Ana goes home at 9:00 am; the chickens are done by 9:30."""


@pytest.mark.parametrize(
    ("broken", "just"),
    [
        (kitchen().rack("north", "top", spaces=3.99), kitchen().rack("north", "top", spaces=4)),
        (kitchen().rack("north", "low", spaces=1.99), kitchen().rack("north", "low", spaces=2)),
        (kitchen().shelf(spaces=3.99), kitchen().shelf(spaces=4)),
        (kitchen().cabinet(spaces=5.99), kitchen().cabinet(spaces=6)),
        (kitchen().cut("brisket", hold_spaces=1.01), kitchen()),
        (kitchen().cabinet(hold_f=181), kitchen().cabinet(hold_f=180)),
        # Loading three briskets at 2:00: Ana gives 12.5 minutes, 1.25 of them to the fire.
        (kitchen().hands("brisket", load_min=3.76), kitchen().hands("brisket", load_min=3.75)),
        (kitchen().hands("brisket", wrap_min=4.17), kitchen().hands("brisket", wrap_min=3.75)),
        (kitchen().site(wrap_tables=0), kitchen().site(wrap_tables=1)),
        (kitchen().site(cutting_boards=0), kitchen().site(cutting_boards=1)),
        (short_night.person("Ben", skills=("fire", "slice")), short_night),
        # The night starts at 0:30, and the fire must be ready at 2:00.
        (kitchen().firebox("oak", warm_up_min=91), kitchen().firebox("oak", warm_up_min=90)),
        # From 225 to 250 F at 7:30, briskets take both.
        (kitchen().recipe("brisket", finish_high_f=249), kitchen().recipe("brisket", finish_high_f=250)),
        (
            kitchen().weekend(out_of_use=(OutOfUse(place="oven", from_at=naive("8:44"), until_at=naive("9:00")),)),
            kitchen().weekend(out_of_use=(OutOfUse(place="oven", from_at=naive("8:45"), until_at=naive("9:00")),)),
        ),
    ],
)
def test_a_plan_over_a_limit_is_no_point_and_one_at_it_is(broken: Kitchen, just: Kitchen) -> None:
    assert cents(just) < inf
    with suppress(KeyError):  # where the place is no option of the stream at all
        assert cents(broken) == inf


@pytest.mark.parametrize(("load_step", "fine"), [(6, False), (7, True), (11, True), (12, False)])
def test_the_wrap_window_binds_on_both_sides(load_step: int, fine: bool) -> None:
    # Wrapped 180 to 240 minutes after the loading, at step 23.
    load = replace(BRISKETS, load_step=load_step, wrap_step=23)
    assert (cents(kitchen(), load, oak=[(6, 40, 225)]) < inf) == fine


@pytest.mark.parametrize(
    ("oak", "fine"),
    [
        ([(8, 34, 250)], True),
        ([(9, 34, 250)], False),  # nothing burns at the loading
        ([(8, 33, 250)], False),  # nor up to the late pull
        ([(8, 34, 275)], False),  # too hot before the wrap
        ([(8, 24, 250), (24, 34, 275)], True),  # the change starts two steps before, at the wrap
        ([(8, 23, 250), (23, 34, 275)], False),
    ],
)
def test_setpoints_that_loads_do_not_accept_are_no_points(oak: list[tuple[int, int, int]], fine: bool) -> None:
    assert (cents(kitchen(), BRISKETS, oak=oak) < inf) == fine


@pytest.mark.parametrize(("gap", "fine"), [(8, True), (7, False)])
def test_a_fire_is_lit_again_only_after_its_clean_out_and_warm_up(gap: int, fine: bool) -> None:
    # Four steps to clean out, four to warm up.
    of = kitchen().firebox("oak", tend_min=0, light_min=0).crew(hand_minutes_per_h=60)
    assert (cents(of, CHICKENS, oak=[(8, 10, 250), (10 + gap, 44, 250)]) < inf) == fine


def test_a_fire_that_nobody_tends_is_no_point() -> None:
    day = CALLED - {("Ana", "night")}
    assert cents(kitchen(), CHICKENS, oak=[(8, 40, 250)], called=day) == inf, "it burns from 1:00 am"
    assert cents(kitchen(), CHICKENS, oak=[(30, 40, 250)], called=day) < inf


def test_one_person_tends_so_many_fires_and_no_more() -> None:
    day = CALLED - {("Ana", "night")}
    of = kitchen().firebox("oak", light_min=0).firebox("hickory", light_min=0)
    for fires, fine in ((2, True), (1, False)):
        found = cents(of.crew(fires_per_person=fires), CHICKENS, oak=[(30, 40, 250)], both=True, called=day)
        assert (found < inf) == fine


def test_a_counter_that_nobody_mans_is_dear_but_a_point() -> None:
    nobody = CALLED - {("Cal", "service")}
    assert cents(kitchen(), FOR_OAK, called=nobody) > 1e7
    assert cents(kitchen().counter_hands(0), FOR_OAK, called=nobody) < 1e6


@pytest.mark.parametrize(("night", "rest", "fine"), [(600, 0, False), (570, 0, True), (570, 1, False)])
def test_shifts_of_one_person_lie_the_least_rest_apart(night: int, rest: int, fine: bool) -> None:
    # The service starts at 10:00, the night ends at 10:30 or at 10:00.
    of = kitchen().crew(least_rest_min=rest).pattern("night", length_min=night)
    assert (cents(of, FOR_OAK, called=CALLED | {("Ana", "service")}) < inf) == fine


# Optima known by thought


def test_with_nothing_wanted_only_the_counter_costs() -> None:
    of = kitchen().weekend(waves=(), orders=())
    for zones in (one_by_one(grid_of(of)), melted(grid_of(of))):
        answer = solve(build_flow(zones).milp, Effort(gap=0.0))
        # Cal's service shift: 5 hours at $15.00.
        assert (answer.proven, answer.cost) == (True, pytest.approx(7500, abs=TO_THE_CENT))


def test_a_kitchen_out_of_use_makes_nothing() -> None:
    broken = tuple(OutOfUse(place=place) for place in ("oak", "hickory"))
    for zones in (one_by_one, melted):
        answer = solve(build_flow(zones(grid_of(kitchen().weekend(out_of_use=broken)))).milp, Effort(gap=0.0))
        # Five briskets at $120.00, one of them promised for $5.00, four half chickens at $9.00, and Cal.
        assert answer.cost == pytest.approx(5 * 12_000 + 500 + 4 * 900 + 7500, abs=TO_THE_CENT)


def test_the_melted_kitchen_is_never_dearer() -> None:
    answers = [solve(build_flow(zones(grid_of(step_min=30))).milp, Effort(gap=0.0)) for zones in (melted, one_by_one)]
    assert all(answer.proven for answer in answers)
    assert answers[0].cost <= answers[1].cost + TO_THE_CENT
    assert answers[1].cost <= COST.total


def test_racks_of_one_smoker_are_no_move() -> None:
    # The low rack takes briskets too; from the top rack to it costs nothing, to the south smoker it does.
    of = kitchen().rack("north", "low", fits=(), offset_f=5).firebox("hickory", light_min=0, tend_min=0)
    stays, beside, moves = (
        cents(of, replace(FOR_OAK, finish_spot=spot), oak=[(8, 36, 250)], both=True) for spot in (TOP, LOW, SOUTH)
    )
    assert stays < inf
    assert beside == pytest.approx(stays, abs=TO_THE_CENT)
    assert moves == pytest.approx(stays + 50, abs=TO_THE_CENT)
