"""What a range is, after some cooks: early, likely and late with an interval each, shrunk to what was believed before.

A range is the 10th, 50th and 90th percentile of a two-piece normal, as everywhere in this program. Its three figures
are not known, so each is given odds: before any cook, around the menu's range, with heavy tails (Student's with 4
degrees of freedom), so that a kitchen far from the handbook is believed after some dozen cooks; then by what each cook
says. A cook that was ended before it was done says only "longer than". One in fifty is allowed to be a slip of the pen
or a piece apart (three times as spread, with tails of Student's t of 2 degrees), so that one such does not move the
range; those are named. Common practice, no source for these shares.

All is worked out on a grid. Given the likely time, the cooks below it speak of the early side alone and those above it
of the late side alone, so three figures cost no more than two grids of two.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.learn.normal import (
    TENTH_Z,
    Bools,
    Floats,
    log_density,
    log_heavy_density,
    log_heavy_upper_tail,
    log_student,
    log_upper_tail,
)

LIKELY_SD = 0.20
"""How far a kitchen's likely time is from the menu's, as a share of it (common practice, no source)."""
SIDE_SD = 0.40
"""The same for the width of a side of the range, in logarithms."""
FREEDOM = 4.0
ODD_SHARE, ODD_SPREAD = 0.02, 3.0
INTERVAL = (0.025, 0.5, 0.975)
POINTS = 33
REFINEMENTS = 2
REACH = 5.0


@dataclass(frozen=True, slots=True)
class Side:
    """Prior of the three figures: likely time and the standard deviations of the two sides, in any unit of time."""

    likely: float
    below: float
    above: float
    likely_sd: float = LIKELY_SD


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of the range: its middle, and the interval that holds it with odds of 19 in 20."""

    middle: float
    low: float
    high: float

    def holds(self, value: float) -> bool:
        """True if the interval holds a value."""
        return self.low <= value <= self.high


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """What is believed after the cooks."""

    early: Figure
    likely: Figure
    late: Figure
    below: float
    above: float
    """Standard deviations of the two sides, middle values."""
    odd: Floats
    """Odds of each cook to be a slip or a piece apart."""


@dataclass(slots=True)
class _Grid:
    likely: Floats
    below: Floats
    above: Floats


def posterior(times: Floats, done: Bools, prior: Side) -> Posterior:
    """The range after some cooks: `times` in the unit of the prior, `done` true where they are ends and not "longer".

    With no cooks it is the prior, whose middle values are the prior's figures.
    """
    seen = np.asarray(done, dtype=np.bool_)
    grid = _first(times, seen, prior)
    weights = _weights(times, seen, prior, grid)
    for _ in range(REFINEMENTS):
        grid = _closer(grid, weights)
        weights = _weights(times, seen, prior, grid)
    likely, early, late = _marginals(grid, weights)
    below = float(np.exp(_figure(np.log(grid.below), weights[1].sum(axis=0)).middle))
    above = float(np.exp(_figure(np.log(grid.above), weights[2].sum(axis=0)).middle))
    early = Figure(likely.middle - TENTH_Z * below, early.low, early.high)
    late = Figure(likely.middle + TENTH_Z * above, late.low, late.high)
    return Posterior(early, likely, late, below, above, _odd(times, seen, likely.middle, below, above))


def _first(times: Floats, seen: Bools, prior: Side) -> _Grid:
    """A grid wide enough for what was believed and for what was seen."""
    ends = times[seen]
    low, high = prior.likely * (1 - 4 * prior.likely_sd), prior.likely * (1 + 6 * prior.likely_sd)
    if ends.size:
        low, high = min(low, float(np.percentile(ends, 10))), max(high, float(np.percentile(ends, 90)))
    factors = np.exp(np.linspace(-4 * SIDE_SD, 4 * SIDE_SD, POINTS))
    return _Grid(np.linspace(max(low, 1e-3 * prior.likely), high, POINTS), prior.below * factors, prior.above * factors)


def _closer(grid: _Grid, weights: tuple[Floats, Floats, Floats]) -> _Grid:
    """A grid around where the odds are."""
    likely = _around(grid.likely, weights[0])
    below = np.exp(_around(np.log(grid.below), weights[1].sum(axis=0)))
    above = np.exp(_around(np.log(grid.above), weights[2].sum(axis=0)))
    return _Grid(likely, below, above)


