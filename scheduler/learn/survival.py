"""Odds of being over by a time, where some were cut off before: the product-limit estimate with its interval.

Kaplan and Meier (1958), variance by Greenwood (1926), interval by Wilson (1927) on the number of cooks that, without
any cut off, would give that variance.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np

from scheduler.learn.normal import Bools, Floats

Z_90 = 1.6448536269514722
"""Two-sided 90 %."""


@dataclass(frozen=True, slots=True)
class Share:
    """A share with the interval that holds it with odds of 9 in 10."""

    share: float
    low: float
    high: float
    count: float
    """Cooks behind it; fewer than were seen where some were cut off."""


def over_by(times: Floats, done: Bools, at: float) -> tuple[float, float]:
    """Odds of being over at or before `at`, and Greenwood's variance of them. NaN variance where nothing is known."""
    alive, sum_of = 1.0, 0.0
    order = np.argsort(times, kind="stable")
    times, ended = times[order], done[order]
    for time in np.unique(times[ended & (times <= at)]):
        risk = int((times >= time).sum())
        ends = int((ended & (times == time)).sum())
        alive *= 1 - ends / risk
        sum_of += ends / (risk * (risk - ends)) if risk > ends else 0.0
    return 1 - alive, alive**2 * sum_of


def wilson(share: float, count: float, z: float = Z_90) -> tuple[float, float]:
    """Interval of a share of `count` cases (Wilson 1927)."""
    if count <= 0:
        return 0.0, 1.0
    middle = (share + z * z / (2 * count)) / (1 + z * z / count)
    half = z / (1 + z * z / count) * sqrt(share * (1 - share) / count + z * z / (4 * count * count))
    return max(0.0, middle - half), min(1.0, middle + half)


def share_over_by(times: Floats, done: Bools, at: float) -> Share:
    """The share that is over by a time, with its interval."""
    share, variance = over_by(times, done, at)
    known = float((done | (times >= at)).sum())
    count = min(float(len(times)), share * (1 - share) / variance) if variance > 0 else known
    low, high = wilson(share, count)
    return Share(share, low, high, count)
