"""Tails of Student's t and of the binomial, as far as the standard library lacks them."""

from __future__ import annotations

from math import exp, fsum, lgamma, log, log1p

STEPS = 500
TINY = 1e-300


def _fraction(a: float, b: float, x: float) -> float:
    """Continued fraction of the incomplete beta function (Abramowitz and Stegun, Handbook, 26.5.8), Lentz's way."""
    c, d = 1.0, 1.0 / max(1 - (a + b) * x / (a + 1), TINY)
    value = d
    for m in range(1, STEPS):
        for top in (
            m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)),
        ):
            d = 1 / _not_zero(1 + top * d)
            c = _not_zero(1 + top / c)
            value *= c * d
        if abs(c * d - 1) < 1e-15:
            break
    return value


def _not_zero(value: float) -> float:
    return value if abs(value) > TINY else TINY


def beta_share(a: float, b: float, x: float) -> float:
    """Regularised incomplete beta function I_x(a, b), to about 1e-12."""
    if x <= 0 or x >= 1:
        return 0.0 if x <= 0 else 1.0
    front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log1p(-x))
    if x < (a + 1) / (a + b + 2):
        return front * _fraction(a, b, x) / a
    return 1 - front * _fraction(b, a, 1 - x) / b


def student_two_sided(t: float, freedom: float) -> float:
    """Odds that Student's t is further from 0 than t (Abramowitz and Stegun, 26.7.1)."""
    return beta_share(freedom / 2, 0.5, freedom / (freedom + t * t))


def student_quantile(share: float, freedom: float) -> float:
    """The t below which that share lies, for shares of a half and above; by halving."""
    low, high = 0.0, 1.0
    while 1 - student_two_sided(high, freedom) / 2 < share and high < 1e12:
        high *= 2
    for _ in range(100):
        middle = (low + high) / 2
        if 1 - student_two_sided(middle, freedom) / 2 < share:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _count_odds(hits: int, of: int, odds: float) -> float:
    """Odds of exactly so many hits; for odds between 0 and 1."""
    ways = lgamma(of + 1) - lgamma(hits + 1) - lgamma(of - hits + 1)
    return exp(ways + hits * log(odds) + (of - hits) * log1p(-odds))


def at_least(hits: int, of: int, odds: float) -> float:
    """Exact odds of so many hits or more out of `of` trials, each a hit with `odds`."""
    if hits <= 0:
        return 1.0
    if odds >= 1:
        return 1.0 if hits <= of else 0.0
    return min(1.0, fsum(_count_odds(k, of, odds) for k in range(hits, of + 1)))


def critical_count(of: int, odds: float, risk: float) -> int | None:
    """The least number of hits that chance alone reaches with odds of at most `risk`; None if even all do not."""
    tail, least = 0.0, None
    for hits in range(of, -1, -1):
        tail += _count_odds(hits, of, odds)
        if tail > risk:
            break
        least = hits
    return least
