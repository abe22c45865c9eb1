"""What would be bought on a service day if nothing ever ran out: fitted to a history, with how unsure that is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

import numpy as np
import pandas as pd

from scheduler.forecast.baskets import Baskets, baskets_of
from scheduler.forecast.days import BINS, Days, days_of, share_open
from scheduler.forecast.features import Features, features_of, planned_portions
from scheduler.forecast.levels import Level, fit_level
from scheduler.forecast.profile import WEEKDAYS, profiles
from scheduler.forecast.special import Floats
from scheduler.model.history import DayRecord, History
from scheduler.model.scenario import Scenario

ROUNDS = 3
"""Level and profile lean on each other; after so many rounds they stand still to about 0.1 %."""
SHARED = 0.5
"""Share of a day's luck that all cuts have in common, before any data. Common practice, no source."""
SHARED_DAYS = 20.0
LEAST_VARIANCE = 0.003
NEVER = 0.5
"""A cut that sold on fewer than this share of the days of a weekday is not part of that day's menu."""


@dataclass(frozen=True)
class DayDemand:
    """Demand of one service day, cut by cut, in portions."""

    cuts: tuple[str, ...]
    opens: datetime
    closes: datetime
    mean: Floats
    """Middle of the expected demand."""
    sd_log: Floats
    """How unsure that expectation is."""
    shapes: Floats
    odds: Floats
    """Odds (cut, shape) of how much days differ."""
    shared: float
    profile: Floats
    """Rate (quarter, cut) of the day's share."""
    hours: Floats
    """Share of each quarter that is open."""
    baskets: Baskets

    def expected(self, count: int, rng: np.random.Generator) -> Floats:
        """Draws (draw, cut) of a day's expected portions: unsure level and the day's own luck."""
        cuts = len(self.cuts)
        level = np.exp(self.sd_log * rng.standard_normal((count, cuts)))
        shape = np.stack([rng.choice(self.shapes, size=count, p=self.odds[cut]) for cut in range(cuts)], axis=1)
        wide = np.maximum(1 / shape - (self.baskets.lump - 1) / np.maximum(self.mean, 1.0), LEAST_VARIANCE)
        sd = np.sqrt(np.log1p(wide))
        common = rng.standard_normal((count, 1))
        luck = np.sqrt(self.shared) * common + np.sqrt(1 - self.shared) * rng.standard_normal((count, cuts))
        return np.asarray(self.mean * level * np.exp(sd * luck - sd**2 / 2) * self._open_share())

    def _open_share(self) -> Floats:
        return np.asarray((self.profile * self.hours[:, None]).sum(axis=0))

    def portions(self, count: int, rng: np.random.Generator) -> Floats:
        """Draws (draw, cut) of the portions that would be bought."""
        expected = self.expected(count, rng)
        return np.asarray(rng.poisson(expected / self.baskets.lump) * self.baskets.lump)

    def portions_between(self, edges: Floats, count: int, rng: np.random.Generator) -> Floats:
        """Draws (draw, span, cut) of the portions that would be bought between edges, in quarters from midnight."""
        lump = self.baskets.lump
        expected = self.expected(count, rng)
        rate = np.concatenate([np.zeros((1, len(self.cuts))), np.cumsum(self.profile * self.hours[:, None], axis=0)])
        grid = np.arange(BINS + 1, dtype=np.float64)
        at = np.stack([np.interp(edges, grid, rate[:, cut]) for cut in range(len(self.cuts))], axis=1)
        share = np.diff(at, axis=0) / np.maximum(rate[-1], 1e-12)
        return np.asarray(rng.poisson(expected[:, None, :] * share[None] / lump) * lump)


@dataclass(frozen=True)
class DemandModel:
    """A history understood."""

    scenario: Scenario
    cuts: tuple[str, ...]
    days: Days
    features: Features
    levels: tuple[Level, ...]
    shared: float
    profile: Floats
    baskets: Baskets
    planned: Mapping[str, Mapping[int, float]]

    def on(self, opens: datetime, closes: datetime, weather: str = "", event: str = "") -> DayDemand:
        """Demand of a day with local opening hours."""
        record = DayRecord(opens, closes)
        weekday = opens.weekday()
        on_menu = [i for i, cut in enumerate(self.cuts) if self._sells(i, cut, weekday)]
        x = self.features.row(opens.date(), weather.lower(), event.lower())
        levels = [self.levels[i] for i in on_menu]
        return DayDemand(
            cuts=tuple(self.cuts[i] for i in on_menu),
            opens=opens,
            closes=closes,
            mean=np.array([float(level.mean(x)) for level in levels]),
            sd_log=np.array([np.hypot(level.sd_log(x), self._sky_sd(level, weather)) for level in levels]),
            shapes=levels[0].shapes if levels else np.ones(1),
            odds=np.array([level.odds for level in levels]),
            shared=self.shared,
            profile=self.profile[weekday][:, on_menu],
            hours=share_open(opens, closes, record),
            baskets=self.baskets.of(on_menu),
        )

    def _sky_sd(self, level: Level, weather: str) -> float:
        return 0.0 if weather else float(np.sqrt(self.features.sky_variance(level.theta)))

    def weekend(self) -> tuple[DayDemand, ...]:
        """Demand of the days of the scenario's own weekend, in order."""
        days = sorted(self.scenario.weekend.days, key=lambda day: day.opens)
        return tuple(self.on(day.opens, day.closes, day.weather, day.event) for day in days)

    def _sells(self, place: int, cut: str, weekday: int) -> bool:
        if weekday in self.planned.get(cut, {}):
            return True
        mine = self.days.weekday == weekday
        return bool(mine.any() and self.days.offered[mine, place].mean() >= NEVER)


