"""A whole weekend's forecast: each service day played and answered, and what would change it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, time

from scheduler.errors import InputError, Problem
from scheduler.forecast.answers import DayAnswer, answer, earned_cents
from scheduler.forecast.day import DRAWS, Change, Forecast, forecast_day
from scheduler.forecast.demand import DayDemand, DemandModel, fit
from scheduler.forecast.supply import DaySupply, from_plan, from_waves
from scheduler.model.history import History
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.model.weekend import ServiceDay

NOON = time(12)
WHAT_IF_SHARE = 4
"""What if is played with a fourth of the draws, itself and the day as it is."""
MORE_PIECES = 10
EARLIER_MIN = 60


@dataclass(frozen=True)
class WhatIf:
    """One change, with what it does to a day on average."""

    change: Change
    earned_cents: int
    """What the day brings in more, raw cost of the meat not counted."""
    noise_cents: float
    """Standard error of that."""
    cost_cents: int
    """Raw cost of the meat that it takes more."""
    sold: float
    """Portions sold more."""
    wait_min: float
    """Longest wait, how much longer."""


@dataclass(frozen=True)
class DayForecast:
    """One service day."""

    forecast: Forecast
    answer: DayAnswer
    what_if: tuple[WhatIf, ...]


@dataclass(frozen=True)
class WeekendForecast:
    """All days that were asked for."""

    scenario: Scenario
    model: DemandModel
    history: History
    days: tuple[DayForecast, ...]
    planned: bool
    """True if the meat is ready as a plan says; else every wave is taken as ready at its time."""
    draws: int
    idle: tuple[ServiceDay, ...] = ()
    """Days of which nothing can be said: no wave and no sale of that weekday."""


def forecast_weekend(
    scenario: Scenario,
    history: History,
    plan: Plan | None = None,
    *,
    by: time | None = None,
    days: Sequence[ServiceDay] | None = None,
    draws: int = DRAWS,
    seed: int = 0,
) -> WeekendForecast:
    """Forecast the service days of a weekend; all of them unless some are named.

    InputError if on none of them anything is planned or was ever sold.
    """
    model = fit(history, scenario)
    ordered = sorted(scenario.weekend.days, key=lambda day: day.opens)
    found: list[DayForecast] = []
    idle: list[ServiceDay] = []
    for number, (day, demand) in enumerate(zip(ordered, model.weekend(), strict=True)):
        if days is not None and day not in days:
            continue
        if demand.cuts:
            supply = from_waves(scenario, day) if plan is None else from_plan(plan, scenario, day)
            found.append(_day(demand, supply, scenario, day, asked_for(day, by), draws, seed + number))
        else:
            idle.append(day)
    if not found:
        what, mend = "nothing is planned or was ever sold on these days", "add a [[wave]], or sales of such days"
        raise InputError([Problem("weekend.toml", "", "wave", what, mend)])
    return WeekendForecast(scenario, model, history, tuple(found), plan is not None, draws, tuple(idle))


def asked_for(day: ServiceDay, by: time | None) -> datetime:
    """The moment that a day is asked about: the time given, else noon, else the middle of its service."""
    at = datetime.combine(day.opens.date(), by or NOON)
    return at if day.opens < at <= day.closes else _quarter(day.opens + (day.closes - day.opens) / 2)


def _quarter(at: datetime) -> datetime:
    return at.replace(minute=at.minute // 15 * 15, second=0, microsecond=0)


def _day(
    demand: DayDemand, supply: DaySupply, scenario: Scenario, day: ServiceDay, by: datetime, draws: int, seed: int
) -> DayForecast:
    played = forecast_day(demand, supply, scenario, day, draws=draws, seed=seed)
    answered = answer(played, by)
    few = max(1, draws // WHAT_IF_SHARE)
    plain = forecast_day(demand, supply, scenario, day, draws=few, seed=seed)
    what_if = []
    for change in changes(answered, scenario):
        other = forecast_day(demand, supply, scenario, day, draws=few, seed=seed, change=change)
        cost = sum(n * scenario.menu.cut(cut).cost_cents for cut, n in change.pieces)
        what_if.append(_compared(change, plain, other, cost))
    return DayForecast(played, answered, tuple(what_if))


def _compared(change: Change, plain: Forecast, other: Forecast, cost_cents: int) -> WhatIf:
    before, after = earned_cents(plain), earned_cents(other)
    noise = math.hypot(before.std(), after.std()) / math.sqrt(len(before))
    return WhatIf(
        change,
        round(float(after.mean() - before.mean())),
        noise,
        cost_cents,
        float(other.played.sold.sum(axis=(0, 2)).mean() - plain.played.sold.sum(axis=(0, 2)).mean()),
        float(other.played.longest_min.mean() - plain.played.longest_min.mean()),
    )


def changes(answered: DayAnswer, scenario: Scenario) -> tuple[Change, ...]:
    """One cutter more, an hour earlier, ten pieces more of the cut whose lack costs most."""
    found = [Change(cutters=1), Change(opens_earlier_min=EARLIER_MIN)]
    made = [cut for cut in answered.cuts if cut.made.mean > 0]
    if made:
        worst = max(made, key=lambda cut: cut.turned_away * scenario.menu.cut(cut.cut).price_cents)
        found.append(Change(pieces=((worst.cut, MORE_PIECES),)))
    return tuple(found)
