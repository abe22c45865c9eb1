"""Quantities traded against the kitchen: the waves of diminishing worth, and what comes of them."""

from __future__ import annotations

from datetime import datetime
from functools import partial

import forecast_kitchen as kitchen
import numpy as np
import pytest
from pydantic import ValidationError
from solve.corner import with_weekend

from scheduler.audit import audit
from scheduler.books import read_history, read_scenario, scenario_hash
from scheduler.forecast.demand import fit
from scheduler.forecast.worth import Wanted, WaveDraws, stepped, wanted_pieces, with_waves
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.model.trial import Method, Trial
from scheduler.model.weekend import Wave
from scheduler.quantities import Settled, expected_cents, newsvendor_then_plan, plan_quantities, with_trials
from scheduler.quantities.table import rows_of
from scheduler.solve.again import plan_again
from scheduler.solve.checked import checked
from scheduler.solve.grid import build_grid
from scheduler.solve.improve import first_plans

MORE = 30


def wanted_of(name: str) -> tuple[Scenario, list[Wanted]]:
    scenario = read_scenario(kitchen.SCENARIOS / name)
    model = fit(read_history(kitchen.SCENARIOS / name, scenario), scenario)
    days = sorted(scenario.weekend.days, key=lambda day: day.opens)
    return scenario, [w for day, d in zip(days, model.weekend(), strict=True) for w in wanted_pieces(d, scenario, day)]


# Waves of diminishing worth


def test_a_wave_of_diminishing_worth_is_several_demands() -> None:
    scenario = kitchen.harvest()
    wave = next(w for w in scenario.weekend.waves if w.cut == "packer brisket")
    worth = (15_000, 15_000, 9_000)
    weekend = scenario.weekend.model_copy(
        update={"waves": (wave.model_copy(update={"pieces": 3, "worth_cents": worth}),), "orders": ()}
    )
    first, second = weekend.demands()
    assert (first.wave, first.pieces, first.short_cents(15_600)) == ("Sat 11:00", 2, 15_000)
    assert (second.wave, second.pieces, second.short_cents(15_600)) == ("Sat 11:00 +2", 1, 9_000)
    assert (first.ready_by_at, first.served_until_at) == (second.ready_by_at, second.served_until_at)


@pytest.mark.parametrize("worth", [(100, 200), (100,), (300, 200, 250)])
def test_a_worth_that_rises_or_does_not_match_is_refused(worth: tuple[int, ...]) -> None:
    with pytest.raises(ValidationError, match="worth_cents"):
        Wave(cut="x", at=datetime(2026, 6, 13, 11), pieces=len(worth) if len(worth) > 1 else 2, worth_cents=worth)


def test_steps_diminish_and_keep_the_sum() -> None:
    curve = [100.0, 99, 80, 55, 45, 30, 21, 19, 4]
    steps = stepped(curve)
    assert len(steps) == len(curve)
    assert list(steps) == sorted(steps, reverse=True)
    assert sum(steps) == pytest.approx(sum(curve), abs=len(curve))
    assert len(set(steps)) == 3


# How many are worth cooking


def test_the_next_piece_is_worth_less_and_the_last_still_pays() -> None:
    _, wanted = wanted_of("harvest-weekend")
    for w in wanted:
        worths = [worth for _, worth in w.curve]
        assert worths == sorted(worths, reverse=True)
        assert all(worth > 0 for worth in worths)
        assert worths[0] <= w.draws.cut.margin_cents


def test_leftovers_of_a_wave_are_sold_in_the_next_only_if_they_may_be_held() -> None:
    cut = kitchen.cut(leftover_cents=0)
    waves = tuple(Wave(cut="links", at=datetime(2026, 6, 13, hour), pieces=1) for hour in (11, 14))
    wanted = np.array([[5.0, 10.0]])
    carried, thrown = (WaveDraws(cut, waves, wanted, (carries, False)) for carries in (True, False))
    assert carried.value_cents([15, 0]) == 15 * 800
    assert thrown.value_cents([15, 0]) == 5 * 2000 - 15 * 1200
    assert thrown.value_cents([5, 10]) == 15 * 800
    assert carried.value_cents([5, 11]) == 15 * 800 - 1200
    # Both make the same from the curve: the later wave gets what both could have.
    assert [len(Wanted(d, d.curve()).by_wave(1)) for d in (carried, thrown)] == [10, 10]


# Traded in one search


