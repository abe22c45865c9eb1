"""The statistics of learning and of trials against reference libraries, published tables and worked examples."""

from __future__ import annotations

import numpy as np
import pytest
from learn_kitchen import drawn, side
from scipy import stats
from statsmodels.duration.survfunc import SurvfuncRight
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.power import TTestPower
from statsmodels.stats.proportion import proportion_confint

from scheduler.learn.normal import log_heavy_density, log_heavy_upper_tail, log_upper_tail
from scheduler.learn.posterior import Side, posterior
from scheduler.learn.survival import over_by, wilson
from scheduler.learn.tails import at_least, beta_share, critical_count, student_quantile, student_two_sided
from scheduler.learn.verdict import flip_odds, holm, paired, preference, share_interval, triangle


def test_product_limit_against_statsmodels() -> None:
    rng = np.random.default_rng(4)
    times = rng.integers(1, 40, 80).astype(np.float64)  # with ties
    done = rng.random(80) < 0.7
    reference = SurvfuncRight(times, done.astype(int))
    for time, alive, error in zip(reference.surv_times, reference.surv_prob, reference.surv_prob_se, strict=True):
        share, variance = over_by(times, done, float(time))
        assert share == pytest.approx(1 - alive)
        assert np.sqrt(variance) == pytest.approx(error)


def test_a_cut_off_normal_against_the_fit_of_scipy() -> None:
    # With a thousand cooks and hardly any belief beforehand, the range is the one of greatest likelihood. SciPy fits a
    # plain normal, so the truth has two like sides.
    rng = np.random.default_rng(9)
    times, done = drawn(rng, 1000, (300, 480, 660))
    data = stats.CensoredData(uncensored=times[done], right=times[~done])
    mean, sd = stats.norm.fit(data)
    found = posterior(times, done, Side(480, sd, sd, likely_sd=1.0))
    expected = stats.norm.ppf((0.1, 0.5, 0.9), mean, sd)
    assert [f.middle for f in (found.early, found.likely, found.late)] == pytest.approx(expected, rel=0.02)


def test_interval_of_the_median_against_order_statistics() -> None:
    # Without cooks cut off, the interval of the likely time is no wider than that of the bare median (binomial order
    # statistics, which need no shape) and holds the fitted one.
    rng = np.random.default_rng(2)
    times = drawn(rng, 200)[0]
    found = posterior(times, np.ones(200, dtype=np.bool_), side())
    low, high = (int(k) for k in stats.binom.ppf((0.025, 0.975), 200, 0.5))
    bare = np.sort(times)[[low, high]]
    assert found.likely.high - found.likely.low < 1.3 * (bare[1] - bare[0])
    assert bare[0] < found.likely.middle < bare[1]


@pytest.mark.parametrize(("hits", "of"), [(0, 12), (3, 20), (10, 10), (17, 60)])
def test_interval_of_a_share_against_statsmodels(hits: int, of: int) -> None:
    assert wilson(hits / of, of) == pytest.approx(proportion_confint(hits, of, 0.10, "wilson"), abs=1e-12)


@pytest.mark.parametrize("freedom", [1, 2, 3, 9, 14, 40, 250])
def test_student_against_scipy(freedom: int) -> None:
    for t in (0.0, 0.3, 1.0, 2.262, 5.0, 40.0):
        assert student_two_sided(t, freedom) == pytest.approx(2 * stats.t.sf(t, freedom), rel=1e-9)
    for share in (0.5, 0.9, 0.95, 0.975, 0.9995):
        assert student_quantile(share, freedom) == pytest.approx(stats.t.ppf(share, freedom), rel=1e-9, abs=1e-9)
    assert beta_share(2.5, 4, 0.3) == pytest.approx(stats.beta.cdf(0.3, 2.5, 4))


def test_tails_of_the_density_against_scipy() -> None:
    z = np.array([-30.0, -2.0, -0.1, 0.0, 0.7, 3.0, 9.0, 37.0, 60.0])
    assert log_upper_tail(z) == pytest.approx(stats.norm.logsf(z), rel=1e-3, abs=1e-12)
    assert log_heavy_density(z) == pytest.approx(stats.t.logpdf(z, 2))
    assert log_heavy_upper_tail(z) == pytest.approx(stats.t.logsf(z, 2), rel=1e-9)


@pytest.mark.parametrize("odds", [1 / 3, 0.5, 0.9])
def test_binomial_tail_against_scipy(odds: float) -> None:
    for of in (1, 7, 24, 100):
        for hits in range(of + 1):
            assert at_least(hits, of, odds) == pytest.approx(stats.binom.sf(hits - 1, of, odds), rel=1e-9)


