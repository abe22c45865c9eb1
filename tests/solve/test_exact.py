"""From a point of the flow model back to a board, and proven optima of small weekends."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import numpy as np
import pytest
from audit_kitchen import COST, Kitchen, kitchen
from hypothesis import given, settings
from hypothesis import strategies as st
from solve_kitchen import (
    BRISKETS,
    CALLED,
    CHICKENS,
    FOR_OAK,
    HAND_MADE,
    LOW,
    OVEN,
    TOP,
    frame_of,
    grid_of,
    hand_made,
    open_board,
    plan_of,
)
from strategies import weekends

from scheduler.audit import audit
from scheduler.model.base import Range
from scheduler.model.scenario import Scenario
from scheduler.model.site import HoldCabinet, Rack, RestShelf
from scheduler.solve.assemble import assemble
from scheduler.solve.board import Board
from scheduler.solve.exact import Proof, cells, prove, small
from scheduler.solve.extract import Batch, Draft, draft
from scheduler.solve.flow import build_flow
from scheduler.solve.grid import build_grid
from scheduler.solve.highs import Effort, solve
from scheduler.solve.improve import first_plans
from scheduler.solve.milp import Floats
from scheduler.solve.onto_racks import settled
from scheduler.solve.progress import certificate
from scheduler.solve.settle import cost_cents
from scheduler.solve.start import integers_of
from scheduler.solve.zones import melted, one_by_one

TO_THE_END = Effort(gap=0.0)
TO_THE_CENT = 0.01


def point_of(board: Board) -> tuple[Draft, Floats]:
    """A board's draft, by way of its point of the flow model."""
    model = build_flow(one_by_one(board.grid))
    chosen, values = integers_of(model, board)
    x = np.zeros(model.milp.size[1])
    x[chosen] = values
    return draft(model, x), x


# Drafts


def test_the_hand_made_plan_comes_back_from_its_point() -> None:
    board = hand_made(grid_of())
    found, _ = point_of(board)
    assert found.batches == {
        Batch(0, TOP, TOP, 8, 22, 0): 3,
        Batch(0, TOP, OVEN, 9, 23, 2): 1,
        Batch(1, LOW, LOW, 30, None, 1): 4,
    }
    assert set(found.shifts) == set(board.frame.shifts)
    # All is done by 9:30; the fire need not burn until 10:00, which saves 5 lb of wood at 30 cents.
    north, south = (levels.tolist() for levels in found.levels)
    assert north == [0] * 8 + [225] * 22 + [250] * 8 + [0] * 18
    assert south == [0] * 56
    again, whole = settled(board.grid, found)
    assert whole
    assert sorted(map(repr, again.placed)) == sorted(map(repr, board.placed))
    assert cost_cents(again) == pytest.approx(COST.total - 150)


def test_what_is_loaded_first_is_wrapped_first() -> None:
    grid = grid_of()
    board = Board.empty(grid, frame_of(grid, *HAND_MADE))
    # Crossed on the board: loaded at 8 and wrapped at 23, loaded at 9 and wrapped at 22.
    board.put(replace(BRISKETS, load_step=8, wrap_step=23))
    board.put(replace(BRISKETS, load_step=9, wrap_step=22, pieces=1))
    found, _ = point_of(board)
    assert found.batches == {
        Batch(0, TOP, TOP, 8, 22, 0): 1,
        Batch(0, TOP, TOP, 8, 23, 0): 2,
        Batch(0, TOP, TOP, 9, 23, 0): 1,
    }


def test_setpoints_are_kept_while_something_cooks_and_between() -> None:
    grid = grid_of()
    board = Board.empty(grid, frame_of(grid, (6, 26, 250), (26, 50, 225)))
    board.put(replace(BRISKETS, load_step=8, wrap_step=20))
    board.put(replace(BRISKETS, load_step=12, wrap_step=26, pieces=1))
    found, _ = point_of(board)
    kept = np.zeros(grid.steps, dtype=np.int64)
    kept[6:26], kept[26:38] = 250, 225
    assert found.levels[0].tolist() == kept.tolist(), "lit when the point says so, and out after the last late pull"
    assert not found.levels[1].any()