@pytest.fixture(scope="module")
def pair() -> tuple[Scenario, Settled, Settled]:
    """The real weekend by newsvendor-then-plan and integrated: one first plan, then as many moves for either."""
    scenario, wanted = wanted_of("harvest-weekend")
    asked = with_waves(scenario, wanted, diminishing=False)
    start = checked(next(first_plans(build_grid(asked, 15))).board, repairs=2)
    assert start is not None
    more = partial(plan_again, work=MORE, seed=0, reasons=False)
    apart = newsvendor_then_plan(scenario, wanted, partial(more, start))
    together = plan_quantities(scenario, wanted, lambda _: start, more)
    return scenario, apart, together


def test_integrated_quantities_are_expected_to_earn_more(pair: tuple[Scenario, Settled, Settled]) -> None:
    _, apart, together = pair
    print(f"expected: newsvendor then plan ${apart.earned_cents / 100:,.2f}, integrated ", end="")
    print(f"${together.earned_cents / 100:,.2f}")
    assert together.earned_cents > apart.earned_cents


def test_both_plans_pass_the_audit_on_their_own(pair: tuple[Scenario, Settled, Settled]) -> None:
    for settled in pair[1:]:
        assert settled.breaches == audit(settled.plan, settled.scenario) == ()
        assert settled.plan.scenario_hash == scenario_hash(settled.scenario)
        assert all(" +" not in load.wave for load in settled.plan.loads)
        assert settled.earned_cents == expected_cents(settled.plan, settled.wanted)
        for wave in settled.scenario.weekend.waves:
            assert wave.worth_cents == ()


def test_a_row_says_what_is_made_and_what_limits_it(pair: tuple[Scenario, Settled, Settled]) -> None:
    together = pair[2]
    rows = rows_of(together.wanted, together)
    assert sum(row.made for row in rows) == sum(
        n for key, n in together.made.items() if not key[1].startswith("order ") and key[0] != "fat trim pan"
    )
    for row in rows:
        assert row.made == sum(n for _, n in row.waves)
        assert row.made <= row.wanted
        assert row.limit
    assert {row.made for row in rows_of(together.wanted)} == {row.wanted for row in rows_of(together.wanted)}


def test_going_on_from_a_plan_never_ends_dearer(pair: tuple[Scenario, Settled, Settled]) -> None:
    """Also where every piece counts whole, and repeatably."""
    _, apart, _ = pair
    one, two = (plan_again(apart.plan, apart.scenario, work=8, seed=1, reasons=False) for _ in range(2))
    assert one == two
    assert one.cost.total <= apart.plan.cost.total
    assert audit(one, apart.scenario) == ()


def test_a_plan_of_another_kitchen_is_refused(pair: tuple[Scenario, Settled, Settled]) -> None:
    scenario, apart, _ = pair
    less = scenario.model_copy(
        update={"weekend": scenario.weekend.model_copy(update={"waves": scenario.weekend.waves[:1]})}
    )
    with pytest.raises(ValueError, match="more than its wave"):
        plan_again(apart.plan, less, work=1)


def test_fixed_quantities_stay_possible() -> None:
    scenario, wanted = wanted_of("harvest-weekend")
    assert with_waves(scenario, [], diminishing=True) == scenario
    asked = with_waves(scenario, wanted, diminishing=False)
    assert all(wave.worth_cents == () for wave in asked.weekend.waves)


def first_plan(asked: Scenario) -> Plan:
    """The first that the audit passes."""
    found = checked(next(first_plans(build_grid(asked, 15))).board, repairs=2)
    assert found is not None
    return found


def test_quantities_of_a_weekend_with_a_trial_are_planned_with_its_pairs() -> None:
    scenario, wanted = wanted_of("corner-saturday")
    methods = (Method(label="fat up"), Method(label="fat down"))
    trial = Trial(name="which side", cut="packer brisket", at=datetime(2026, 5, 16, 11), pairs=1, methods=methods)  # type: ignore[call-arg]
    tried = with_weekend(scenario, trials=(trial,))
    found = newsvendor_then_plan(tried, wanted, first_plan)
    assert all(load.cut != trial.pair_name for load in found.plan.loads)
    mended = with_trials(found, first_plan)
    assert sum(load.pieces for load in mended.plan.loads if load.cut == trial.pair_name) == 1
    assert (mended.breaches, audit(mended.plan, mended.scenario)) == ((), ())
    at_opening = "packer brisket", "Sat 11:00"
    assert mended.made[at_opening] == found.made[at_opening], "a pair counts as two"
    assert with_trials(mended, first_plan) is mended
