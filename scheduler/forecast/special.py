"""The few functions of probability that numpy lacks."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_SHIFT = 9
_COEFFICIENTS = (1 / 12, -1 / 360, 1 / 1260, -1 / 1680, 1 / 1188)


def log_gamma(x: Floats | float) -> Floats:
    """Logarithm of the gamma function for x > 0, to about 1e-12.

    Stirling's series (Abramowitz and Stegun, Handbook of Mathematical Functions, 6.1.41), nine steps up by 6.1.15.
    """
    x = np.asarray(x, dtype=np.float64)
    low = np.ones_like(x)
    for step in range(_SHIFT):
        low = low * (x + step)
    z = x + _SHIFT
    series = sum(c / z ** (2 * i + 1) for i, c in enumerate(_COEFFICIENTS))
    return np.asarray((z - 0.5) * np.log(z) - z + 0.5 * np.log(2 * np.pi) + series - np.log(low))


def log_negative_binomial(count: Floats, mean: Floats, shape: float) -> Floats:
    """Log of the odds of a count whose rate is gamma distributed: mean `mean`, variance mean + mean^2 / shape."""
    both = shape + mean
    waiting = shape * np.log(shape / both) + count * np.log(np.maximum(mean, 1e-12) / both)
    return np.asarray(log_gamma(count + shape) - log_gamma(shape) - log_gamma(count + 1.0) + waiting)


def at_least(least: float, mean: float, shape: float) -> tuple[float, float]:
    """Log of the odds that such a count is at least so many, and its expectation if it is."""
    spread = np.sqrt(mean + mean**2 / shape)
    top = int(max(mean, least) + 12 * spread + 20)
    counts = np.arange(int(np.floor(least)), top + 1, dtype=np.float64)
    logs = log_negative_binomial(counts, np.full_like(counts, mean), shape)
    highest = float(logs.max())
    odds = np.exp(logs - highest)
    return highest + float(np.log(odds.sum())), float((odds * counts).sum() / odds.sum())


def poisson_pmf(mean: float, most: int) -> Floats:
    """Odds of 0, 1, ... most arrivals where `mean` are expected."""
    counts = np.arange(most + 1, dtype=np.float64)
    return np.asarray(np.exp(counts * np.log(mean) - mean - log_gamma(counts + 1.0)))