def test_a_pause_inside_a_burn_is_burnt_through() -> None:
    grid = grid_of(kitchen().cut("chicken", hold_max_min=660))
    board = Board.empty(grid, frame_of(grid, (8, 40, 250)))
    chicken = Batch(1, LOW, LOW, 8, None, 1)
    for step in (8, 30):
        board.put(replace(hand_made(grid_of()).placed[2], load_step=step, pieces=2))
    found, x = point_of(board)
    assert found.batches == {chicken: 2, replace(chicken, load_step=30): 2}
    assert found.levels[0].tolist() == [250 if 8 <= step < 38 else 0 for step in range(grid.steps)]
    # The same with no setpoint named in the pause: the former goes on.
    model = build_flow(one_by_one(grid))
    x[[model.fires[0].holds[250][step] for step in range(16, 30)]] = 0
    assert draft(model, x).levels[0].tolist() == found.levels[0].tolist()


def test_a_melted_kitchen_cannot_be_read() -> None:
    model = build_flow(melted(grid_of()))
    with pytest.raises(ValueError, match="melted"):
        draft(model, np.zeros(model.milp.size[1]))


# Racks, shelves and cabinets


def settle_briskets(of: Kitchen, pieces: int) -> tuple[Board, bool]:
    """So many briskets of one batch in the north, everybody called in, settled."""
    grid = grid_of(of)
    frame = frame_of(grid, (8, 34, 250), called={(o.person.name, o.pattern.name) for o in grid.shifts})
    return settled(grid, Draft({Batch(0, TOP, TOP, 8, 22, 0): pieces}, frame.levels, frame.shifts))


def test_a_batch_is_split_over_racks_that_are_alike() -> None:
    (north, south) = kitchen().scenario.site.smokers
    racks = (Rack(name="top", spaces=2), Rack(name="middle", spaces=2.5), *north.racks[1:])
    of = kitchen().site(smokers=(north.model_copy(update={"racks": racks}), south))
    board, whole = settle_briskets(of, 4)
    assert whole
    assert sorted((board.spots[load.smoke_spot].rack, load.pieces) for load in board.placed) == [
        ("middle", 2),
        ("top", 2),
    ]
    assert all(load.smoke_spot == load.finish_spot for load in board.placed), "back on the rack they came from"


def test_a_batch_is_split_over_shelves_and_cabinets() -> None:
    of = kitchen().site(
        rest_shelves=(RestShelf(name="a", spaces=1), RestShelf(name="b", spaces=3)),
        hold_cabinets=(HoldCabinet(name="c", spaces=3, hold_f=150), HoldCabinet(name="d", spaces=1, hold_f=150)),
    )
    board, whole = settle_briskets(of, 4)
    assert whole
    assert {name: sum(p.pieces for p in board.placed if p.rest == i) for i, name in enumerate("ab")} == {"a": 1, "b": 3}
    assert {name: sum(p.pieces for p in board.placed if p.hold == i) for i, name in enumerate("cd")} == {"c": 3, "d": 1}


def test_what_cannot_be_packed_is_left_out_or_placed_elsewhere() -> None:
    # Two racks of 1.5 spaces: the place has 3, but takes two briskets.
    (north, south) = kitchen().scenario.site.smokers
    racks = (Rack(name="top", spaces=1.5), Rack(name="middle", spaces=1.5))
    of = kitchen().site(smokers=(north.model_copy(update={"racks": racks}), south), ovens=())
    board, whole = settle_briskets(of, 3)
    assert not whole
    assert min(room.min() for room in board.free) >= 0
    assert board.made()[0] == 2


def test_a_cabinet_of_the_wrong_heat_is_not_used() -> None:
    cabinets = (HoldCabinet(name="hot", spaces=9, hold_f=181), HoldCabinet(name="right", spaces=9, hold_f=150))
    board, whole = settle_briskets(kitchen().site(hold_cabinets=cabinets), 4)
    assert whole
    assert {load.hold for load in board.placed} == {1}


