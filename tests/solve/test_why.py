"""Why a wave is short: a limit is made to bind where all could be made, and must be the one that is named."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta

import pytest
from solve.corner import (
    SCENARIOS,
    corner,
    finished,
    half_the_hold,
    only,
    smaller,
    with_cuts,
    with_site,
    with_weekend,
    without,
)

from scheduler.books import read_scenario
from scheduler.model.menu import Cut
from scheduler.model.plan import Limit
from scheduler.model.scenario import Scenario
from scheduler.model.weekend import OutOfUse
from scheduler.solve.board import Board
from scheduler.solve.lifted import Lift, Opened
from scheduler.solve.settle import cost_cents
from scheduler.solve.why import Finding, findings, overlooked


def found(scenario: Scenario, moves: int = 25) -> tuple[Finding, ...]:
    """Findings on a finished board, which cover all that is short."""
    board = finished(scenario, moves)[1]
    told = findings(board)
    short = {d: w.pieces - made for d, (w, made) in enumerate(zip(board.grid.demands, board.made(), strict=True))}
    assert {finding.demand: finding.pieces for finding in told} == {d: n for d, n in short.items() if n}
    return told


def limits(told: tuple[Finding, ...]) -> set[Limit]:
    """The limits named."""
    return {finding.limit for finding in told}


def binding(told: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Without those that say that the search was too short, which it is meant to be in a test."""
    return tuple(finding for finding in told if "planning for longer" not in finding.sentence)


def half_the_racks() -> Scenario:
    """Half the room on the racks."""
    site = corner().site
    smokers = tuple(s.model_copy(update={"racks": smaller(s.racks, 0.5)}) for s in site.smokers)
    return with_site(corner(), smokers=smokers)


def half_the_rest() -> Scenario:
    """Half the room on the rest shelf."""
    return with_site(corner(), rest_shelves=smaller(corner().site.rest_shelves, 0.5))


def test_nothing_is_said_where_nothing_is_short() -> None:
    assert found(corner()) == ()


@pytest.mark.parametrize(
    ("kitchen", "limit", "words"),
    [
        (half_the_hold, "hold", "holding cabinets are full"),
        (half_the_racks, "rack", "racks that take it are full when"),
        (half_the_rest, "rest", "rest shelves are full"),
    ],
)
def test_room_that_was_halved_is_the_limit(kitchen: Callable[[], Scenario], limit: Limit, words: str) -> None:
    told = binding(found(kitchen()))
    assert told
    assert limits(told) == {limit}
    assert all(words in finding.sentence for finding in told)


def test_a_broken_smoker_is_said_to_be_out_of_use() -> None:
    told = found(with_weekend(half_the_racks(), out_of_use=(OutOfUse(place="short"),)))
    assert "rack" in limits(told)
    assert any("full or out of use" in finding.sentence for finding in told)


@pytest.mark.parametrize("name", ["Wade", "Lupe"])
def test_a_person_removed_leaves_hands_short(name: str) -> None:
    # Two people can tend fires; with one of them gone no fire can burn through the night and the day.
    told = binding(found(without(corner(), name)))
    assert "hands" in limits(told) <= {"hands", "fire"}
    assert all("nobody could light or tend" in finding.sentence for finding in told if finding.limit == "fire")


@pytest.mark.parametrize(
    ("station", "words"),
    [("wrap_tables", "another wrap table"), ("cutting_boards", "another cutting board")],
)
def test_a_station_removed_is_named(station: str, words: str) -> None:
    told = found(with_site(corner(), **{station: 0}), moves=0)
    assert limits(told) == {"hands"}
    assert all(words in finding.sentence for finding in told)


def test_the_skill_that_is_missing_is_named() -> None:
    crew = corner().crew
    people = tuple(
        p.model_copy(update={"skills": tuple(s for s in p.skills if s != "wrap")}) if "wrap" in p.skills else p
        for p in crew.people
    )
    told = found(corner().model_copy(update={"crew": crew.model_copy(update={"people": people})}), moves=0)
    assert limits(told) == {"hands"}
    assert all("nobody is free to wrap them" in finding.sentence.lower() for finding in told)
    assert {finding.demand for finding in told} <= set(range(10))