TRIANGLE_5_PCT = {6: 5, 12: 8, 18: 10, 24: 13, 30: 15, 36: 18, 42: 20, 48: 22, 54: 25, 60: 27}
"""Least correct answers at 5 %, as tables of the ISO 4120 kind print them. From memory; the exact binomial below is the
check either way."""
PREFERENCE_5_PCT = {10: 9, 20: 15, 30: 21, 40: 27, 50: 33, 60: 39}
"""The same for a paired preference, two-sided at 5 %, as tables of the ISO 5495 kind print them. From memory."""


def test_critical_counts_of_the_triangle() -> None:
    for of, hits in TRIANGLE_5_PCT.items():
        assert critical_count(of, 1 / 3, 0.05) == hits
        assert stats.binomtest(hits, of, 1 / 3, "greater").pvalue <= 0.05
        assert stats.binomtest(hits - 1, of, 1 / 3, "greater").pvalue > 0.05


def test_critical_counts_of_the_paired_preference() -> None:
    for of, hits in PREFERENCE_5_PCT.items():
        assert critical_count(of, 0.5, 0.025) == hits
        assert stats.binomtest(hits, of, 0.5).pvalue <= 0.05
        assert stats.binomtest(hits - 1, of, 0.5).pvalue > 0.05


def test_too_few_tasters_can_show_nothing() -> None:
    assert critical_count(2, 1 / 3, 0.05) is None
    assert critical_count(3, 1 / 3, 0.05) == 3
    assert critical_count(5, 0.5, 0.025) is None
    assert critical_count(6, 0.5, 0.025) == 6


SLEEP = (1.2, 2.4, 1.3, 1.3, 0.0, 1.0, 1.8, 0.8, 4.6, 1.4)
"""Hours of sleep that one drug gave ten patients more than another: Student, The Probable Error of a Mean, Biometrika 6
(1908), 1 to 25, after Cushny and Peebles; differences as they are reprinted with R's data set `sleep`. From memory."""
DARWIN = (49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48)
"""Crossed less self-fertilised height of 15 pairs of maize, eighths of an inch: Darwin's, in Fisher, The Design of
Experiments (1935), chapter III. From memory."""


def test_a_paired_test_against_students_own_example() -> None:
    found = paired(SLEEP)
    assert found is not None
    assert found.mean == pytest.approx(1.58)
    assert found.chance == pytest.approx(0.002833, abs=5e-7)  # t = 4.0621 with 9 degrees of freedom
    assert (found.low, found.high) == pytest.approx((0.7001142, 2.4598858), abs=1e-6)
    reference = stats.ttest_1samp(SLEEP, 0)
    assert found.chance == pytest.approx(reference.pvalue)
    assert (found.low, found.high) == pytest.approx(tuple(reference.confidence_interval(0.95)))


def test_flips_of_signs_against_fishers_own_example() -> None:
    found = paired(DARWIN)
    assert found is not None
    assert sum(DARWIN) == 314
    # Fisher counts 1,726 of the 32,768 flips as far out as the one that was seen (5.267 %); Student's t gives 4.970 %.
    assert flip_odds(DARWIN) * 2**15 == pytest.approx(1726)
    assert found.chance == pytest.approx(0.0497, abs=5e-5)


def test_how_many_more_against_statsmodels() -> None:
    # An effect of half a standard deviation needs 34 pairs for odds of 4 in 5 (Cohen's d = 0.5, paired t test).
    asked = TTestPower().solve_power(effect_size=0.5, alpha=0.05, power=0.8)
    short = [0.5 + z for z in (-1.2, 1.2, -0.9, 0.9, -0.85, 0.85)]
    found = paired(short)
    assert found is not None
    assert found.more is not None
    effect = 0.5 / np.std(short, ddof=1)
    assert found.count + found.more == pytest.approx(TTestPower().solve_power(effect, alpha=0.05, power=0.8), abs=1.5)
    assert 33 < asked < 34


def test_interval_of_a_count_against_scipy() -> None:
    for hits, of in ((0, 9), (7, 20), (12, 12), (40, 61)):
        reference = stats.binomtest(hits, of).proportion_ci(0.95, "exact")
        assert share_interval(hits, of) == pytest.approx((reference.low, reference.high), abs=1e-9)
        assert preference(hits, of).chance == pytest.approx(stats.binomtest(hits, of).pvalue)
        assert triangle(hits, of).chance == pytest.approx(stats.binomtest(hits, of, 1 / 3, "greater").pvalue)


def test_several_questions_against_statsmodels() -> None:
    chances = [0.04, 0.001, 0.6, 0.02]
    assert holm(chances) == pytest.approx(multipletests(chances, method="holm")[1])
