"""How well the forecast would have done: every week of the last part of a history forecast from what came before it.

A day on which a cut sold out tells only that at least so much was wanted. There a forecast is scored on what it says
below what was sold and not above it (the quantile loss of censored data: Powell, Journal of Econometrics 32, 1986). The
same is done for the two rules of thumb that it has to beat, each with the spread of its own earlier misses.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

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
"""Spread of a rule of thumb before it has missed ten times."""


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


def pinball(quantiles: Floats, sold: float, sold_out: bool) -> float:
    """Mean quantile loss over `LEVELS`; on a sold-out day what is above the sold portions costs nothing."""
    capped = np.minimum(quantiles, sold) if sold_out else quantiles
    miss = sold - capped
    return float(np.maximum(LEVELS * miss, (LEVELS - 1) * miss).mean())


def backtest(history: History, scenario: Scenario, seed: int = 0) -> Backtest:
    """Score the forecast and the two rules of thumb on the last part of a history."""
    cuts = tuple(dict.fromkeys(sale.cut for sale in history.sales))
    days = days_of(history, cuts)
    first = max(LEAST_DAYS, round(len(days.records) * (1 - HELD_OUT)))
    found: dict[str, list[tuple[Floats, float, bool]]] = {name: [] for name in (FORECAST, LAST_WEEK, LAST_FOUR)}
    model: DemandModel | None = None
    fitted: date | None = None
    tested = 0
    for i in range(first, len(days.records)):
        record = days.records[i]
        monday = record.date - timedelta(days=record.date.weekday())
        if model is None or fitted != monday:
            model, fitted = fit(history.before(record.date), scenario), monday
        demand = model.on(record.opened, record.closed, record.weather, record.event)
        draws = demand.portions(DRAWS, np.random.default_rng([seed, i]))
        tested += 1
        for column, cut in enumerate(demand.cuts):
            place = cuts.index(cut) if cut in cuts else -1
            if place < 0 or not days.offered[i, place]:
                continue
            points = {name: _mean_of_last(days, i, place, n) for name, n in MEAN_OF.items()}
            if any(point is None for point in points.values()):
                continue
            actual = float(days.total[i, place]), bool(days.sold_out[i, place])
            found[FORECAST].append((np.quantile(draws[:, column], LEVELS), *actual))
            for name, point in points.items():
                found[name].append((float(point or 0.0) * _spread(days, i, MEAN_OF[name]), *actual))
    scored = found[FORECAST]
    return Backtest(
        days=tested,
        forecasts=len(scored),
        sold_out=sum(out for _, _, out in scored),
        scores=tuple(_score(name, some) for name, some in found.items()),
    )


def _mean_of_last(days: Days, before: int, cut: int, count: int) -> float | None:
    """Mean sold on the last so many days of that weekday; None if there was none."""
    weekday = days.weekday
    mine = [j for j in range(before) if weekday[j] == weekday[before] and days.offered[j, cut]][-count:]
    return float(days.total[mine, cut].mean()) if mine else None


def _spread(days: Days, before: int, count: int) -> Floats:
    """By what factors a rule of thumb missed until then, at each level."""
    ratios = []
    for j in range(max(0, before - 24), before):
        for cut in range(len(days.cuts)):
            point = _mean_of_last(days, j, cut, count) if days.offered[j, cut] else None
            if point:
                ratios.append(days.total[j, cut] / point)
    return np.quantile(ratios, LEVELS) if len(ratios) >= 10 else DEFAULT_SPREAD


def _score(name: str, some: Sequence[tuple[Floats, float, bool]]) -> Score:
    if not some:
        return Score(name, 0.0, 0.0, 0.0)
    open_days = [(q, sold) for q, sold, out in some if not out]
    inside = [q[0] <= sold <= q[-1] for q, sold in open_days]
    bias = sum(q[2] - sold for q, sold in open_days) / max(1.0, sum(sold for _, sold in open_days))
    return Score(
        name=name,
        pinball=float(np.mean([pinball(q, sold, out) for q, sold, out in some])),
        coverage=float(np.mean(inside)) if inside else 0.0,
        bias=float(bias),
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