def _around(points: Floats, odds: Floats) -> Floats:
    mean = float((points * odds).sum())
    sd = float(np.sqrt(((points - mean) ** 2 * odds).sum()))
    step = float(points[1] - points[0])
    reach = REACH * max(sd, step / 4)
    return np.linspace(max(mean - reach, float(points[0])), min(mean + reach, float(points[-1])), POINTS)


def _weights(times: Floats, seen: Bools, prior: Side, grid: _Grid) -> tuple[Floats, Floats, Floats]:
    """Odds of each likely time; of it with each width below; of it with each width above."""
    below = _side(times, seen, grid.likely, grid.below, lower=True)
    above = _side(times, seen, grid.likely, grid.above, lower=False)
    below += log_student(np.log(grid.below / prior.below) / SIDE_SD, FREEDOM)[None, :]
    above += log_student(np.log(grid.above / prior.above) / SIDE_SD, FREEDOM)[None, :]
    own = log_student((grid.likely / prior.likely - 1) / prior.likely_sd, FREEDOM)
    under, over = _log_sum(below), _log_sum(above)
    total = own + under + over
    odds = np.exp(total - total.max())
    odds /= odds.sum()
    return (
        odds,
        np.asarray(odds[:, None] * np.exp(below - under[:, None])),
        np.asarray(odds[:, None] * np.exp(above - over[:, None])),
    )


def _log_sum(logs: Floats) -> Floats:
    top = logs.max(axis=1)
    return np.asarray(top + np.log(np.exp(logs - top[:, None]).sum(axis=1)))


def _side(times: Floats, seen: Bools, likely: Floats, widths: Floats, *, lower: bool) -> Floats:
    """Log-likelihood of the cooks on one side of each likely time, for each width of that side."""
    found = np.zeros((len(likely), len(widths)))
    if not times.size:
        return found
    own = times[None, :] < likely[:, None] if lower else times[None, :] >= likely[:, None]
    rows, cooks = np.nonzero(own)
    if not rows.size:
        return found
    z = (times[cooks] - likely[rows])[:, None] / widths[None, :]
    ends = seen[cooks]
    logs = np.empty_like(z)
    plain = np.log1p(-ODD_SHARE) + log_density(z[ends]) - np.log(widths)[None, :]
    wide = np.log(ODD_SHARE / ODD_SPREAD) + log_heavy_density(z[ends] / ODD_SPREAD) - np.log(widths)[None, :]
    logs[ends] = np.logaddexp(plain, wide)
    logs[~ends] = np.logaddexp(
        np.log1p(-ODD_SHARE) + log_upper_tail(z[~ends]), np.log(ODD_SHARE) + log_heavy_upper_tail(z[~ends] / ODD_SPREAD)
    )
    at, first = np.unique(rows, return_index=True)
    found[at] = np.add.reduceat(logs, first, axis=0)
    return found


def _marginals(grid: _Grid, weights: tuple[Floats, Floats, Floats]) -> tuple[Figure, Figure, Figure]:
    early = grid.likely[:, None] - TENTH_Z * grid.below[None, :]
    late = grid.likely[:, None] + TENTH_Z * grid.above[None, :]
    return (
        _figure(grid.likely, weights[0]),
        _figure(early.ravel(), weights[1].ravel()),
        _figure(late.ravel(), weights[2].ravel()),
    )


def _figure(points: Floats, odds: Floats) -> Figure:
    order = np.argsort(points)
    values, mass = points[order], odds[order]
    share = np.cumsum(mass) - mass / 2
    low, middle, high = np.interp(np.asarray(INTERVAL) * float(mass.sum()), share, values)
    return Figure(float(middle), float(low), float(high))


def _odd(times: Floats, seen: Bools, likely: float, below: float, above: float) -> Floats:
    """Odds of each cook that it is a slip or a piece apart; 0 for one that was ended before it was done."""
    z = (times - likely) / np.where(times < likely, below, above)
    plain = (1 - ODD_SHARE) * np.exp(log_density(z))
    wide = ODD_SHARE / ODD_SPREAD * np.exp(log_heavy_density(z / ODD_SPREAD))
    return np.asarray(np.where(seen, wide / (plain + wide + 1e-300), 0.0))
