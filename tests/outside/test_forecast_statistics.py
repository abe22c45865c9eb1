"""Distributions and regression against scipy and statsmodels (reference libraries)."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import special, stats

from scheduler.forecast.cooks import TENTH_Z, done_after
from scheduler.forecast.levels import _fit, fit_level
from scheduler.forecast.special import at_least, log_gamma, log_negative_binomial

RNG = np.random.default_rng(11)


def test_log_gamma() -> None:
    x = np.concatenate([np.geomspace(1e-3, 1e5, 400), np.arange(1.0, 50.0)])
    assert np.allclose(log_gamma(x), special.gammaln(x), rtol=1e-11, atol=1e-11)


def test_negative_binomial() -> None:
    counts = np.arange(0.0, 900.0)
    for mean, shape in ((0.5, 3.0), (30.0, 25.0), (300.0, 40.0)):
        exact = stats.nbinom.logpmf(counts, shape, shape / (shape + mean))
        assert np.allclose(log_negative_binomial(counts, np.full_like(counts, mean), shape), exact, rtol=1e-9)


@pytest.mark.parametrize(("least", "mean", "shape"), [(0, 20, 10), (25, 20, 10), (350, 300, 25), (40, 12, 400)])
def test_mean_of_at_least_so_many(least: int, mean: float, shape: float) -> None:
    law = stats.nbinom(shape, shape / (shape + mean))
    counts = np.arange(least, int(mean + least) * 12 + 400)
    exact = (law.pmf(counts) * counts).sum() / law.sf(least - 1)
    log_odds, expected = at_least(least, mean, shape)
    assert expected == pytest.approx(exact, rel=1e-6)
    assert log_odds == pytest.approx(law.logsf(least - 1), abs=1e-6)


def test_regression_is_that_of_statsmodels() -> None:
    """Coefficients and their covariance of a negative binomial regression with an offset, without priors."""
    days, shape = 200, 20.0
    x = np.column_stack([np.ones(days), RNG.standard_normal(days), RNG.random(days) < 0.3]).astype(float)
    seen = RNG.uniform(0.4, 1.0, days)
    mean = seen * np.exp(x @ [4.0, 0.2, -0.3])
    count = RNG.poisson(mean * RNG.gamma(shape, 1 / shape, days)).astype(float)
    reference = sm.GLM(count, x, family=sm.families.NegativeBinomial(alpha=1 / shape), offset=np.log(seen)).fit()
    flat = np.zeros(3), np.full(3, 1e-9)
    theta, hessian = _fit(count, seen, x, flat, np.zeros(days, dtype=bool), np.array([4.0, 0.0, 0.0]), shape)
    assert np.allclose(theta, reference.params, atol=1e-5)
    assert np.allclose(np.linalg.inv(hessian), reference.cov_params(), rtol=1e-3)


def test_the_spread_of_days_is_found() -> None:
    days, shape = 400, 30.0
    x = np.ones((days, 1))
    count = RNG.poisson(200 * RNG.gamma(shape, 1 / shape, days)).astype(float)
    level = fit_level(count, np.ones(days), x, (np.array([5.0]), np.array([1.0])), np.zeros(days, dtype=bool))
    assert level.shape == pytest.approx(shape, rel=0.3)
    assert float(level.mean(x[0])) == pytest.approx(200, rel=0.03)


def test_cook_times_meet_their_percentiles() -> None:
    """The tenth, fiftieth and ninetieth percentile of the draws are early, likely and late."""
    assert pytest.approx(stats.norm.ppf(0.9), abs=1e-12) == TENTH_Z
    luck = RNG.standard_normal(200_000)
    done = done_after(285.0, 465.0, 645.0, luck)
    assert np.percentile(done, (10, 50, 90)) == pytest.approx([285, 465, 645], abs=3)
    assert (done < 465).mean() == pytest.approx(0.5, abs=0.005)
