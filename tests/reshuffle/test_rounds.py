"""Rounds of refits: two stretches at once by the clock, put together; what did not pass is planned once more."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest
from reshuffle_kitchen import assert_goes_on, fire_fails, repaired

from scheduler.reshuffle.aside import Aside
from scheduler.reshuffle.candidate import Candidate, burnt_through, opened
from scheduler.reshuffle.forked import Tell
from scheduler.reshuffle.prices import PRICES
from scheduler.reshuffle.repairs import with_everyone
from scheduler.reshuffle.replan import Search, reshuffle
from scheduler.reshuffle.rounds import REFIT
from scheduler.reshuffle.together import refitted
from scheduler.solve.left_over import Stretch


def halves(search: Search) -> tuple[Stretch, Stretch]:
    """The waves of the day, in two parts, each with all fires that can burn."""
    grid = search.basis.grid
    order = sorted(range(len(grid.demands)), key=lambda d: grid.ready_min[d])
    fires = frozenset(firebox for firebox, steps in enumerate(search.basis.can_burn) if steps.any())
    half = len(order) // 2
    return Stretch(frozenset(order[:half]), fires), Stretch(frozenset(order[half:]), fires)


def planned_anew(search: Search, now: Candidate, stretch: Stretch) -> Candidate | None:
    """The stretch by HiGHS."""
    return refitted(search.basis, PRICES, now, stretch, REFIT, None, search.rounds.told)


def test_what_was_planned_aside_is_put_into_the_plan_of_then() -> None:
    search = Search(fire_fails())
    now = repaired(search)
    here, there = halves(search)
    if planned_anew(search, now, here) is None:
        here, there = there, here
    aside = Aside(lambda _: planned_anew(search, now, there), (now, there))
    alone = aside.onto(search.basis, PRICES, now)
    meanwhile = planned_anew(search, now, here)
    assert meanwhile is not None
    both = aside.onto(search.basis, PRICES, meanwhile)
    if alone is None:
        assert both is None
        return
    assert both is not None
    assert both.cents < now.cents
    assert search.check(both), [breach.sentence for breach in search.breaches]


def test_a_mistake_aside_is_not_lost() -> None:
    search = Search(fire_fails())
    now = repaired(search)

    def wrong(_: Tell) -> Candidate | None:
        raise ArithmeticError("aside")

    with pytest.raises(ArithmeticError, match="aside"):
        Aside(wrong).onto(search.basis, PRICES, now)


def test_another_plan_comes_back_from_its_process_as_it_was_there() -> None:
    search = Search(fire_fails())
    now = repaired(search)
    here = next(with_everyone(search.basis, PRICES))
    back = Aside(lambda _: next(with_everyone(search.basis, PRICES))).onto(search.basis, PRICES, now)
    assert back is not None
    assert back.cents == pytest.approx(here.cents)
    assert back.board.placed == here.board.placed
    assert back.chosen == here.chosen


def test_a_refit_that_is_not_worth_it_is_given_up() -> None:
    search = Search(fire_fails())
    now = repaired(search)
    here, _ = halves(search)
    hoped_for: list[float] = []

    def anew(answer: bool) -> Candidate | None:
        def worth_it(cents: float) -> bool:
            hoped_for.append(cents)
            return answer

        told = search.rounds.told
        return refitted(search.basis, PRICES, now, here, REFIT, None, told, worth_it=worth_it)

    assert anew(False) is None
    found = anew(True)
    assert hoped_for[0] == pytest.approx(hoped_for[1])
    assert hoped_for[0] <= now.cents
    assert (found is None) == (planned_anew(search, now, here) is None)


def test_another_crew_is_looked_at_after_the_first_round() -> None:
    search = Search(fire_fails())
    asked = []

    def other() -> Candidate:
        asked.append(search.moves)
        return next(with_everyone(search.basis, PRICES))

    assert search.first() is not None
    search.rounds.begin(other, None)
    search.improve(moves=4)
    assert len(asked) == 1
    assert asked[0] > 1


def test_cold_fires_can_be_opened_at_each_of_their_setpoints() -> None:
    basis = Search(fire_fails()).basis
    usual = opened(basis, basis.frame)
    for setpoint in {setpoint for box in basis.grid.fireboxes for setpoint in box.setpoints_f}:
        there = opened(basis, basis.frame, cold_f=setpoint)
        for box, told, wide, held in zip(
            basis.grid.fireboxes, basis.frame.levels, usual.levels, there.levels, strict=True
        ):
            assert ((held > 0) == (wide > 0)).all()
            assert (held[told > 0] == told[told > 0]).all()
            if setpoint in box.setpoints_f:
                assert set(held[(told == 0) & (wide > 0)]) <= {setpoint}


def test_fires_kept_up_burn_from_their_first_burn_until_their_last() -> None:
    search = Search(fire_fails())
    now, basis = repaired(search), search.basis
    through = burnt_through(basis, now)
    assert through.board.placed == now.board.placed
    for before, after in zip(now.board.frame.levels, through.board.frame.levels, strict=True):
        was, burns = np.flatnonzero(before[basis.step :]), np.flatnonzero(after[basis.step :])
        assert set(was) <= set(burns)
        if len(was):
            assert (burns[0], burns[-1]) == (was[0], was[-1])


def test_a_stretch_that_did_not_pass_is_planned_once_more_and_not_for_ever() -> None:
    search = Search(fire_fails())
    search.first()
    assert search.best is not None
    assert not search.rounds.once_more(None)
    search.rounds.next(search.best, Random(0), None)
    assert not search.rounds.once_more(0.5)
    assert search.rounds.once_more(None)
    search.rounds.next(search.best, Random(0), None)
    assert not search.rounds.once_more(None)


def test_by_the_clock_a_night_is_replanned_with_both() -> None:
    now = fire_fails()
    found = reshuffle(now, seconds=5.0)
    search = Search(now)
    assert search.first() is not None
    assert found.candidate is not None
    assert search.kept is not None
    assert search.kept.candidate is not None
    assert found.candidate.cents <= search.kept.candidate.cents
    assert_goes_on(now, search, found.plan)