# Proofs


def proof_of(scenario: Scenario, step_min: int) -> Proof:
    grid = build_grid(scenario, step_min)
    start = min((found for found in first_plans(grid)), key=lambda found: found.cents)
    return prove(grid, start.board, TO_THE_END)


def test_the_kitchen_is_solved_to_the_end() -> None:
    proof = proof_of(kitchen().scenario, 30)
    assert proof.proven
    assert proof.cents == pytest.approx(cost_cents(proof.board))
    assert proof.bound == pytest.approx(proof.cents, abs=TO_THE_CENT)
    assert proof.cents < COST.total
    plan = plan_of(proof.board)
    assert audit(plan, kitchen().scenario) == ()
    assert plan.cost.total == round(proof.cents)


def test_without_work_the_start_comes_back() -> None:
    grid = grid_of()
    board = hand_made(grid)
    proof = prove(grid, board, Effort(nodes=0, heuristics=0.0), progress=lambda bound: True)
    assert proof.cents <= COST.total
    assert proof.bound <= proof.cents + TO_THE_CENT


def test_the_start_comes_back_where_nothing_is_cheaper() -> None:
    proof = proof_of(kitchen().scenario, 30)
    again = prove(proof.board.grid, proof.board, TO_THE_END)
    assert again.board is proof.board
    assert again.proven


def test_a_bound_below_the_cost_proves_nothing() -> None:
    board = hand_made(grid_of())
    assert not Proof(board, 100.0, 99.0).proven
    assert Proof(board, 100.0, 100.0 - 1e-6).proven


def test_racks_that_do_not_pack_leave_an_honest_gap() -> None:
    # The model sees three spaces in the north, for three briskets; two racks of 1.5 take two. There is no oven.
    (north, _) = kitchen().scenario.site.smokers
    racks = (Rack(name="top", spaces=1.5), Rack(name="middle", spaces=1.5))
    waves = tuple(wave for wave in kitchen().scenario.weekend.waves if wave.cut == "brisket")
    of = kitchen().site(
        smokers=(north.model_copy(update={"racks": racks}),), ovens=(), fireboxes=kitchen().scenario.site.fireboxes[:1]
    )
    of = of.weekend(waves=(waves[0].model_copy(update={"pieces": 3}),), orders=()).person("Ana", wage_cents_per_h=500)
    proof = proof_of(of.scenario, 30)
    assert audit(plan_of(proof.board), of.scenario) == ()
    assert proof.board.made() == [2]
    assert proof.bound == pytest.approx(solve(build_flow(one_by_one(proof.board.grid)).milp, TO_THE_END).cost, abs=1)
    assert not proof.proven


def test_the_proof_of_a_kitchen_that_nobody_mans_is_no_plan() -> None:
    grid = grid_of(kitchen().counter_hands(4), 30)
    board = Board.empty(grid, frame_of(grid, called=CALLED))
    proof = prove(grid, board, Effort(nodes=1))
    assert proof.board is board
    assert proof.bound > 1e6


def test_the_size_of_a_weekend() -> None:
    # Steps at which a finish may start: briskets for 11:00 from 16 to 30, for 12:00, served to 12:30, from 10 to 34, in
    # the north, the south and the oven. Chickens from 30 (5 h of holding to 14:00, 10 min of rest, 80 to the early pull
    # before it) to 35 (120 min to the late pull and 10 of rest before 11:00), on three racks.
    grid = grid_of()
    assert cells(grid) == 3 * 15 + 3 * 25 + 3 * 6
    assert small(grid)
    assert not small(grid_of(step_min=1))


def test_what_nodes_cannot_limit_is_not_begun() -> None:
    grid = grid_of(step_min=4)
    assert cells(grid) > 400
    board = open_board(grid)
    proof = prove(grid, board, Effort(nodes=1))
    assert (proof.board, proof.bound, proof.proven) == (board, -inf, False)
    assert prove(grid, board, Effort(seconds=60, nodes=1)).bound > -inf


