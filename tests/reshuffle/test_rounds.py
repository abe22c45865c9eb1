"""Rounds of refits: two stretches at once by the clock, put together; what did not pass is planned once more."""

from __future__ import annotations

from random import Random

import pytest
from reshuffle_kitchen import assert_goes_on, fire_fails

from scheduler.reshuffle.aside import Aside
from scheduler.reshuffle.candidate import Candidate
from scheduler.reshuffle.prices import PRICES
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
    assert search.first() is not None
    now = search.best
    assert now is not None
    here, there = halves(search)
    if planned_anew(search, now, here) is None:
        here, there = there, here
    aside = Aside(now, there, lambda then: planned_anew(search, then, there))
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
    search.first()
    assert search.best is not None

    def wrong(_: Candidate) -> Candidate | None:
        raise ArithmeticError("aside")

    with pytest.raises(ArithmeticError, match="aside"):
        Aside(search.best, halves(search)[0], wrong).onto(search.basis, PRICES, search.best)


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
    found = reshuffle(now, seconds=3.0)
    search = Search(now)
    assert search.first() is not None
    assert found.candidate is not None
    assert search.kept is not None
    assert search.kept.candidate is not None
    assert found.candidate.cents <= search.kept.candidate.cents
    assert_goes_on(now, search, found.plan)
