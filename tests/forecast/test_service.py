"""The service day: bookkeeping, what binds, and a plain event-by-event simulation of the same day."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import forecast_kitchen as kitchen
import numpy as np
import pytest
import simpy
from scipy import stats

from scheduler.books import read_history
from scheduler.forecast.answers import answer, shelf
from scheduler.forecast.day import Change, Forecast, forecast_day
from scheduler.forecast.demand import DayDemand, fit
from scheduler.forecast.service import SERVICE_SHAPE, Setup, play
from scheduler.forecast.supply import DaySupply, from_waves
from scheduler.model.scenario import Scenario
from scheduler.model.weekend import ServiceDay

Day = tuple[Scenario, ServiceDay, DayDemand, DaySupply]


@pytest.fixture(scope="module")
def saturday() -> Day:
    """The real Saturday: seven cuts, three cutters, from the shipped history."""
    scenario = kitchen.harvest()
    day = sorted(scenario.weekend.days, key=lambda d: d.opens)[1]
    demand = fit(read_history(kitchen.SCENARIOS / "harvest-weekend", scenario), scenario).weekend()[1]
    return scenario, day, demand, from_waves(scenario, day)


@pytest.fixture(scope="module")
def played(saturday: Day) -> Forecast:
    scenario, day, demand, supply = saturday
    return forecast_day(demand, supply, scenario, day, draws=1500, seed=1)


def test_every_portion_is_somewhere(played: Forecast) -> None:
    made = played.setup.made[:, :, -1]
    sold = played.played.sold.sum(axis=2)
    assert np.allclose(sold + played.played.thrown + played.played.left, made, atol=1e-3)
    assert played.played.sold.min() >= 0
    assert played.played.left.min() >= 0


def test_nothing_is_sold_before_it_is_ready(played: Forecast) -> None:
    total, _ = shelf(played)
    assert (total <= played.setup.made + 1e-3).all()


def test_sold_and_lost_add_up_to_what_was_asked_for(saturday: Day) -> None:
    """With nobody taking another cut, each portion asked for is sold or lost."""
    scenario, day, demand, supply = saturday
    setup = forecast_day(demand, supply, scenario, day, draws=400, seed=2).setup
    plain = play(replace(setup, take_another=0.0), seed=2)
    sold, missed, lost = plain.sold.sum(axis=(0, 2)), plain.missed.sum(axis=0), plain.lost.sum(axis=(0, 2))
    assert np.allclose(missed, lost, atol=1e-3)
    wanted = (setup.rates @ setup.portions).sum(axis=1)
    assert (sold + lost).mean() == pytest.approx(wanted.mean(), rel=0.02)


def test_same_seed_same_day(saturday: Day) -> None:
    scenario, day, demand, supply = saturday
    one, two = (forecast_day(demand, supply, scenario, day, draws=60, seed=4).played.sold for _ in range(2))
    assert (one == two).all()


def binding(saturday: Day, **changes: Any) -> str:
    scenario, day, demand, supply = saturday
    base = forecast_day(demand, supply, scenario, day, draws=300, seed=3)
    setup = replace(base.setup, **changes)
    other = replace(base, setup=setup, played=play(setup, seed=3))
    return answer(other, day.closes).binds


def test_it_says_what_holds_sales_back(saturday: Day, played: Forecast) -> None:
    plenty = np.full_like(played.setup.made[:, :300], 1e6)
    nothing_gone = np.zeros_like(played.setup.gone)
    assert binding(saturday) == "meat"
    assert binding(saturday, made=plenty, gone=nothing_gone) == "customers"
    assert binding(saturday, made=plenty, gone=nothing_gone, counter=1, order_min=2.0) == "counter"
    assert binding(saturday, made=plenty, gone=nothing_gone, cutters=1) == "cutting"


def test_no_more_is_sold_by_noon_than_the_boards_can_serve(saturday: Day, played: Forecast) -> None:
    """One cutter with 2 minutes a portion cuts at most 30 portions an hour."""
    made = np.full_like(played.setup.made[:, :300], 1e6)
    rates = played.setup.rates[:300]
    slow = replace(
        played.setup,
        rates=rates,
        made=made,
        gone=np.zeros_like(played.setup.gone),
        cutters=1,
        patience_min=1e6,
        cut_min=np.full(len(played.cuts), 2.0),
        order_min=0.0,
        service_shape=400.0,
    )
    cut = np.cumsum(play(slow, seed=6).sold.sum(axis=0), axis=1)
    assert cut[:, 11].max() <= 30 + 3  # a portion may be quicker than the mean
    assert cut[:, -1].mean() > 100


def test_changes_do_what_they_say(saturday: Day) -> None:
    scenario, day, demand, supply = saturday
    plain, more, early = (
        forecast_day(demand, supply, scenario, day, draws=800, seed=5, change=change)
        for change in (Change(), Change(pieces=(("packer brisket", 10),)), Change(opens_earlier_min=60))
    )
    brisket = plain.cuts.index("packer brisket")
    assert more.setup.made[brisket, :, -1].mean() - plain.setup.made[brisket, :, -1].mean() == pytest.approx(180)
    assert more.played.sold[brisket].sum(axis=1).mean() > plain.played.sold[brisket].sum(axis=1).mean() + 20
    assert early.demand.mean == pytest.approx(plain.demand.mean)
    assert early.setup.rates.sum() > 1.02 * plain.setup.rates.sum()
    # Waves that are ready at 11 are not ready at 10: who comes before finds nothing.
    assert early.played.sold[:, :, :12].sum() == 0


# The same day, event by event


def simpy_day(setup: Setup, draw: int, rng: np.random.Generator) -> tuple[float, float, float]:
    """Portions sold, portions lost and the longest wait of one day, customer by customer in SimPy."""
    env = simpy.Environment()
    counter, boards = simpy.Resource(env, setup.counter), simpy.Resource(env, setup.cutters)
    rates = setup.rates[draw]
    used = np.zeros(len(setup.made))
    told = {"sold": 0.0, "lost": 0.0, "wait": 0.0}

    def shelf_at(now: float) -> Any:
        step = min(int(now / setup.step_min), setup.made.shape[2] - 1)
        np.maximum(used, np.minimum(setup.gone[:, step], setup.made[:, draw, step]), out=used)
        return np.maximum(setup.made[:, draw, step] - used, 0)

    def customer() -> Iterator[Any]:
        came = env.now
        want = setup.portions[rng.choice(len(rates), p=rates / rates.sum())]
        order = setup.order_min * rng.gamma(SERVICE_SHAPE) / SERVICE_SHAPE
        with counter.request() as turn:
            yield turn
            give = np.minimum(want, shelf_at(env.now))
            missing = want.sum() - give.sum()
            free = shelf_at(env.now) - give
            odds = np.where(free > 0, setup.popular, 0.0)
            if missing > 0 and odds.any() and rng.random() < setup.take_another:
                pick = rng.choice(len(odds), p=odds / odds.sum())
                give[pick] += min(missing, free[pick])
            used[:] += give
            told["sold"] += give.sum()
            told["lost"] += want.sum() - give.sum()
            if not give.sum():
                return
            waited = env.now - came
            yield env.timeout(order)
        ordered = env.now
        work = float(setup.cut_min @ give) * rng.gamma(SERVICE_SHAPE) / SERVICE_SHAPE
        with boards.request() as turn:
            yield turn
            told["wait"] = max(told["wait"], waited + env.now - ordered)
            yield env.timeout(work)

    def arrivals() -> Iterator[Any]:
        shares = np.sort(rng.random(rng.poisson(rates.sum())))
        grid = np.linspace(0, setup.length_min, len(setup.arrivals))
        for at in np.interp(shares, setup.arrivals, grid):
            yield env.timeout(max(0.0, at - env.now))
            env.process(customer())

    env.process(arrivals())
    env.run()
    return told["sold"], told["lost"], told["wait"]


def test_it_agrees_with_a_plain_simulation_of_events(saturday: Day) -> None:
    """Portions sold, portions lost and longest wait have the same distribution (two-sample Kolmogorov-Smirnov test)."""
    scenario, day, demand, supply = saturday
    started = time.process_time()
    base = forecast_day(demand, supply, scenario, day, draws=10_000, seed=8)
    fast_s = time.process_time() - started
    # One slower person at the counter, so that there is a line to agree on, and nobody leaves it.
    slower = replace(base.setup, counter=1, order_min=0.7, patience_min=1e9)
    setup = replace(slower, rates=base.setup.rates[:2000], made=base.setup.made[:, :2000])
    fast = play(setup, seed=8)
    rng = np.random.default_rng(9)
    started = time.process_time()
    slow = np.array([simpy_day(setup, draw, rng) for draw in range(120)])
    slow_s = (time.process_time() - started) / len(slow) * 10_000
    print(f"10,000 service days: {fast_s:.2f} s of one core; event by event in SimPy {slow_s:.0f} s (from 120 days)")
    sold, lost = fast.sold.sum(axis=(0, 2)), fast.lost.sum(axis=(0, 2))
    for name, ours, theirs in (
        ("sold", sold, slow[:, 0]),
        ("lost", lost, slow[:, 1]),
        ("longest wait", fast.longest_min, slow[:, 2]),
    ):
        test = stats.ks_2samp(ours, theirs)
        print(f"{name}: mean {ours.mean():.1f} and {theirs.mean():.1f}, KS p {test.pvalue:.2f}")
        assert test.pvalue > 0.001, name
