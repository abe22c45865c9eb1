"""What would help most: changes to a kitchen, a plan carried into it, and gains that are real."""

from __future__ import annotations

from datetime import datetime, timedelta
from functools import cache
from threading import Event

import pytest
from solve.corner import SCENARIOS, corner, finished, half_the_hold, with_site, with_weekend, without

from scheduler.audit import audit
from scheduler.books import read_scenario
from scheduler.model.plan import Plan, Relief
from scheduler.model.scenario import Scenario
from scheduler.solve.assemble import assemble
from scheduler.solve.board import Board
from scheduler.solve.changes import Change, carried, changes
from scheduler.solve.checked import checked
from scheduler.solve.grid import Grid, build_grid
from scheduler.solve.relief import NOISE_CENTS, explain
from scheduler.solve.settle import cost_cents

MOVES = 25
"""Of the search, before anything is explained."""


@cache
def planned(kitchen: str) -> tuple[Plan, Board]:
    """A plan and its board of a kitchen, made once."""
    return finished({"corner": corner, "half the hold": half_the_hold, "one tender": one_tender}[kitchen](), MOVES)


def one_tender() -> Scenario:
    """Nobody but Wade can tend a fire."""
    return without(corner(), "Lupe")


@cache
def explained(kitchen: str) -> Plan:
    """The plan with reasons and reliefs, after few moves."""
    return explain(*planned(kitchen), work=3)


def change_of(board: Board, words: str) -> Change:
    """The change that says so."""
    return next(change for change in changes(board) if words in change.words)


def board_in(change: Change, board: Board) -> tuple[Grid, Board]:
    """The board carried over, its loads put down if they still fit."""
    grid = build_grid(change.scenario)
    frame, loads = carried(board, change, grid)
    new = Board.empty(grid, frame)
    assert all(new.try_put(load) for load in loads)
    return grid, new


# changes -----------------------------------------------------------------------------------------------------------


def test_one_more_of_each_thing() -> None:
    board = planned("corner")[1]
    words = [change.words for change in changes(board)]
    assert words == [
        "one more holding cabinet of 14 spaces",
        "one more rack of 6 spaces in the long smoker",
        "one more rest shelf of 14 spaces",
        "one more hand like Sol (pit, wrap, slice and counter), wages counted",
        "one more smoker like short, on a fire of its own",
        "one more hand like Lupe (fire, pit, wrap and slice), wages counted",
        "one more oven of 3 spaces",
        "one more wrap table",
        "one more cutting board",
        "starting the weekend's work earlier, Fri 3:00 pm",
    ]


def test_a_changed_kitchen_has_one_more_and_nothing_else() -> None:
    board = planned("corner")[1]
    before, after = corner().site, change_of(board, "holding cabinet").scenario.site
    assert [c.spaces for c in after.hold_cabinets] == [14, 14]
    assert len({c.name for c in after.hold_cabinets}) == 2
    assert after.model_copy(update={"hold_cabinets": before.hold_cabinets}) == before
    site = change_of(board, "on a fire of its own").scenario.site
    assert len(site.fireboxes) == 3
    assert site.smokers[-1].firebox == site.fireboxes[-1].name
    crew = change_of(board, "one more hand").scenario.crew
    assert len({person.name for person in crew.people}) == 5


def test_names_of_new_things_stay_within_their_length() -> None:
    long = corner().site.hold_cabinets[0].model_copy(update={"name": "c" * 40})
    board = finished(with_site(corner(), hold_cabinets=(long, long.model_copy(update={"name": "c" * 36 + " 2"}))), 0)[1]
    names = [c.name for c in change_of(board, "holding cabinet").scenario.site.hold_cabinets]
    assert len(set(names)) == 3
    assert all(len(name) <= 40 for name in names)


def test_the_opening_wave_moves_only_where_its_cut_has_time() -> None:
    board = planned("half the hold")[1]
    change = change_of(board, "opening wave of Sat")
    old = {(w.cut, w.at): w for w in half_the_hold().weekend.waves}
    at = datetime(2026, 5, 16, 11)
    moved = [w for w in change.scenario.weekend.waves if (w.cut, w.at) not in old]
    assert {w.cut for w in moved} == {cut for cut, when in old if when == at}
    assert all(w.at == at + timedelta(hours=1) for w in moved)
    assert change.moved["packer brisket", "Sat 11:00"] == "Sat 12:00"
    demands = {(d.cut, d.wave) for d in change.scenario.weekend.demands()}
    assert all((cut, new) in demands for (cut, _), new in change.moved.items())


def test_an_opening_wave_stays_where_the_next_is_too_near() -> None:
    weekend = half_the_hold().weekend
    waves = (*weekend.waves, weekend.waves[0].model_copy(update={"at": datetime(2026, 5, 16, 12), "pieces": 1}))
    board = finished(with_weekend(half_the_hold(), waves=waves), 0)[1]
    assert ("packer brisket", "Sat 11:00") not in change_of(board, "opening wave").moved


# carried over ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("words", ["holding cabinet", "rack of", "rest shelf", "hand like", "own", "oven", "earlier"])
def test_a_plan_carried_over_costs_the_same(words: str) -> None:
    board = planned("corner")[1]
    grid, new = board_in(change_of(board, words), board)
    assert len(new.placed) == len(board.placed)
    assert cost_cents(new) == pytest.approx(cost_cents(board))
    shift = grid.minute(board.grid.scenario.weekend.timeline.origin)
    assert shift == (60 if words == "earlier" else 0)
    clock, old = grid.scenario.weekend.timeline, board.grid.scenario.weekend.timeline
    for a, b in zip(new.placed, board.placed, strict=True):
        assert clock.moment(a.load_step * 15) == old.moment(b.load_step * 15)
        spots = new.spots[a.smoke_spot], board.spots[b.smoke_spot]
        assert grid.places[spots[0].place].name == board.grid.places[spots[1].place].name
        assert spots[0].rack == spots[1].rack