@given(weekends(sparse=True), st.sampled_from((15, 30)))
@settings(max_examples=15)
def test_the_proven_plan_of_any_small_weekend_passes_the_audit(scenario: Scenario, step_min: int) -> None:
    grid = build_grid(scenario, step_min)
    start = next(iter(first_plans(grid)))
    proof = prove(grid, start.board, Effort(nodes=20, gap=0.0))
    assert proof.cents == pytest.approx(cost_cents(proof.board), abs=TO_THE_CENT)
    assert proof.cents <= start.cents + TO_THE_CENT
    assert proof.bound <= proof.cents + TO_THE_CENT
    made = assemble(proof.board, certificate(0, None, step_min, 0.0, "time", 0))
    # Work that whole people can't share out in a step is told by the assembly, and mended by the search.
    assert made.overfull or audit(made.plan, scenario) == ()


def test_settled_loads_take_what_they_took_on_the_board() -> None:
    board = open_board(grid_of())
    board.put(BRISKETS)
    board.put(FOR_OAK)
    found, _ = point_of(board)
    again, whole = settled(board.grid, found)
    assert whole
    for old, new in zip((*board.free, *board.rest, *board.hold), (*again.free, *again.rest, *again.hold), strict=True):
        assert old.tolist() == new.tolist()


def test_no_plan_that_passes_the_audit_costs_less_than_a_proven_bound() -> None:
    # One space to rest on. The second brisket comes to it at 10:25, the minute at which the first one leaves it. A
    # model that took that step whole for both would have the first a quarter of an hour earlier, at a loss of 25 cents.
    (wave, _) = kitchen().scenario.weekend.waves
    of = (
        kitchen()
        .shelf(spaces=1)
        .recipe("brisket", finish=Range(early_min=70, likely_min=70, late_min=70))
        .cut("brisket", hold_free_min=0)
        .weekend(waves=(wave.model_copy(update={"pieces": 2}),), orders=())
        .person("Ana", wage_cents_per_h=300)
    )
    proof = proof_of(of.scenario, 15)
    assert proof.bound > 0
    grid = proof.board.grid
    board = Board.empty(grid, frame_of(grid, (23, 40, 250), called=(CALLED - {("Ben", "day")}) | {("Ben", "service")}))
    board.put(replace(BRISKETS, pieces=1, load_step=23, wrap_step=35))
    board.put(replace(BRISKETS, pieces=1, load_step=25, wrap_step=37, finish_spot=OVEN))
    plan = plan_of(board)
    if audit(plan, of.scenario):
        raise ValueError(audit(plan, of.scenario))
    assert plan.cost.total >= proof.bound - 2


def test_nor_where_a_setpoint_changes_between_steps() -> None:
    # To 275 F takes 20 minutes. The brisket, which takes 250 at most, is done at 8:25 for sure, and the chickens, which
    # need 275, are loaded at 8:45: the minutes between are just enough.
    of = (
        kitchen()
        .site(fireboxes=kitchen().scenario.site.fireboxes[:1], smokers=kitchen().scenario.site.smokers[:1], ovens=())
        .firebox("oak", setpoint_change_min=20)
        .recipe("brisket", finish=Range(early_min=175, likely_min=175, late_min=175), finish_high_f=250)
        .recipe("chicken", low_f=285)
        .cut("brisket", hold_free_min=0)
        .weekend(orders=())
        .person("Ana", wage_cents_per_h=300)
    )
    grid = grid_of(of)
    called = (CALLED - {("Ben", "day")}) | {("Ben", "service")}
    board = Board.empty(grid, frame_of(grid, (10, 35, 250), (35, 43, 275), called=called))
    board.put(replace(BRISKETS, pieces=4, load_step=10, wrap_step=22))
    board.put(replace(CHICKENS, load_step=35))
    plan = plan_of(board)
    if audit(plan, of.scenario):
        raise ValueError(audit(plan, of.scenario))
    assert plan.cost.total >= prove(grid, board, TO_THE_END).bound - 2