def test_a_hold_limit_that_no_timing_keeps_is_time() -> None:
    # Half chickens: on the hottest rack 55 min from early to late, then 45 min of serving: more than 90 min.
    def hurried(cut: Cut) -> Cut:
        return cut.model_copy(update={"hold_max_min": 90}) if cut.name == "half chicken" else cut

    told = found(with_cuts(only(corner(), "half chicken"), hurried), moves=0)
    assert limits(told) == {"time"}
    assert all("hold limit of 1 h 30" in finding.sentence for finding in told)
    assert [finding.pieces for finding in told] == [4, 4]


def test_planning_that_starts_too_late_is_time_by_the_minutes_that_it_is() -> None:
    # Briskets for 11:00 am, at the quickest: 60 min warm-up of the short box, 225 min to the wrap at its hottest level,
    # on the grid; late end and rest after it. Moving the start earlier by what is said must make them possible.
    late = with_weekend(only(corner(), "packer brisket"), plan_from=datetime(2026, 5, 16, 0, 0))
    told = found(late, moves=0)
    assert limits(told) == {"time"}
    said = {finding.sentence for finding in told if "Planning starts" in finding.sentence}
    assert "Planning starts 3 h 15 too late to warm up, cook and rest, should it take to the late end." in said
    barely = with_weekend(late, plan_from=datetime(2026, 5, 16) - timedelta(hours=3, minutes=15))
    assert not any("Planning starts" in finding.sentence for finding in found(barely, moves=0))
    still = with_weekend(late, plan_from=datetime(2026, 5, 16) - timedelta(hours=3))
    assert any("Planning starts 15 min too late" in finding.sentence for finding in found(still, moves=0))


def test_a_cut_that_no_fire_suits_is_temperature() -> None:
    boxes = tuple(box.model_copy(update={"setpoints_f": (200,)}) for box in corner().site.fireboxes)
    told = found(with_site(corner(), fireboxes=boxes), moves=0)
    assert {finding.pieces for finding in told if "half chicken" in finding.sentence} == {4}
    assert limits(told) == {"temperature"}


def one_fire(setpoints_f: tuple[int, ...]) -> Scenario:
    """One smoker with room for all, ribs that only take 250 F, chickens that only take 275 F, for the same hour."""

    def slow(cut: Cut) -> Cut:
        return cut if cut.name == "half chicken" else cut.model_copy(update={"recipes": cut.recipes[:1]})

    small = with_cuts(only(corner(), "spare ribs", "half chicken"), slow)
    smoker, box = small.site.smokers[0], small.site.fireboxes[0]
    racks = tuple(rack.model_copy(update={"spaces": 30, "offset_f": 0}) for rack in smoker.racks)
    waves = tuple(w for w in small.weekend.waves if w.at == datetime(2026, 5, 16, 11))
    small = with_weekend(small, waves=tuple(w.model_copy(update={"pieces": 14}) for w in waves))
    return with_site(
        small,
        fireboxes=(box.model_copy(update={"setpoints_f": setpoints_f}),),
        smokers=(smoker.model_copy(update={"racks": racks}),),
        ovens=(),
    )


def test_a_fire_held_for_others_is_temperature() -> None:
    # Ribs of 11:00 am are on until 10:30 at 250 F, should they be late; the chickens need 275 F in the hours before.
    told = found(one_fire((250, 275)), moves=0)
    assert limits(told) == {"temperature"}
    assert [finding.pieces for finding in told] == [14]


def cheap(scenario: Scenario) -> Scenario:
    """Briskets, and nothing else, that bring three dollars each."""
    return with_cuts(only(scenario, "packer brisket"), lambda cut: cut.model_copy(update={"price_cents": 400}))


