"""How well the forecast would have done: every week of the last part of a history forecast from what came before it.

A day on which a cut sold out tells only that at least so much was wanted. There a forecast is scored on what it says
below what was sold and not above it (the quantile loss of censored data: Powell, Journal of Econometrics 32, 1986). The
same is done for the two rules of thumb that it has to beat, each with the spread of its own earlier misses.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import pandas as pd

from scheduler.forecast.days import Days, days_of
from scheduler.forecast.demand import DemandModel, fit
from scheduler.forecast.invented import Truth, invent
from scheduler.forecast.special import Floats
from scheduler.model.history import History
from scheduler.model.scenario import Scenario

LEVELS: Floats = np.array([0.1, 0.25, 0.5, 0.75, 0.9])
DRAWS = 2000
HELD_OUT = 0.4
"""The last so much of the days is forecast."""
LEAST_DAYS = 12
"""Before so many days are known nothing is forecast."""
FORECAST, LAST_WEEK, LAST_FOUR = "this forecast", "same weekday last week", "mean of the last four"
MEAN_OF = {LAST_WEEK: 1, LAST_FOUR: 4}
DEFAULT_SPREAD = np.array([0.75, 0.88, 1.0, 1.12, 1.25])
"""Spread of a rule of thumb that has missed fewer times than this lately."""
SPREAD_DAYS = 24
LEAST_MISSES = 10


@dataclass(frozen=True)
class Score:
    """How one way of forecasting did."""

    name: str
    pinball: float
    """Mean quantile loss, portions a cut and day; less is better."""
    coverage: float
    """Share of the days that did not sell out that lay between the 10th and the 90th percentile."""
    bias: float
    """Middle of the forecast less what was sold, on those days, as a share of it."""


@dataclass(frozen=True)
class Backtest:
    """All ways, on the same days."""

    days: int
    forecasts: int
    """Days times cuts."""
    sold_out: int
    """Of them sold out."""
    scores: tuple[Score, ...]

    @property
    def best(self) -> bool:
        """True if the forecast beats both rules of thumb."""
        mine, *others = self.scores
        return all(mine.pinball < other.pinball for other in others)


def backtest(history: History, scenario: Scenario, seed: int = 0) -> Backtest:
    """Score the forecast and the two rules of thumb on the last part of a history."""
    days = days_of(history, tuple(dict.fromkeys(sale.cut for sale in history.sales)))
    past = _past(days)
    said: dict[str, list[Floats]] = {name: [] for name in (FORECAST, *MEAN_OF)}
    asked = [past.iloc[:0]]
    model: DemandModel | None = None
    fitted: date | None = None
    held_out = range(max(LEAST_DAYS, round(len(days.records) * (1 - HELD_OUT))), len(days.records))
    for i in held_out:
        record = days.records[i]
        monday = record.date - timedelta(days=record.date.weekday())
        if model is None or fitted != monday:
            model, fitted = fit(history.before(record.date), scenario), monday
        demand = model.on(record.opened, record.closed, record.weather, record.event)
        today = past[(past["day"] == i) & past["cut"].isin(demand.cuts)].dropna()
        if today.empty:
            continue
        draws = demand.portions(DRAWS, np.random.default_rng([seed, i]))
        columns = [demand.cuts.index(cut) for cut in today["cut"]]
        asked.append(today)
        said[FORECAST].extend(np.quantile(draws[:, columns], LEVELS, axis=0).T)
        for name in MEAN_OF:
            said[name].extend(np.outer(today[name], _spread(past, i, name)))
    scored = pd.concat(asked)
    return Backtest(
        days=len(held_out),
        forecasts=len(scored),
        sold_out=int(scored["sold_out"].sum()),
        scores=tuple(_score(name, np.array(some), scored) for name, some in said.items()),
    )


def _past(days: Days) -> pd.DataFrame:
    """One row for each cut that a day offered: what was sold, and what each rule of thumb would have said.

    That is the mean of the last days of that weekday which offered the cut; nan if there was none.
    """
    day, cut = np.nonzero(days.offered)
    past = pd.DataFrame({"day": day, "cut": np.array(days.cuts)[cut], "weekday": days.weekday[day]})
    past["sold"], past["sold_out"] = days.total[day, cut], days.sold_out[day, cut]
    alike = past.groupby(["cut", "weekday"])["sold"]
    for name, count in MEAN_OF.items():
        past[name] = alike.rolling(count, min_periods=1, closed="left").mean().droplevel([0, 1])
    return past


def _spread(past: pd.DataFrame, day: int, name: str) -> Floats:
    """By what factors a rule of thumb missed in the days until then, at each level."""
    recent = past[past["day"].between(day - SPREAD_DAYS, day - 1) & (past[name] > 0)]
    return np.quantile(recent["sold"] / recent[name], LEVELS) if len(recent) >= LEAST_MISSES else DEFAULT_SPREAD


def _score(name: str, said: Floats, scored: pd.DataFrame) -> Score:
    """How the quantiles that were said of each row did; on a sold-out day what is above the sold costs nothing."""
    if not len(scored):
        return Score(name, 0.0, 0.0, 0.0)
    sold, out = scored["sold"].to_numpy(), scored["sold_out"].to_numpy()
    miss = sold[:, None] - np.where(out[:, None], np.minimum(said, sold[:, None]), said)
    low, middle, high = said[~out][:, (0, 2, -1)].T
    rest = sold[~out]
    return Score(
        name=name,
        pinball=float(np.maximum(LEVELS * miss, (LEVELS - 1) * miss).mean()),
        coverage=float(((low <= rest) & (rest <= high)).mean()) if len(rest) else 0.0,
        bias=float((middle - rest).sum() / max(1.0, rest.sum())),
    )


@dataclass(frozen=True)
class Seasons:
    """Invented seasons with a known demand."""

    seasons: int
    forecasts: int
    coverage: float
    """Share of the true demands that lay between the 10th and the 90th percentile."""
    bias: float
    """Expected demand as estimated less the true one, as a share of it."""
    naive_bias: float
    """The same of the mean of what was sold."""


def simulated_seasons(truth: Truth, scenario: Scenario, seasons: int, weeks: int = 16, seed: int = 0) -> Seasons:
    """Invent so many seasons, hide the last weekend of each, forecast it from the rest."""
    inside, estimated, naive, true = [], 0.0, 0.0, 0.0
    first = date(2025, 8, 8)
    for season in range(seasons):
        made = invent(truth, first, weeks, seed * 100_003 + season)
        start = first + timedelta(weeks=weeks - 1)
        model = fit(made.history.before(start), scenario)
        for i, record in enumerate(made.history.days):
            if record.date < start:
                continue
            demand = model.on(record.opened, record.closed, record.weather, record.event)
            draws = demand.portions(DRAWS // 2, np.random.default_rng([seed, season, i]))
            low, high = np.quantile(draws, (0.1, 0.9), axis=0)
            for column, cut in enumerate(demand.cuts):
                place = truth.cuts.index(cut) if cut in truth.cuts else -1
                if place < 0 or made.mean[i, place] == 0:
                    continue
                wanted = made.wanted[i, place]
                inside.append(low[column] <= wanted <= high[column])
                estimated += float(demand.mean[column])
                true += float(made.mean[i, place])
                naive += _sold_mean(model, cut, record.date.weekday())
    return Seasons(seasons, len(inside), float(np.mean(inside)), estimated / true - 1, naive / true - 1)


def _sold_mean(model: DemandModel, cut: str, weekday: int) -> float:
    place = model.cuts.index(cut)
    mine = (model.days.weekday == weekday) & model.days.offered[:, place]
    return float(model.days.total[mine, place].mean()) if mine.any() else 0.0
