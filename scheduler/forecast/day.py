"""One service day: demand, supply and line put together and played."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from scheduler.forecast.days import BIN_MIN, BINS
from scheduler.forecast.demand import DayDemand
from scheduler.forecast.service import Played, Setup, play
from scheduler.forecast.special import Floats
from scheduler.forecast.supply import AFTER_MIN, STEP_MIN, DaySupply
from scheduler.model.scenario import Scenario
from scheduler.model.weekend import ServiceDay

DRAWS = 10_000
EARLY_SHARE = 0.6
"""Where a day opens earlier than usual, so much of the first hour's rate comes in the new hour. Common practice, no
source.
"""
ARRIVAL_STEPS = 480


@dataclass(frozen=True)
class Forecast:
    """A service day, played."""

    day: ServiceDay
    cuts: tuple[str, ...]
    demand: DayDemand
    supply: DaySupply
    setup: Setup
    played: Played
    price_cents: Floats
    leftover_cents: Floats

    @property
    def steps(self) -> int:
        """Steps of time in the play."""
        return int(self.setup.made.shape[2])

    def step_at(self, at: datetime) -> int:
        """Steps that are over at a local time."""
        minutes = (at - self.day.opens) / timedelta(minutes=1)
        return int(np.clip(round(minutes / STEP_MIN), 0, self.steps))

    def time_of(self, step: float) -> datetime:
        """Local time at the end of so many steps."""
        return self.day.opens + timedelta(minutes=STEP_MIN * float(step))

    @property
    def closing(self) -> int:
        """Steps from opening to closing."""
        return self.step_at(self.day.closes)


@dataclass(frozen=True)
class Change:
    """What if: something else than planned."""

    cutters: int = 0
    opens_earlier_min: int = 0
    pieces: tuple[tuple[str, int], ...] = ()


def forecast_day(
    demand: DayDemand,
    supply: DaySupply,
    scenario: Scenario,
    day: ServiceDay,
    *,
    draws: int = DRAWS,
    seed: int = 0,
    change: Change | None = None,
) -> Forecast:
    """Play a service day so many times. The same seed meets the same customers, whatever is changed."""
    change = change or Change()
    for name, pieces in change.pieces:
        supply = supply.more(scenario.menu.cut(name), pieces)
    if change.opens_earlier_min:
        earlier = timedelta(minutes=change.opens_earlier_min)
        day = day.model_copy(update={"opens": day.opens - earlier})
        demand, supply = _opened_earlier(demand, earlier), supply.earlier(change.opens_earlier_min)
    setup = _setup(demand, supply, scenario, day, draws, seed, scenario.site.cutting_boards + change.cutters)
    cuts = [scenario.menu.cut(cut) for cut in demand.cuts]
    price = np.array([float(cut.price_cents) for cut in cuts])
    leftover = np.array([float(cut.leftover_cents) for cut in cuts])
    return Forecast(day, demand.cuts, demand, supply, setup, play(setup, seed), price, leftover)


def _setup(
    demand: DayDemand, supply: DaySupply, scenario: Scenario, day: ServiceDay, draws: int, seed: int, cutters: int
) -> Setup:
    rng = np.random.default_rng([seed, 1])
    expected = demand.expected(draws, rng)
    length = (day.closes - day.opens) / timedelta(minutes=1)
    steps = round((length + AFTER_MIN) / STEP_MIN)
    made, gone = supply.draw(demand.cuts, steps, draws, np.random.default_rng([seed, 2]))
    line = scenario.weekend.line
    cuts = [scenario.menu.cut(cut) for cut in demand.cuts]
    return Setup(
        rates=demand.baskets.rates(expected),
        portions=demand.baskets.portions,
        arrivals=_arrivals(demand, day),
        length_min=length,
        made=made,
        gone=gone,
        step_min=STEP_MIN,
        counter=max(1, day.counter_hands),
        cutters=max(1, cutters),
        order_min=line.order_s / 60,
        cut_min=np.array([cut.hands.slice_min / cut.portions + line.plate_s / 60 for cut in cuts]),
        patience_min=line.patience_min,
        take_another=line.take_another,
        popular=demand.mean,
    )


def _arrivals(demand: DayDemand, day: ServiceDay) -> Floats:
    """Share of the customers that have come, by equal steps from opening to closing."""
    if not demand.cuts:
        return np.linspace(0.0, 1.0, ARRIVAL_STEPS + 1)
    rate = (demand.profile * demand.hours[:, None]) @ demand.mean
    midnight = datetime.combine(day.opens.date(), datetime.min.time())
    ends = [(at - midnight) / timedelta(minutes=BIN_MIN) for at in (day.opens, day.closes)]
    whole = np.concatenate([[0.0], np.cumsum(rate)])
    found = np.interp(np.linspace(ends[0], ends[1], ARRIVAL_STEPS + 1), np.arange(BINS + 1), whole)
    # A kitchen with no demand at all still has a clock.
    found = found - found[0] + 1e-9 * np.arange(ARRIVAL_STEPS + 1)
    return np.asarray(found / found[-1])


def _opened_earlier(demand: DayDemand, earlier: timedelta) -> DayDemand:
    """The same demand with the new time before opening at a part of the first hour's rate."""
    record_midnight = datetime.combine(demand.opens.date(), datetime.min.time())
    old = (demand.opens - record_midnight) / timedelta(minutes=BIN_MIN)
    new = (demand.opens - earlier - record_midnight) / timedelta(minutes=BIN_MIN)
    edges = np.arange(BINS, dtype=np.float64)
    added = np.clip(np.minimum(edges + 1, old) - np.maximum(edges, new), 0.0, 1.0)
    first = (edges >= np.floor(old)) & (edges < np.floor(old) + 60 / BIN_MIN)
    profile = demand.profile.copy()
    profile[added > 0] = EARLY_SHARE * profile[first].mean(axis=0)
    return replace(demand, opens=demand.opens - earlier, profile=profile, hours=np.clip(demand.hours + added, 0.0, 1.0))