def test_hours_that_cost_more_than_the_pieces_bring_are_hands() -> None:
    told = found(cheap(with_site(corner(), wood_cents_per_lb=0)))
    assert [finding.pieces for finding in told] == [3, 2]
    assert limits(told) == {"hands"}
    assert all(": that costs $" in finding.sentence for finding in told)


def test_wood_that_costs_more_than_the_pieces_bring_is_fire() -> None:
    crew = corner().crew
    people = tuple(person.model_copy(update={"wage_cents_per_h": 0}) for person in crew.people)
    free = corner().model_copy(update={"crew": crew.model_copy(update={"people": people})})
    told = found(cheap(free))
    assert [finding.pieces for finding in told] == [3, 2]
    assert limits(told) == {"fire"}
    assert all("by burning more wood" in finding.sentence for finding in told)


def test_one_more_shift_is_named_with_its_price() -> None:
    def poor(cut: Cut) -> Cut:
        return cut.model_copy(update={"price_cents": cut.cost_cents + 100})

    scenario = with_cuts(with_site(only(corner(), "half chicken"), wood_cents_per_lb=0), poor)
    told = found(scenario, moves=100)
    assert [finding.pieces for finding in told] == [4, 4]
    # Bea stands at the counter all day. A shift of Lupe's is 8 h at $22.00, $176.00; four chickens bring $4.00, less
    # some cents for holding.
    assert all("only with one more shift (Lupe, " in finding.sentence for finding in told)
    assert all("costs $172." in finding.sentence for finding in told)


def test_an_unfinished_search_is_said_to_be_one() -> None:
    # The board of a plan that can make everything, with a load taken off again: there is room, and it pays.
    board = finished(corner())[1]
    gone = max(board.placed, key=lambda load: load.pieces)
    board.take(gone)
    told = findings(board)
    assert [(finding.demand, finding.pieces, finding.limit) for finding in told] == [(gone.demand, gone.pieces, "time")]
    assert "planning for longer would find it" in told[0].sentence
    better = overlooked(board)
    assert better is not None
    assert better.made()[gone.demand] == board.made()[gone.demand] + gone.pieces
    assert cost_cents(better) < cost_cents(board)


def test_nothing_is_overlooked_where_a_limit_binds() -> None:
    assert overlooked(finished(corner())[1]) is None
    chickens = with_cuts(only(corner(), "half chicken"), lambda cut: cut.model_copy(update={"hold_max_min": 90}))
    assert overlooked(finished(chickens, 0)[1]) is None


def test_two_limits_at_once_are_both_named() -> None:
    # Parade day: 8 spaces on the racks and 8 in the cabinet, both full of briskets for 11:00 am.
    told = found(read_scenario(SCENARIOS / "parade-day"))
    pairs = [finding for finding in told if finding.with_limit is not None]
    assert pairs
    assert {(finding.limit, finding.with_limit) for finding in pairs} == {("hold", "rack")}
    assert all("holding cabinets are full and the racks" in finding.sentence for finding in pairs)


@pytest.mark.parametrize("kitchen", [half_the_hold, half_the_racks, half_the_rest])
def test_the_limit_named_is_the_only_one_that_helps(kitchen: Callable[[], Scenario]) -> None:
    board = finished(kitchen(), 25)[1]
    rooms: tuple[Limit, ...] = ("hold", "rack", "rest")
    for finding in findings(board):
        helps = {limit for limit in rooms if more(board, finding, limit)}
        assert helps == {finding.limit}


def more(board: Board, finding: Finding, limit: Limit) -> int:
    """Pieces that a lifted limit gives, on a board opened anew."""
    return Opened(board).most(finding.demand, finding.pieces, Lift(frozenset({limit})))


def test_trying_leaves_the_board_as_it_was() -> None:
    board = finished(half_the_hold(), 10)[1]
    placed, free, hold = list(board.placed), board.free.copy(), board.hold.copy()
    left = [minutes.copy() for _, minutes in board.hands.left]
    findings(board)
    assert board.placed == placed
    assert (board.free == free).all()
    assert (board.hold == hold).all()
    assert all((a[1] == b).all() for a, b in zip(board.hands.left, left, strict=True))
