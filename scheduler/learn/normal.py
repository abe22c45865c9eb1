"""The normal distribution and two of its kin, as far as numpy lacks them."""

from __future__ import annotations

from collections.abc import Callable
from math import erfc, log, log1p, pi, sqrt
from typing import cast

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

TENTH_Z = 1.2815515655446004
"""The 90th percentile of the standard normal distribution."""
HALF_LOG_2PI = 0.5 * log(2 * pi)


def _log_upper(z: float) -> float:
    if z < 0:
        return log1p(-0.5 * erfc(-z / sqrt(2)))
    tail = 0.5 * erfc(z / sqrt(2))
    # Far out the tail underflows; its first term (Abramowitz and Stegun, Handbook, 26.2.12) is then good to 0.1 %.
    return log(tail) if tail > 1e-290 else -z * z / 2 - log(z) - HALF_LOG_2PI


_vectorised = cast(Callable[[Floats], Floats], np.vectorize(_log_upper, otypes=[np.float64]))


def log_density(z: Floats) -> Floats:
    """Log of the standard normal density."""
    return np.asarray(-0.5 * z * z - HALF_LOG_2PI)


def log_upper_tail(z: Floats) -> Floats:
    """Log of the odds that a standard normal value is above z."""
    return _vectorised(z) if z.size else np.zeros_like(z)


def log_student(z: Floats, freedom: float) -> Floats:
    """Log of Student's density, but for a constant."""
    return np.asarray(-(freedom + 1) / 2 * np.log1p(z * z / freedom))


def log_heavy_density(z: Floats) -> Floats:
    """Log of Student's density with 2 degrees of freedom, (2 + z^2)^(-3/2)."""
    return np.asarray(-1.5 * np.log(2 + z * z))


def log_heavy_upper_tail(z: Floats) -> Floats:
    """Log of the odds that such a value is above z: half of 1 - z / sqrt(2 + z^2), written to keep its digits."""
    root = np.sqrt(2 + z * z)
    return np.asarray(np.where(z > 0, -np.log(root * (root + np.abs(z))), np.log((root + np.abs(z)) / (2 * root))))
