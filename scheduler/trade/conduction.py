"""Exact transient conduction in a wall, a long cylinder and a sphere that are warmed or cooled by air.

Ratio means (T - air) / (start - air). Bi = h L / k and Fo = a t / L^2, L being the half thickness or the radius, a the
diffusivity. Equations: Incropera/Bergman ch. 5, Cengel ch. 4. The one-term form holds from Fo 0.2 on; the series from
`LEAST_FO` on. No evaporation here: alone, conduction cooks barbecue hours too fast (see `slab`).
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from math import cos, isinf, pi, sin
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Shape = Literal["wall", "cylinder", "sphere"]

TERMS = 60
LEAST_FO = 1e-3
"""Below it, `TERMS` terms are not enough."""
LUMPED_BI = 0.1
"""Up to this Bi one temperature will do for the whole body (Cengel ch. 18)."""


def bessel_j(order: int, x: Floats) -> Floats:
    """Bessel function J of a whole order, by its integral; the trapezoid rule is exact to rounding for these x.

    Source: Bessel's integral, Abramowitz and Stegun 9.1.21 (from memory). ValueError above x = 300.
    """
    if x.size and float(np.abs(x).max()) > 300:
        raise ValueError("bessel_j is made for x up to 300")
    points = 512
    angle = np.linspace(0.0, pi, points + 1)
    weight = np.full(points + 1, 1.0 / points)
    weight[[0, -1]] /= 2
    return np.asarray(np.cos(order * angle - np.multiply.outer(x, np.sin(angle))) @ weight, dtype=np.float64)


@lru_cache(maxsize=4)
def _bessel_zeros(order: int, count: int) -> Floats:
    n = np.arange(1, count + 1, dtype=np.float64)
    guess = (n + order / 2 - 0.25) * pi
    return _bisect(lambda x: bessel_j(order, x), guess - 1.2, guess + 1.2)


def _bisect(function: Callable[[Floats], Floats], low: Floats, high: Floats) -> Floats:
    rising = np.where(function(low) < 0, 1.0, -1.0)
    for _ in range(60):
        middle = (low + high) / 2
        below = rising * function(middle) < 0
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return (low + high) / 2


@lru_cache(maxsize=256)
def eigenvalues(shape: Shape, bi: float, count: int = TERMS) -> Floats:
    """The first roots (rad) of the shape's equation, in order; `bi` may be infinite. ValueError unless above 0."""
    if not bi > 0:
        raise ValueError(f"Bi must be above 0, not {bi}")
    inner, outer = (0.0, 1.0) if isinf(bi) else (1 / (1 + bi), bi / (1 + bi))
    n = np.arange(count, dtype=np.float64)
    if shape == "wall":
        return _bisect(lambda z: inner * z * np.sin(z) - outer * np.cos(z), n * pi, (n + 0.5) * pi)
    if shape == "sphere":
        low = np.where(n == 0, 1e-6, n * pi)
        return _bisect(lambda z: inner * (np.sin(z) - z * np.cos(z)) - outer * np.sin(z), low, (n + 1) * pi)
    if shape == "cylinder":
        low = np.concatenate(([1e-9], _bessel_zeros(1, count)[: count - 1]))
        return _bisect(
            lambda z: inner * z * bessel_j(1, z) - outer * bessel_j(0, z), low, _bessel_zeros(0, count) + 1e-9
        )
    raise ValueError(f"unknown shape {shape!r}")


def _coefficients(shape: Shape, zeta: Floats) -> Floats:
    if shape == "wall":
        return np.asarray(4 * np.sin(zeta) / (2 * zeta + np.sin(2 * zeta)))
    if shape == "sphere":
        return np.asarray(4 * (np.sin(zeta) - zeta * np.cos(zeta)) / (2 * zeta - np.sin(2 * zeta)))
    j0, j1 = bessel_j(0, zeta), bessel_j(1, zeta)
    return np.asarray(2 * j1 / (zeta * (j0**2 + j1**2)))


def _profile(shape: Shape, angle: Floats) -> Floats:
    if shape == "wall":
        return np.asarray(np.cos(angle))
    if shape == "cylinder":
        return bessel_j(0, angle)
    return np.asarray(np.sinc(angle / pi))


def one_term(shape: Shape, bi: float) -> tuple[float, float]:
    """First root (rad) and its coefficient C1: the rows of the handbook table."""
    zeta = eigenvalues(shape, bi, 1)
    return float(zeta[0]), float(_coefficients(shape, zeta)[0])


def temperature_ratio(shape: Shape, bi: float, fo: float, position: float = 0.0) -> float:
    """Ratio at a relative position (0 centre, 1 surface), by the full series. ValueError below `LEAST_FO`."""
    if fo < LEAST_FO:
        raise ValueError(f"the series is not for Fo below {LEAST_FO}, not {fo}")
    zeta = eigenvalues(shape, bi)
    terms = _coefficients(shape, zeta) * np.exp(-(zeta**2) * fo) * _profile(shape, zeta * position)
    return float(terms.sum())


def one_term_ratio(shape: Shape, bi: float, fo: float, position: float = 0.0) -> float:
    """Ratio by the first term alone; wrong below Fo 0.2, and there it may pass 1."""
    zeta, c1 = one_term(shape, bi)
    return float(c1 * np.exp(-(zeta**2) * fo) * _profile(shape, np.asarray([zeta * position]))[0])


def lumped_ratio(bi: float, fo: float) -> float:
    """Ratio of a wall that is all at one temperature. ValueError above Bi 0.1."""
    if bi > LUMPED_BI:
        raise ValueError(f"one temperature will not do for Bi {bi} above {LUMPED_BI}")
    return float(np.exp(-bi * fo))


def product_ratio(*ratios: float) -> float:
    """Ratio of a body that is the crossing of simple ones: short cylinder (cylinder x wall), brick (three walls)."""
    return float(np.prod(ratios))


def _solve(function: Callable[[float], float], low: float, high: float, what: str) -> float:
    """Where a falling function crosses 0, between two positive numbers, by bisection of their logarithm."""
    if not function(low) >= 0 >= function(high):
        raise ValueError(f"no {what} between {low:g} and {high:g} gives this")
    for _ in range(100):
        middle = float(np.sqrt(low * high))
        low, high = (middle, high) if function(middle) > 0 else (low, middle)
    return float(np.sqrt(low * high))


def fo_for(shape: Shape, bi: float, ratio: float, position: float = 0.0, one: bool = False) -> float:
    """Fo at which the ratio at a position falls to `ratio`; by one term if `one`. ValueError if it never does."""
    law = one_term_ratio if one else temperature_ratio
    return _solve(lambda fo: law(shape, bi, fo, position) - ratio, LEAST_FO, 1e4, "Fo")


def bi_for(shape: Shape, fo: float, ratio: float, position: float = 0.0, one: bool = False) -> float:
    """Bi that gives `ratio` at a position after `fo`; by one term if `one`. ValueError if none does."""
    law = one_term_ratio if one else temperature_ratio
    return _solve(lambda bi: law(shape, bi, fo, position) - ratio, 1e-4, 1e6, "Bi")


def surface_to_centre(shape: Shape, bi: float) -> float:
    """(T surface - air) / (T centre - air) once the first term rules."""
    zeta, _ = one_term(shape, bi)
    if shape == "wall":
        return cos(zeta)
    return sin(zeta) / zeta if shape == "sphere" else float(bessel_j(0, np.asarray([zeta]))[0])
