"""From a board to the plan that is printed."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from audit_kitchen import COST, kitchen, t
from hypothesis import given, settings
from hypothesis import strategies as st
from solve_kitchen import BRISKETS, CALLED, CHICKENS, FOR_OAK, HAND_MADE, frame_of, grid_of, hand_made, plan_of
from strategies import weekends

from scheduler.audit import audit, price
from scheduler.books import scenario_hash
from scheduler.model.plan import Setpoint, Short
from scheduler.model.scenario import Scenario
from scheduler.solve.assemble import assemble
from scheduler.solve.board import Board
from scheduler.solve.grid import build_grid
from scheduler.solve.improve import first_plans
from scheduler.solve.progress import certificate

UNSIGNED = certificate(0, None, 15, 0.0, "time", 0)


def test_the_hand_made_plan_comes_out_as_it_was_made() -> None:
    by_hand = kitchen().plan
    made = assemble(hand_made(grid_of()), UNSIGNED)
    assert made.overfull == ()
    plan = made.plan
    assert plan.loads == by_hand.loads
    assert plan.fires == by_hand.fires
    assert plan.shifts == by_hand.shifts
    assert plan.cost == COST
    assert [(short.cut, short.wave, short.pieces) for short in plan.shorts] == [("brisket", "Sat 11:00", 1)]
    assert audit(plan, kitchen().scenario) == ()


def test_the_head_of_the_plan_is_that_of_the_weekend() -> None:
    scenario = kitchen().scenario
    plan = plan_of(hand_made(grid_of()))
    assert (plan.scenario, plan.invented, plan.timezone, plan.clock) == (
        "invented Saturday",
        True,
        "America/Chicago",
        "12h",
    )
    assert plan.scenario_hash == scenario_hash(scenario)
    assert plan.certificate == UNSIGNED


def test_loads_that_differ_only_in_number_become_one() -> None:
    grid = grid_of()
    board = Board.empty(grid, frame_of(grid, *HAND_MADE))
    for pieces in (1, 2):
        board.put(replace(BRISKETS, pieces=pieces))
    board.put(replace(BRISKETS, pieces=1, demand=2))
    assert [(load.code, load.pieces, load.wave) for load in plan_of(board).loads] == [
        ("BR01", 3, "Sat 11:00"),
        ("BR02", 1, "order Oak table"),
    ]


def test_loads_are_numbered_by_cut_in_order_of_time() -> None:
    grid = grid_of()
    board = Board.empty(grid, frame_of(grid, *HAND_MADE))
    for load in (CHICKENS, FOR_OAK, BRISKETS):
        board.put(load)
    assert [load.code for load in plan_of(board).loads] == ["BR01", "BR02", "CH01"]


def test_the_first_setpoint_holds_from_the_minute_at_which_the_fire_is_ready() -> None:
    grid = grid_of(kitchen().firebox("oak", warm_up_min=50))
    board = Board.empty(grid, frame_of(grid, (8, 20, 225), (20, 30, 250)))
    (fire,) = plan_of(board).fires
    assert (fire.lit_at, fire.ready_at, fire.out_at) == (t("1:00"), t("1:50"), t("7:30"))
    assert fire.setpoints == (
        Setpoint(from_at=t("1:50"), setpoint_f=225),
        Setpoint(from_at=t("5:00"), setpoint_f=250),
    )


def test_shifts_are_coded_in_order_of_time() -> None:
    grid = grid_of()
    board = Board.empty(grid, frame_of(grid, called=CALLED | {("Ben", "service")}))
    assert [(s.code, s.person, s.pattern) for s in plan_of(board).shifts] == [
        ("S1", "Ana", "night"),
        ("S2", "Ben", "day"),
        ("S3", "Ben", "service"),
        ("S4", "Cal", "service"),
    ]


def test_an_empty_board_is_a_plan_with_everything_short() -> None:
    grid = grid_of()
    plan = plan_of(Board.empty(grid, frame_of(grid, called={("Cal", "service")})))
    assert [(s.cut, s.wave, s.pieces) for s in plan.shorts] == [
        ("brisket", "Sat 11:00", 4),
        ("chicken", "Sat 11:00", 4),
        ("brisket", "order Oak table", 1),
    ]
    assert all(isinstance(s, Short) and s.why for s in plan.shorts)
    assert audit(plan, kitchen().scenario) == ()


def test_steps_whose_work_cannot_be_shared_out_are_named() -> None:
    grid = grid_of()
    board = Board.empty(grid, frame_of(grid, *HAND_MADE, called={("Cal", "service")}))
    board.put(BRISKETS)
    made = assemble(board, UNSIGNED)
    assert {8, 22} <= set(made.overfull)
    assert {"load-task", "wrap-task", "fire-unwatched"} <= {b.code for b in audit(made.plan, kitchen().scenario)}


@given(weekends(), st.sampled_from((10, 15, 20, 30)))
@settings(max_examples=40)
def test_a_plan_whose_work_is_shared_out_passes_the_audit(scenario: Scenario, step_min: int) -> None:
    board = next(iter(first_plans(build_grid(scenario, step_min)))).board
    made = assemble(board, certificate(0, None, step_min, 0.0, "time", 0))
    if not made.overfull:
        assert audit(made.plan, scenario) == ()
    assert made.plan.cost == price(made.plan, scenario)
    pieces: Counter[tuple[str, str]] = Counter()
    for load in made.plan.loads:
        pieces[load.cut, load.wave] += load.pieces
    for short in made.plan.shorts:
        pieces[short.cut, short.wave] += short.pieces
    assert pieces == Counter({(d.cut, d.wave): d.pieces for d in scenario.weekend.demands()})
