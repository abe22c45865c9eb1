"""Loads placed one by one: what is placed keeps every rule, and as much is placed as was asked where there is room."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import product
from random import Random

import pytest
from audit_kitchen import Kitchen, kitchen
from hypothesis import given, settings
from hypothesis import strategies as st
from solve_kitchen import OVEN, SOUTH, TOP, demand_of, frame_of, grid_of, open_board, plan_of
from strategies import weekends

from scheduler.audit import audit
from scheduler.bench.weekends import Case
from scheduler.model.scenario import Scenario
from scheduler.solve.board import Board, Placed, finish_at, smoke_at
from scheduler.solve.frame import Frame
from scheduler.solve.grid import Stream, build_grid
from scheduler.solve.insert import RENT_CENTS, Taste, best_way, fill
from scheduler.solve.settle import everywhere

PLAIN = Taste()
EAGER = Taste(eager_cents=1e9)
"""As many at once as can be, whatever the wood."""

LOADS_RULES = {
    "rack-overfull", "oven-overfull", "rest-overfull", "hold-overfull", "out-of-use", "rack-temperature",
    "oven-temperature", "load-without-fire", "wrap-window", "done-range", "hold-start", "not-ready", "held-too-long",
    "finish-place", "oven-refused", "rack-fit", "rest-place", "hold-place", "wave-balance", "wave-times", "pull-cover",
    "hand-minutes", "wrap-minutes", "slice-minutes", "hold-too-cold", "hold-temperature", "rest-too-cold",
    "time-control", "tallow-time", "done-temperature",
}  # fmt: skip
"""Rules that loads must keep by themselves, however the work is shared out."""


@given(weekends(), st.randoms(use_true_random=False))
@settings(max_examples=30)
def test_loads_keep_every_rule_that_is_about_loads(scenario: Scenario, rng: Random) -> None:
    grid = build_grid(scenario)
    levels = everywhere(grid, [rng.choice(box.setpoints_f) for box in grid.fireboxes])
    # One shift of each person, so that nobody is in two places.
    shifts = {option.person.name: option for option in grid.shifts}
    board = Board.empty(grid, Frame(levels, tuple(shifts.values())))
    for d, demand in enumerate(grid.demands):
        missing = fill(board, d, demand.pieces, PLAIN)
        assert board.made()[d] == demand.pieces - missing
    codes = {breach.code for breach in audit(plan_of(board), scenario)} & LOADS_RULES
    # The fires burn all along, whoever is there to tend them.
    assert codes <= {"hand-minutes"}
    assert all(array.min() >= 0 for array in (*board.free, *board.rest, *board.hold))


def test_a_wave_goes_on_one_load_where_there_is_room() -> None:
    grid = grid_of()
    way = best_way(open_board(grid), demand_of(grid, "brisket", "Sat 11:00"), 4, EAGER)
    assert way is not None
    assert (way.pieces, way.wrap_step is not None) == (4, True)
    assert way.smoke_spot == way.finish_spot
    assert way.smoke_spot in (TOP, SOUTH)
    delay = way.finish_step - way.load_step
    smoke = smoke_at(grid.streams[0], way.smoke_spot)
    assert smoke.wrap_from_min <= delay * grid.step_min <= smoke.wrap_to_min


def test_it_comes_to_done_as_late_as_it_may() -> None:
    # Holding costs beyond an hour. Late at 10:30 at the latest, which is step 30 for the wrap; held from 9:30.
    grid = grid_of()
    way = best_way(open_board(grid), 0, 4, PLAIN)
    assert way is not None
    assert way.finish_step == 30


def test_no_more_than_asked_and_no_more_than_fits() -> None:
    grid = grid_of()
    two = best_way(open_board(grid), 0, 2, EAGER)
    assert two is not None
    assert two.pieces == 2
    small = grid_of(kitchen().cabinet(spaces=3.5))
    three = best_way(open_board(small), 0, 4, EAGER)
    assert three is not None
    assert three.pieces == 3


@pytest.mark.parametrize(
    "of",
    [
        kitchen().cabinet(spaces=0.99),
        kitchen().shelf(spaces=0.99),
        kitchen().site(wrap_tables=0),
        kitchen().site(cutting_boards=0),
        kitchen().hands("brisket", load_min=25.1),
        kitchen().cabinet(hold_f=181),
    ],
)
def test_where_one_thing_is_missing_nothing_is_placed(of: Kitchen) -> None:
    grid = grid_of(of)
    board = open_board(grid)
    assert best_way(board, 0, 4, PLAIN) is None
    assert fill(board, 0, 4, PLAIN) == 4
    assert board.placed == []


def test_nothing_cooks_on_cold_fires() -> None:
    grid = grid_of()
    board = Board.empty(grid, frame_of(grid, called={(o.person.name, o.pattern.name) for o in grid.shifts}))
    assert best_way(board, 0, 4, PLAIN) is None
    assert best_way(board, 1, 4, PLAIN) is None


def test_nobody_who_pulls_no_load() -> None:
    grid = grid_of()
    board = Board.empty(grid, frame_of(grid, (8, 56, 250), called={("Cal", "service"), ("Ana", "service")}))
    assert best_way(board, 0, 4, PLAIN) is None


def test_a_burning_fire_is_chosen_before_a_cold_one() -> None:
    grid = grid_of()
    board = open_board(grid)
    first = best_way(board, 0, 2, EAGER)
    assert first is not None
    board.put(first)
    second = best_way(board, 0, 2, EAGER)
    assert second is not None
    firebox = grid.places[board.spots[first.smoke_spot].place].firebox
    assert grid.places[board.spots[second.smoke_spot].place].firebox == firebox


def test_an_oven_takes_what_has_no_room_on_the_rack() -> None:
    of = kitchen().rack("north", "top", spaces=0.5).rack("south", "only", spaces=1)
    grid = grid_of(of)
    board = open_board(grid)
    assert fill(board, 0, 4, EAGER) < 3
    assert OVEN in {load.finish_spot for load in board.placed}
    for load in board.placed:
        place = board.spots[load.finish_spot].place
        assert load.finish_step in grid.finish_steps(grid.streams[0], finish_at(grid.streams[0], place), 0)


def test_one_that_waits_takes_the_cheapest_room_first() -> None:
    # A brisket that is wrapped into the oven saves the wood of three hours, 900 cents, and costs a move of 50.
    way = best_way(open_board(grid_of()), 0, 4, Taste(eager_cents=100.0))
    assert way is not None
    assert (way.finish_spot, way.pieces) == (OVEN, 1)


def test_noise_repeats_with_its_seed() -> None:
    grid = grid_of()
    ways = [best_way(open_board(grid), 0, 4, Taste(noise=0.5, rng=Random(7))) for _ in range(2)]
    assert ways[0] == ways[1]


def test_a_place_that_is_none_of_the_stream_is_a_mistake() -> None:
    stream = grid_of().streams[1]
    with pytest.raises(KeyError):
        finish_at(stream, OVEN)
    with pytest.raises(KeyError):
        smoke_at(stream, TOP)


# All spots at once


def cents_of(board: Board, load: Placed, eager_cents: float) -> float:
    """What a load is worth, as the module says, worked out for this one alone."""
    grid, cut = board.grid, board.grid.cut_of(load.demand)
    took = board.took(load)
    late = grid.up(took.late_min)
    held = grid.ready_min[load.demand] - load.finish_step * grid.step_min - took.early_min - cut.rest_min
    lost = cut.hold_loss_cents_per_h / 60 * max(0, held - cut.hold_free_min)
    room = ((held + cut.rest_min) * cut.hold_spaces + took.late_min * cut.spaces) / grid.step_min
    smoked = (load.finish_step - load.load_step) * cut.spaces
    each = min(eager_cents, grid.short_cents(load.demand)) - lost - RENT_CENTS * (room + smoked)
    each -= cut.move_cents * (board.spots[load.smoke_spot].place != board.spots[load.finish_spot].place)
    stays = (
        (load.smoke_spot, load.load_step, load.finish_step),
        (load.finish_spot, load.finish_step, load.finish_step + late),
    )
    wood = 0.0
    for spot, first, last in stays:
        firebox = grid.places[board.spots[spot].place].firebox
        if firebox is not None:
            cold = int((board.hot[firebox][first:last] == 0).sum())
            box = grid.fireboxes[firebox]
            wood += cold * box.wood_lb_per_h * grid.scenario.site.wood_cents_per_lb * grid.step_min / 60
    return load.pieces * each - wood


def most_of(board: Board, way: Placed, want: int) -> Placed | None:
    """The way with as many pieces as fit, on whichever shelf and in whichever cabinet."""
    cut = board.grid.cut_of(way.demand)
    rests = range(len(board.rest)) if cut.rest_spaces else [-1]
    holds = board.grid.cabinets_for(cut) if cut.hold_spaces else [-1]
    for pieces in range(want, 0, -1):
        for rest, hold in product(rests, holds):
            load = replace(way, pieces=pieces, rest=rest, hold=hold)
            if board.try_put(load):
                board.take(load)
                return load
    return None


def one_by_one(board: Board, demand: int, want: int, eager_cents: float) -> float | None:
    """Worth of the best load of a demand, every way tried by itself; None if there is none."""
    best: list[tuple[float, int]] = []
    for by_delay in ways_at(board, demand):
        found: list[tuple[float, int]] = []
        for ways in by_delay:
            loads = [load for way in ways if (load := most_of(board, way, want)) is not None]
            found += [(cents_of(board, load, eager_cents), load.pieces) for load in loads]
            if found and max(found)[1] == want:
                break
        best += found
    return max(best)[0] if best else None


def ways_at(board: Board, demand: int) -> Iterator[list[list[Placed]]]:
    """For each pair of spots, the ways to load one piece, by how long it is smoked."""
    grid = board.grid
    for stream in (s for s in grid.streams if s.cut.name == grid.demands[demand].cut):
        for (spot, at), finish in product(enumerate(board.spots), stream.finish):
            steps = grid.finish_steps(stream, finish, demand)
            for other, delays in smoked_before(board, stream, spot) if at.place == finish.place else ():
                yield [
                    [
                        Placed(stream.index, demand, 1, other, spot, step - delay, step if delay else None, -1, -1)
                        for step in steps
                        if step >= delay
                    ]
                    for delay in delays
                ]


def smoked_before(board: Board, stream: Stream, spot: int) -> Iterator[tuple[int, Iterable[int]]]:
    """Where and how many steps a load may be smoked before it is finished on a spot."""
    grid = board.grid
    if not stream.recipe.wrapped:
        yield spot, [0]
        return
    for (other, at), smoke in product(enumerate(board.spots), stream.smoke):
        if at.place == smoke.place and (other == spot or board.spots[spot].rack is None):
            yield other, range(max(1, grid.up(smoke.wrap_from_min)), grid.down(smoke.wrap_to_min) + 1)


@pytest.mark.parametrize(("family", "variant"), [("S", "shared firebox"), ("S", "tight hold"), ("M", "tight fire")])
def test_the_way_found_is_the_best_of_all_that_fit(family: str, variant: str) -> None:
    grid = build_grid(Case(family, variant, 0).scenario(), 60)
    board = open_board(grid)
    tried = 0
    for demand in Random(2).sample(range(len(grid.demands)), min(8, len(grid.demands))):
        want = min(3, grid.demands[demand].pieces)
        best = one_by_one(board, demand, want, 300.0)
        way = best_way(board, demand, want, PLAIN)
        assert (way is None) == (best is None)
        if way is not None and best is not None:
            assert cents_of(board, way, 300.0) == pytest.approx(best)
            assert board.try_put(way)
            tried += 1
    assert tried > 1
