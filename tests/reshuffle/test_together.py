"""A stretch planned together with what has begun: the plan is a point of its model, and what the model says is done."""

from __future__ import annotations

from collections import Counter
from itertools import chain

import numpy as np
import pytest
from night_logs import random_log
from reshuffle_kitchen import assert_goes_on, corner, fire_fails, repaired, replanned, state

from scheduler.reshuffle.candidate import Candidate, priced, with_ways
from scheduler.reshuffle.choose import Chooser
from scheduler.reshuffle.prices import PRICES
from scheduler.reshuffle.replan import Search
from scheduler.reshuffle.rounds import REFIT
from scheduler.reshuffle.state import went_as_planned
from scheduler.reshuffle.together import Free, Picks, in_hand, refitted
from scheduler.solve.board import Board
from scheduler.solve.flow_stretch import stretch_flow
from scheduler.solve.highs import Effort, solve
from scheduler.solve.in_hand import InHand
from scheduler.solve.left_over import Stretch, left_over
from scheduler.solve.program import Night, entered, program
from scheduler.solve.redrawn import LEAST_CENTS, redrawn
from scheduler.solve.zones import one_by_one


def whole(search: Search) -> Stretch:
    """All waves, and all fires that can burn."""
    fires = [firebox for firebox, steps in enumerate(search.basis.can_burn) if steps.any()]
    return Stretch(frozenset(range(len(search.basis.grid.demands))), frozenset(fires))


def free(
    search: Search, now: Candidate, stretch: Stretch, picks: Picks | None = None, *, everything: bool = False
) -> tuple[InHand, ...]:
    """What has begun and may go on otherwise: what is urgent, or everything."""
    picks = {} if picks is None else picks
    found = in_hand(search.basis, PRICES, now, stretch, picks, at_once=everything)
    return tuple(load for load in found if not load.held)


def point_cents(now: Candidate, stretch: Stretch, loads: tuple[InHand, ...]) -> float:
    """Cost of the plan as a point of the model with these loads free; inf if it breaks a row."""
    left = left_over(now.board, stretch, loads)
    starts: dict[tuple[int, int, int], set[int]] = {}
    for load in left.loads:
        place = now.board.spots[load.finish_spot].place
        starts.setdefault((load.stream, place, load.demand), set()).add(load.finish_step)
    model = stretch_flow(left, one_by_one(left.grid, {key: sorted(steps) for key, steps in starts.items()}))
    x = entered(model, left)
    lower, upper = model.milp.lower.copy(), model.milp.upper.copy()
    fixed = model.milp.integer
    lower[fixed] = upper[fixed] = x[fixed]
    return solve(model.milp, Effort(), lower=lower, upper=upper).cost


@pytest.mark.parametrize("everything", [False, True])
def test_a_plan_is_a_point_of_the_model_and_what_is_in_hand_has_its_own_price(everything: bool) -> None:
    search = Search(fire_fails())
    now, stretch = repaired(search), whole(search)
    loads = free(search, now, stretch, everything=everything)
    assert any(sum(load.now) for load in loads)
    mine = sum(
        sum(n * cents for n, cents in zip(load.now, load.cents, strict=True))
        + (load.pieces - sum(load.now)) * load.lost_cents
        for load in loads
    )
    assert point_cents(now, stretch, loads) == pytest.approx(point_cents(now, stretch, ()) + mine)


def test_everything_in_hand_is_more_than_what_is_urgent_and_nothing_of_other_waves() -> None:
    search = Search(fire_fails())
    now, stretch = repaired(search), whole(search)
    urgent, everything = (
        {load.code for load in free(search, now, stretch, everything=which)} for which in (False, True)
    )
    assert urgent < everything
    assert not free(search, now, Stretch(frozenset(), stretch.fires), everything=True)


@pytest.mark.parametrize("free_to_go", ["held", "in the end", "at once"])
def test_each_load_in_hand_goes_one_of_its_ways_or_is_written_off(free_to_go: Free) -> None:
    search = Search(fire_fails())
    now, stretch = repaired(search), whole(search)
    begun = Counter({load.code: load.pieces for load in free(search, now, stretch, everything=True)})
    new = refitted(search.basis, PRICES, now, stretch, REFIT, lambda _: False, search.rounds.told, (), free_to_go)
    if new is None:
        pytest.fail("the repair rule is no better than all that is possible: try another hour")
    going = Counter[str]()
    for way in new.chosen.ways:
        going[way.code] += way.pieces
    for lost in new.chosen.lost:
        going[lost.begun.code] += lost.pieces
    assert all(going[code] == pieces for code, pieces in begun.items())
    assert search.check(new), [breach.sentence for breach in search.breaches]
    assert new.cents < now.cents