def fit(history: History, scenario: Scenario) -> DemandModel:
    """Understand a history. With little of it, or none, the weekend's own waves are the guess, and it stays wide."""
    planned = planned_portions(scenario)
    sold = {sale.cut for sale in history.sales}
    cuts = tuple(cut.name for cut in scenario.menu.cuts if cut.name in sold or cut.name in planned)
    days = days_of(history, cuts)
    features = features_of(days, scenario)
    rows = [features.row(r.date, r.weather, r.event) for r in days.records]
    x = np.array(rows) if rows else np.zeros((0, len(features.prior({})[0])))
    hours = _usual_hours(days, scenario)
    weekday = days.weekday
    profile = profiles(days.sold, days.risk, np.zeros((len(rows), len(cuts))), weekday, hours)
    levels: list[Level] = []
    factor = np.ones((len(rows), len(cuts)))
    for _ in range(ROUNDS if rows else 1):
        seen = np.einsum("dbc,dbc->dc", days.risk, profile[weekday]) if rows else np.zeros((0, len(cuts)))
        levels = [_fit_cut(days, i, cut, x, seen, features, planned) for i, cut in enumerate(cuts)]
        if not rows:
            break
        mean = np.stack([level.mean(x) for level in levels], axis=1)
        shape = np.array([level.shape for level in levels])
        counted = np.where(days.offered, days.sold.sum(axis=1), 0.0)
        factor = (shape + counted) / (shape + mean * seen)
        daily = np.where(days.offered & ~days.untimed, mean * factor, 0.0)
        profile = profiles(np.where(daily[:, None, :] > 0, days.sold, 0.0), days.risk, daily, weekday, hours)
    return DemandModel(
        scenario,
        cuts,
        days,
        features,
        tuple(levels),
        _shared(factor, days),
        profile,
        baskets_of(history, cuts),
        planned,
    )


def _fit_cut(
    days: Days,
    i: int,
    cut: str,
    x: Floats,
    seen: Floats,
    features: Features,
    planned: Mapping[str, Mapping[int, float]],
) -> Level:
    use = days.offered[:, i]
    untimed = days.untimed[use, i]
    count = np.where(untimed, days.total[use, i], days.sold[use, :, i].sum(axis=1))
    return fit_level(count, np.where(untimed, 1.0, seen[use, i]), x[use], features.prior(planned.get(cut, {})), untimed)


def _usual_hours(days: Days, scenario: Scenario) -> Floats:
    """Usual hours (weekday, quarter): of the weekend where it has that weekday, else of the history."""
    opened = np.array([share_open(r.opened, r.closed, r) for r in days.records]).reshape(-1, BINS)
    usual = pd.DataFrame(opened).groupby(days.weekday).median()
    hours = np.array(usual.reindex(range(WEEKDAYS), fill_value=0.0))
    for day in scenario.weekend.days:
        if not hours[day.opens.weekday()].any():
            hours[day.opens.weekday()] = share_open(day.opens, day.closes, DayRecord(day.opens, day.closes))
    return hours


def _shared(factor: Floats, days: Days) -> float:
    """Share of a day's luck that cuts have in common: the mean correlation of their day factors, shrunk."""
    logs = pd.DataFrame(np.log(np.maximum(factor, 1e-6))).where(days.offered)
    alike = logs.corr(min_periods=3).to_numpy()
    share = days.offered.T.astype(np.float64) @ days.offered / max(1, len(days.cuts) - 1)
    pairs = np.tril(~np.isnan(alike), -1)
    found = SHARED * SHARED_DAYS + (share * alike)[pairs].sum()
    return float(np.clip(found / (SHARED_DAYS + share[pairs].sum()), 0.0, 0.95))
