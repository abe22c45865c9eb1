"""How a day's demand comes in: its share by quarter of an hour, by weekday and cut.

Each quarter's rate is what was sold in it, over the demand of the days that could sell in it. Thin cuts lean on all
cuts of their weekday, a thin weekday leans on all weekdays, and those on a plain noon or evening hump.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scheduler.forecast.days import BIN_MIN, BINS
from scheduler.forecast.special import Floats

WEEKDAYS = 7
LEAN_CUT = 60.0
"""Portions of a day's demand by which a cut leans on its weekday."""
LEAN_DAY = 60.0
NOON, EVENING = 12.4, 18.2
"""Hours of the plain humps. Common practice, no source."""
HUMP_SD_H = 1.3
FLOOR = 0.35


def plain_profile() -> Floats:
    """The shape before any data, as a rate by quarter of an hour."""
    hours = (np.arange(BINS) + 0.5) * BIN_MIN / 60
    humps = [np.exp(-0.5 * ((hours - peak) / HUMP_SD_H) ** 2) for peak in (NOON, EVENING)]
    return np.asarray(FLOOR + np.maximum(*humps))


def profiles(sold: Floats, risk: Floats, daily: Floats, weekday: NDArray[np.int64], hours: Floats) -> Floats:
    """Shares (weekday, quarter, cut) that add up to 1 over the usual hours of the weekday.

    `daily` is what a whole day of each cut would have sold, `hours` (weekday, quarter) what share of a quarter is open.
    """
    cuts = sold.shape[2]
    found = np.zeros((WEEKDAYS, BINS, cuts))
    need = risk * daily[:, None, :]
    all_days = _leaned(sold.sum(axis=(0, 2)), need.sum(axis=(0, 2)), _unit(plain_profile(), hours.max(axis=0)))
    for day in range(WEEKDAYS):
        mine = weekday == day
        base = _unit(all_days, hours[day])
        if mine.any():
            base = _unit(_leaned(sold[mine].sum(axis=(0, 2)), need[mine].sum(axis=(0, 2)), base), hours[day])
        for cut in range(cuts):
            rate = _leaned(sold[mine, :, cut].sum(axis=0), need[mine, :, cut].sum(axis=0), base, LEAN_CUT)
            found[day, :, cut] = _unit(rate, hours[day])
    return found


def _leaned(sold: Floats, need: Floats, base: Floats, lean: float = LEAN_DAY) -> Floats:
    return np.asarray((sold + lean * base) / (need + lean))


def _unit(rate: Floats, hours: Floats) -> Floats:
    """The rate with a day's sum of 1; as it is where the day has no hours."""
    whole = float((rate * hours).sum())
    return rate / whole if whole > 0 else rate
