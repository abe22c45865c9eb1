"""The level of one cut's demand: a regression for counts that knows how much of each day it saw.

Portions sold of day d are negative binomial with mean e_d exp(x_d theta), where e_d is the share of a day's demand that
comes while the cut is there. That is the exact likelihood of a Poisson stream with a gamma distributed day, watched
until the shelf is empty: when to stop watching depends on nothing but what was seen (a stopping rule leaves the
likelihood as it is). Where the time of selling out is not known, the day is "at least": its expected demand is filled
in again and again (EM).

Priors shrink each coefficient; their widths are in `scheduler.forecast.features`. The spread is integrated over a grid.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.forecast.days import Flags
from scheduler.forecast.special import Floats, at_least, log_negative_binomial

SHAPES: Floats = np.geomspace(3.0, 400.0, 12)
"""Shapes of the gamma distributed day that are tried; 25 means that days differ by 20 %."""
LIKELY_CV = 0.2
CV_SD_LOG = 0.6
"""Prior of how much days differ beyond what the calendar explains: about 20 %. Common practice, no source."""
LEAST_SEEN = 0.03
"""Days of which less was seen say nothing."""
UNTIMED_WEIGHT = 0.5
"""Such a day tells about half of what a whole one does."""
STEPS = 40
CLOSE = 1e-7
LARGEST_STEP = 1.0


@dataclass(frozen=True)
class Level:
    """What is known of a cut's level."""

    theta: Floats
    cov: Floats
    shapes: Floats
    odds: Floats
    """Odds of each shape."""
    days: int

    @property
    def shape(self) -> float:
        """The shape by its expected spread: days differ by 1 / sqrt(shape)."""
        return float(1 / (self.odds / self.shapes).sum())

    def mean(self, x: Floats) -> Floats:
        """Middle of the expected portions of a whole day."""
        return np.asarray(np.exp(x @ self.theta))

    def sd_log(self, x: Floats) -> float:
        """How unsure that is, as a standard deviation of its logarithm."""
        return float(max(float(x @ self.cov @ x), 0.0) ** 0.5)


def fit_level(count: Floats, seen: Floats, x: Floats, prior: tuple[Floats, Floats], untimed: Flags) -> Level:
    """Fit one cut. `prior` is the mean and the precision of each coefficient."""
    use = seen >= LEAST_SEEN
    count, seen, x, untimed = count[use], seen[use], x[use], untimed[use]
    theta = prior[0].copy()
    if count.sum() > 0:
        guess = np.log(count.sum() / (seen * np.exp(x @ theta)).sum())
        theta[0] += guess
    scores: list[float] = []
    fits: list[tuple[Floats, Floats]] = []
    for shape in SHAPES:
        theta, hessian = _fit(count, seen, x, prior, untimed, theta, float(shape))
        fits.append((theta, np.asarray(np.linalg.inv(hessian), dtype=np.float64)))
        likely = _log_likelihood(count, seen * np.exp(x @ theta), untimed, float(shape))
        scores.append(_score(likely, float(shape), theta, prior, hessian))
    logs = np.array(scores, dtype=np.float64)
    odds = np.exp(logs - logs.max())
    odds /= odds.sum()
    middle = sum(o * t for o, (t, _) in zip(odds, fits, strict=True))
    cov = sum(o * (c + np.outer(t - middle, t - middle)) for o, (t, c) in zip(odds, fits, strict=True))
    return Level(np.asarray(middle), np.asarray(cov), SHAPES, odds, len(count))


def _fit(
    count: Floats,
    seen: Floats,
    x: Floats,
    prior: tuple[Floats, Floats],
    untimed: Flags,
    theta: Floats,
    shape: float,
) -> tuple[Floats, Floats]:
    """Fisher scoring with "at least" filled in anew at each step; coefficients and information."""
    weight = np.where(untimed, UNTIMED_WEIGHT, 1.0)
    pull, mean = np.zeros_like(count), np.zeros_like(count)
    for _ in range(STEPS):
        mean = seen * np.exp(np.clip(x @ theta, -20, 20))
        filled = count.copy()
        for i in np.flatnonzero(untimed):
            filled[i] = at_least(count[i], float(mean[i]), shape)[1]
        pull = shape / (shape + mean)
        hessian = (x * (pull * mean)[:, None]).T @ x + np.diag(prior[1])
        gradient = x.T @ (pull * (filled - mean)) - prior[1] * (theta - prior[0])
        step = np.clip(np.linalg.solve(hessian, gradient), -LARGEST_STEP, LARGEST_STEP)
        theta = theta + step
        if np.abs(step).max() < CLOSE:
            break
    return theta, (x * (weight * pull * mean)[:, None]).T @ x + np.diag(prior[1])


def _log_likelihood(count: Floats, mean: Floats, untimed: Flags, shape: float) -> float:
    exact = log_negative_binomial(count[~untimed], mean[~untimed], shape).sum()
    return float(exact) + sum(at_least(count[i], float(mean[i]), shape)[0] for i in np.flatnonzero(untimed))


def _score(likely: float, shape: float, theta: Floats, prior: tuple[Floats, Floats], hessian: Floats) -> float:
    """Log posterior of a shape, the coefficients integrated out by Laplace's method."""
    off = theta - prior[0]
    spread = (np.log(1 / np.sqrt(shape)) - np.log(LIKELY_CV)) / CV_SD_LOG
    ridge, volume = float(off @ (prior[1] * off)), float(np.linalg.slogdet(hessian)[1])
    return float(likely - 0.5 * (ridge + volume + spread**2))
