"""What is believed of the time at which a load is done: a range, sharpened by what is seen on the way.

A range is read as two half normals joined at its likely time, so that early and late are its 10th and 90th percentile.
What is seen sharpens it by Bayes' rule: "not done yet" cuts it off (a closed form), a probe reading weighs each done
time by how well the expected curve, run on that clock, agrees with the reading.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from scheduler.trade.cook_trace import Trace

Floats = NDArray[np.float64]
Curve = Callable[[Floats], Floats]
"""Expected centre temperature (F) by the share of the cook that is over, 0 to 1."""

_NORMAL = NormalDist()
Z90 = _NORMAL.inv_cdf(0.9)
QUANTILES = (0.1, 0.5, 0.9)
READING_SD_F = 6.0
"""How far a reading at the centre lies from the curve: the probe, its place, the piece (common practice, no source)."""
GRID_MIN = 1.0
WIDEST = 4.5
"""Standard deviations beyond which nothing is weighed."""


@dataclass(frozen=True, slots=True)
class Belief:
    """Minutes at which about 10, 50 and 90 of 100 such loads are done."""

    early: float
    likely: float
    late: float

    def rounded(self) -> tuple[int, int, int]:
        """Whole minutes, the range never narrowed by it."""
        likely = round(self.likely)
        return min(int(np.floor(self.early + 1e-9)), likely), likely, max(int(np.ceil(self.late - 1e-9)), likely)

    @property
    def sds(self) -> tuple[float, float]:
        """Standard deviations below and above the likely time; a hair above 0."""
        return max((self.likely - self.early) / Z90, 1e-6), max((self.late - self.likely) / Z90, 1e-6)

    def share_done(self, minute: float) -> float:
        """Probability that it is done by a minute."""
        below, above = self.sds
        return _NORMAL.cdf((minute - self.likely) / (below if minute < self.likely else above))

    def minute_of(self, share: float) -> float:
        """The minute by which it is done with a probability strictly between 0 and 1."""
        below, above = self.sds
        return self.likely + _NORMAL.inv_cdf(share) * (below if share < 0.5 else above)


def not_done_at(belief: Belief, minute: float) -> Belief:
    """The range of a load that is seen not to be done at a minute: what is left of it, by the closed form.

    Far beyond its late time nothing is left to go by: then it may be done any moment, by and large.
    """
    gone = belief.share_done(minute)
    if gone >= 1 - 1e-9:
        return Belief(minute, minute, minute)
    early, likely, late = (max(minute, belief.minute_of(gone + share * (1 - gone))) for share in QUANTILES)
    return Belief(early, likely, late)


@dataclass(frozen=True, slots=True)
class Seen:
    """A reading at the centre of a piece."""

    minute: float
    temp_f: float


def after_readings(belief: Belief, start: float, readings: Sequence[Seen], curve: Curve, sd_f: float) -> Belief:
    """The range after probe readings of a cook that began at `start`; each also says that it was not done then.

    The done time is weighed on a grid of minutes: prior times the likelihood of each reading.
    """
    if not readings:
        return belief
    below, above = belief.sds
    last = max(seen.minute for seen in readings)
    first = max(start + 1, belief.likely - WIDEST * below)
    grid = np.arange(first, max(belief.likely + WIDEST * above, last + 2 * GRID_MIN), GRID_MIN)
    weight = _log_prior(belief, grid)
    for seen in readings:
        share = np.clip((seen.minute - start) / (grid - start), 0.0, 1.0)
        weight = weight - 0.5 * ((seen.temp_f - curve(share)) / sd_f) ** 2
        weight = np.where(grid < seen.minute, -np.inf, weight)
    if not np.isfinite(weight.max()):
        return not_done_at(belief, last)
    found = _quantiles(grid, np.exp(weight - weight.max()))
    return Belief(max(found.early, last), max(found.likely, last), max(found.late, last))


def _log_prior(belief: Belief, grid: Floats) -> Floats:
    below, above = belief.sds
    sd = np.where(grid < belief.likely, below, above)
    # Each half weighs one half, so its density is over its own deviation.
    found: Floats = -0.5 * ((grid - belief.likely) / sd) ** 2 - np.log(sd)
    return found


def _quantiles(grid: Floats, weight: Floats) -> Belief:
    total = np.cumsum(weight)
    total = (total - weight / 2) / total[-1]
    early, likely, late = (float(np.interp(share, total, grid)) for share in QUANTILES)
    return Belief(early, likely, late)


def curve_of(course: Trace) -> Curve:
    """The centre of a traced cook by the share of it that is over."""
    shares = course.minutes / course.done_min

    def centre(share: Floats) -> Floats:
        found: Floats = np.interp(share, shares, course.centre_f)
        return found

    return centre
