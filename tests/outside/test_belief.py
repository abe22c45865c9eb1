"""Updates of a finishing range against closed forms and a sampler.

Outside: the conjugate update of a normal mean by a normal reading with known deviation (textbook; from memory: the
precisions add up, the means are weighted by them), the truncated normal of SciPy, and importance sampling with NumPy.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from scheduler.trade.belief import Z90, Belief, Seen, after_readings, not_done_at

Floats = NDArray[np.float64]


def normal(mean: float, sd: float) -> Belief:
    return Belief(mean - Z90 * sd, mean, mean + Z90 * sd)


@pytest.mark.parametrize("minute", [500, 560, 600, 640, 700])
def test_not_done_yet_is_the_truncated_normal_of_scipy(minute: float) -> None:
    mean, sd = 600.0, 40.0
    left = stats.truncnorm((minute - mean) / sd, np.inf, loc=mean, scale=sd)
    found = not_done_at(normal(mean, sd), minute)
    assert (found.early, found.likely, found.late) == pytest.approx(tuple(left.ppf([0.1, 0.5, 0.9])), abs=0.01)


@pytest.mark.parametrize("shift", [-30.0, 0.0, 45.0])
@pytest.mark.parametrize("noise_f", [2.0, 6.0])
def test_a_reading_on_a_straight_line_is_the_conjugate_update(shift: float, noise_f: float) -> None:
    """A curve that is linear in the done time makes each reading a normal reading of the done time itself."""
    mean, sd, at, slope = 600.0, 40.0, 300.0, 0.2

    def line(share: Floats) -> Floats:
        done = at / share  # the cook began at 0, so this is the done time that is weighed
        return 150.0 - slope * (done - mean)

    seen = Seen(at, 150.0 - slope * shift)
    sd_of_reading = noise_f / slope
    precision = 1 / sd**2 + 1 / sd_of_reading**2
    right_sd = precision**-0.5
    right = (mean / sd**2 + (mean + shift) / sd_of_reading**2) / precision
    found = after_readings(normal(mean, sd), 0.0, [seen], line, noise_f)
    expected = (right - Z90 * right_sd, right, right + Z90 * right_sd)
    assert (found.early, found.likely, found.late) == pytest.approx(expected, abs=0.5)


def test_readings_on_a_plateau_agree_with_a_sampler() -> None:
    """Uneven range, bent curve, two readings: quantiles of 400,000 weighted samples of the prior."""
    prior = Belief(520.0, 600.0, 780.0)
    knots, temps = [0.0, 0.3, 0.6, 1.0], [38.0, 150.0, 160.0, 203.0]
    seen = [Seen(250.0, 152.0), Seen(420.0, 168.0)]

    def curve(share: Floats) -> Floats:
        return np.asarray(np.interp(share, knots, temps), dtype=np.float64)

    rng = np.random.default_rng(4)
    below, above = prior.sds
    drawn = np.abs(rng.standard_normal(400_000))
    late = rng.random(400_000) < 0.5
    done = np.where(late, prior.likely + above * drawn, prior.likely - below * drawn)
    weight = np.where(done > 420.0, 1.0, 0.0)
    for reading in seen:
        share = np.clip(reading.minute / np.maximum(done, 1.0), 0, 1)
        weight = weight * np.exp(-0.5 * ((reading.temp_f - curve(share)) / 6.0) ** 2)
    order = np.argsort(done)
    total = np.cumsum(weight[order]) / weight.sum()
    right = [float(done[order][np.searchsorted(total, q)]) for q in (0.1, 0.5, 0.9)]
    found = after_readings(prior, 0.0, seen, curve, 6.0)
    assert (found.early, found.likely, found.late) == pytest.approx(tuple(right), abs=1.5)


def test_a_reading_narrows_and_none_changes_nothing() -> None:
    prior = normal(600, 40)

    def rising(share: Floats) -> Floats:
        return 38.0 + 165.0 * share

    after = after_readings(prior, 0.0, [Seen(400.0, 38 + 165 * 400 / 600)], rising, 6.0)
    assert after.late - after.early < 0.8 * (prior.late - prior.early)
    assert after_readings(prior, 0.0, [], rising, 6.0) == prior


def test_a_reading_that_nothing_explains_leaves_not_done_yet() -> None:
    prior = normal(600, 1)
    found = after_readings(prior, 0.0, [Seen(900.0, 100.0)], lambda share: 200.0 * share, 6.0)
    assert found.early >= 900
