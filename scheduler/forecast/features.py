"""What may move a day's demand: weekday, season, trend, weather, event; and how far each may, before any data.

The widths are of natural logarithms: 0.3 means that a factor of 1.35 up or down is nothing unusual. Common practice, no
source.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np

from scheduler.forecast.days import Days
from scheduler.forecast.special import Floats
from scheduler.model.scenario import Scenario

LEVEL_SD = 0.6
WEEKDAY_SD = 0.5
TREND_SD = 0.15
"""A year."""
SEASON_SD = 0.12
EVENT_SD = 0.35
WEATHER_SD = 0.25
WEEKDAYS = 7
UNPLANNED_PORTIONS = 20.0
"""Middle of the prior for a cut that the weekend does not plan."""


@dataclass(frozen=True)
class Features:
    """How a day becomes a row of numbers."""

    last: date
    weather: tuple[str, ...]
    weather_share: tuple[float, ...]
    """How common each was; a day of which nobody knows the weather is a mixture of all."""
    event: tuple[str, ...]

    def row(self, day: date, weather: str, event: str) -> Floats:
        """Level, seven weekdays, trend, season, one column for each word of weather and event."""
        angle = 2 * np.pi * day.timetuple().tm_yday / 365.25
        weekdays = [float(i == day.weekday()) for i in range(WEEKDAYS)]
        sky = [float(w == weather) for w in self.weather] if weather else list(self.weather_share)
        words = sky + [float(w == event) for w in self.event]
        trend = (day - self.last).days / 365.25
        return np.array([1.0, *weekdays, trend, np.sin(angle), np.cos(angle), *words])

    def sky_variance(self, theta: Floats) -> float:
        """Variance of the log of demand that the weather makes where nobody knows it."""
        first = 4 + WEEKDAYS
        effect, share = theta[first : first + len(self.weather)], np.array(self.weather_share)
        return float(share @ np.square(effect - share @ effect)) if len(share) else 0.0

    def prior(self, planned: Mapping[int, float]) -> tuple[Floats, Floats]:
        """Mean and precision of each coefficient of a cut."""
        middle = float(np.mean(np.log(list(planned.values())))) if planned else float(np.log(UNPLANNED_PORTIONS))
        mean = np.zeros(4 + WEEKDAYS + len(self.weather) + len(self.event))
        mean[0] = middle
        for weekday, portions in planned.items():
            mean[1 + weekday] = np.log(portions) - middle
        sds = [
            LEVEL_SD,
            *[WEEKDAY_SD] * WEEKDAYS,
            TREND_SD,
            SEASON_SD,
            SEASON_SD,
            *[WEATHER_SD] * len(self.weather),
            *[EVENT_SD] * len(self.event),
        ]
        return mean, 1 / np.square(sds)


def features_of(days: Days, scenario: Scenario) -> Features:
    """Words that the history or the weekend uses; an event never seen before is as wide as its prior."""
    mine = scenario.weekend.days
    weather = {r.weather for r in days.records} | {d.weather.lower() for d in mine}
    event = {r.event for r in days.records} | {d.event.lower() for d in mine}
    last = max((r.date for r in days.records), default=mine[0].opens.date())
    seen = Counter(r.weather for r in days.records if r.weather)
    skies = tuple(sorted(weather - {""}))
    share = tuple((seen[sky] + 1) / (seen.total() + len(skies)) for sky in skies)
    return Features(last, skies, share, tuple(sorted(event - {""})))


def planned_portions(scenario: Scenario) -> dict[str, dict[int, float]]:
    """Portions in the weekend's waves by cut and weekday, of what is served while the counter is open."""
    found: dict[str, dict[int, float]] = {}
    weekend = scenario.weekend
    for wave in weekend.waves:
        day, until = weekend.day_of(wave.at), weekend.wave_until(wave)
        if day is None or until <= day.opens or not wave.pieces:
            continue
        by_day = found.setdefault(wave.cut, {})
        weekday = day.opens.weekday()
        by_day[weekday] = by_day.get(weekday, 0.0) + wave.pieces * scenario.menu.cut(wave.cut).portions
    return found