def test_loads_for_a_wave_that_moved_are_left_out_only_if_they_would_not_keep() -> None:
    board = planned("half the hold")[1]
    change = change_of(board, "opening wave")
    grid = build_grid(change.scenario)
    _, loads = carried(board, change, grid)
    old = {(load.stream, board.grid.demands[load.demand].wave, load.load_step) for load in board.placed}
    new = {(load.stream, grid.demands[load.demand].wave, load.load_step) for load in loads}
    first = {one for one in old if one[1] == "Sat 11:00"}
    assert old - first <= new
    # An hour later they are held an hour less, and served until the same time or an hour later.
    assert {(stream, step) for stream, wave, step in new if wave == "Sat 12:00"} <= {(s, k) for s, _, k in first}


# reliefs -----------------------------------------------------------------------------------------------------------


def test_more_hold_space_helps_where_it_was_halved() -> None:
    plan, _ = planned("half the hold")
    told = explained("half the hold")
    assert plan.shorts
    assert all("holding cabinets are full" in short.why for short in told.shorts)
    first = told.reliefs[0]
    assert (first.limit, first.change) == ("hold", "one more holding cabinet of 7 spaces")
    assert first.pieces > 0
    assert first.cents > NOISE_CENTS


def test_a_second_tender_helps_where_there_is_one() -> None:
    told = explained("one tender")
    assert told.shorts
    assert told.reliefs[0].limit == "hands"
    assert told.reliefs[0].change.startswith("one more hand like Wade")
    # With two tenders all or nearly all of the 42 pieces can be made; with one, hardly any.
    assert told.reliefs[0].pieces > 0.9 * sum(short.pieces for short in told.shorts) > 30


@pytest.mark.parametrize("kitchen", ["corner", "half the hold", "one tender"])
def test_reliefs_are_gains_best_first(kitchen: str) -> None:
    plan, _ = planned(kitchen)
    told = explained(kitchen)
    cents = [relief.cents for relief in told.reliefs]
    assert cents == sorted(cents, reverse=True)
    assert all(NOISE_CENTS < gain < plan.cost.total for gain in cents)
    assert all(short.why != "not looked into" for short in told.shorts)


def test_only_reasons_and_reliefs_are_new() -> None:
    plan, _ = planned("half the hold")
    told = explained("half the hold")
    assert [(s.cut, s.wave, s.pieces) for s in told.shorts] == [(s.cut, s.wave, s.pieces) for s in plan.shorts]
    assert told.model_copy(update={"shorts": plan.shorts, "reliefs": ()}) == plan


def test_room_nobody_needs_is_no_relief() -> None:
    # All is made with room to spare, so no shelf and no cabinet can be worth anything.
    told = explained("corner")
    assert told.shorts == ()
    assert not {relief.limit for relief in told.reliefs} & {"rest", "hold"}


def test_the_same_work_gives_the_same_reliefs() -> None:
    assert explain(*planned("half the hold"), work=3) == explained("half the hold")


def test_a_stop_gives_reasons_without_reliefs() -> None:
    stop = Event()
    stop.set()
    told = explain(*planned("half the hold"), stop=stop)
    assert told.reliefs == ()
    assert all("holding cabinets are full" in short.why for short in told.shorts)


def test_no_time_gives_reasons_without_reliefs() -> None:
    told = explain(*planned("half the hold"), seconds=0)
    assert told.reliefs == ()
    assert all(short.why != "not looked into" for short in told.shorts)


def test_a_stop_says_what_was_not_looked_into() -> None:
    plan, board = planned("corner")
    fewer = Board.empty(board.grid, board.frame)
    first, *others = board.placed
    for load in others:
        fewer.put(load)
    stop = Event()
    stop.set()
    short = assemble(fewer, plan.certificate).plan
    assert [one.pieces for one in short.shorts] == [first.pieces]
    assert "planning ended before it was known" in explain(short, fewer, stop=stop).shorts[0].why
    assert "it would pay" in explain(short, fewer, work=0).shorts[0].why


def test_a_pair_helps_where_two_limits_bind_together() -> None:
    plan, board = finished(read_scenario(SCENARIOS / "parade-day"), MOVES)
    told: tuple[Relief, ...] = explain(plan, board, work=3).reliefs
    both = [relief for relief in told if "cabinet of 8 spaces and one more rack of 4 spaces" in relief.change]
    assert [relief.limit for relief in both] == ["hold"]
    assert both[0].cents == max(relief.cents for relief in told)


# checked -----------------------------------------------------------------------------------------------------------


def test_a_checked_plan_passes_the_audit_and_costs_what_its_board_does() -> None:
    plan, board = planned("corner")
    made = checked(board, repairs=2)
    assert made is not None
    assert audit(made, corner()) == ()
    assert made.cost == plan.cost
    assert made.cost.total == pytest.approx(cost_cents(board), abs=3)


def test_a_board_that_breaks_a_rule_is_no_plan() -> None:
    board = finished(corner(), 0)[1]
    load = max(board.placed, key=lambda one: one.pieces)
    for _ in range(8):
        board.put(load)
    assert checked(board) is None