def night_of(search: Search, now: Candidate, stretch: Stretch) -> Night:
    """What a refit knows, with those held that could go on as they do."""
    return Night(search.rounds.told, tuple(in_hand(search.basis, PRICES, now, stretch, {})))


def test_what_is_held_goes_on_as_it_does_and_its_fire_burns_also_in_the_relaxation() -> None:
    search = Search(fire_fails())
    now, stretch = repaired(search), whole(search)
    found = program(now.board, stretch, night_of(search, now, stretch))
    held, going = found.model.in_hand.held, found.model.in_hand
    relaxed = solve(found.milp, Effort(), lower=found.lower, upper=found.upper, relax=True)
    assert relaxed.x is not None
    assert len(held) > 1
    assert relaxed.x[held] == pytest.approx(found.now[held])
    standing = list(going.standing())
    assert standing
    for firebox, stay in standing:
        holds = found.model.fires[firebox].holds
        for step in range(stay.first, stay.last):
            assert sum(relaxed.x[holds[level][step]] for level in stay.levels) >= 1 - 1e-6


def test_free_nothing_in_hand_is_dearer_than_held() -> None:
    """In the model: the point found with some of them held is where the search with all of them free begins."""
    search = Search(fire_fails())
    now, stretch = repaired(search), whole(search)
    night = night_of(search, now, stretch)
    urgent = tuple(load for load in night.in_hand if not load.held)
    further = tuple(load for load in night.in_hand if load.held)
    assert urgent
    assert further
    without = redrawn(now.board, stretch, REFIT, night=Night(night.told, urgent))
    both = redrawn(now.board, stretch, REFIT, night=night)
    assert without is not None
    assert both is not None
    # What goes on as it does is no part of the model without, and so no part of its cost.
    stays = sum(n * cents for load in further for n, cents in zip(load.now, load.cents, strict=True))
    assert float(both.model.milp.cost @ both.x) <= float(without.model.milp.cost @ without.x) + stays + 1e-6


def test_no_other_choice_for_one_load_is_cheaper_than_what_the_model_finds() -> None:
    """Every way of every load out of the dead smoker, one at a time, with all else as it is."""
    search = Search(fire_fails())
    now, basis = repaired(search), search.basis
    no_fires = Stretch(whole(search).demands, frozenset())
    picks: Picks = {}
    for load in free(search, now, no_fires, picks):
        begun = next(x for x in basis.open_begun() if x.code == load.code)
        others = [way for way in now.chosen.ways if way.code != load.code]
        cheapest = now.cents
        for pick in chain(*picks[load.code]):
            chooser = Chooser(basis, Board.holding(with_ways(basis, tuple(others)), now.board.frame, now.board.placed))
            chooser.wanted = [left - made for left, made in zip(chooser.wanted, chooser.board.made(), strict=True)]
            gone = chooser.go(begun, [([pick], begun.pieces)])
            if gone is not None:
                ways = (*others, *gone)
                lost = tuple(x for x in now.chosen.lost if x.begun.code != load.code)
                board = Board.holding(with_ways(basis, ways), now.board.frame, now.board.placed)
                cheapest = min(cheapest, priced(basis, board, type(now.chosen)(ways, lost), PRICES).cents)
        new = refitted(basis, PRICES, now, no_fires, REFIT, lambda _: False, search.rounds.told)
        best = now.cents if new is None else new.cents
        assert best <= cheapest + LEAST_CENTS


@pytest.mark.parametrize("seed", range(40, 52))
def test_whatever_happened_the_plan_is_a_point_of_the_model(seed: int) -> None:
    log, moment = random_log(*corner(), seed)
    now = state(log, moment)
    if went_as_planned(now):
        pytest.skip("nothing happened that night")
    search = Search(now)
    found, stretch = repaired(search), whole(search)
    for everything in (False, True):
        loads = free(search, found, stretch, everything=everything)
        assert np.isfinite(point_cents(found, stretch, ())) <= np.isfinite(point_cents(found, stretch, loads))


def test_a_night_is_replanned_with_it() -> None:
    now = fire_fails()
    assert_goes_on(now, *replanned(now, 3))
