"""The odds of the service day against the closed form of the textbook.

Demand per span is Poisson with a rate that is Gamma: then, after so many sales, the rate is Gamma again (conjugate
prior; Gelman et al., Bayesian Data Analysis, 3rd edition, section 2.6), and what is still asked for is negative
binomial. The page gets there by weighting draws, knowing nothing of Gammas. From memory, checked against scipy.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from web.service_board import gone_odds, turned_away

SPANS, SHAPE, RATE = 20, 9.0, 1.5
DRAWS = 20_000
EXACT = 0.02
"""Three standard errors of a share of the draws, at the weights that come up here."""


def draws(seed: int) -> tuple[tuple[int, ...], ...]:
    rng = np.random.default_rng(seed)
    rates = rng.gamma(SHAPE, 1 / RATE, size=DRAWS)
    # Near-exact rates rather than counts: the likelihood is asked of the rate of the past spans.
    past = np.repeat(rates[:, None], SPANS // 2, axis=1) * 1000
    rest = rng.poisson(rates[:, None], size=(DRAWS, SPANS // 2)) * 1000
    both = np.concatenate([np.rint(past), rest], axis=1).astype(int)
    return tuple(map(tuple, both.tolist()))


def scaled(rows: tuple[tuple[int, ...], ...]) -> tuple[tuple[float, ...], ...]:
    return tuple(tuple(n / 1000 for n in row) for row in rows)


@pytest.mark.parametrize(("sold", "left"), [(40, 60), (60, 60), (75, 60), (60, 40), (60, 75)])
def test_odds_of_being_gone_are_those_of_the_conjugate_prior(sold: int, left: int) -> None:
    half = SPANS // 2
    shape, rate = SHAPE + sold, RATE + half
    exact = stats.nbinom.sf(left - 1, shape, rate / (rate + half))
    share, _ = gone_odds(scaled(draws(1)), float(half), sold, left)
    assert share == pytest.approx(exact, abs=EXACT)


def test_what_is_asked_for_in_vain_is_the_mean_of_the_rest() -> None:
    half, made = SPANS // 2, 60
    exact = (SHAPE + made) / (RATE + half) * half
    found = turned_away(scaled(draws(2)), float(half), made)
    assert found == pytest.approx(exact, rel=0.01)


def test_a_sure_day_is_told_for_sure() -> None:
    day = ((4,) * 10,) * 3
    assert gone_odds(day, 5.0, 20, 20) == (1.0, 10.0)
    assert gone_odds(day, 5.0, 20, 21) == (0.0, None)
    assert gone_odds(day, 5.0, 20, 10) == (1.0, 7.5)
    assert gone_odds(day, 5.5, 22, 2) == (1.0, 6.0)
    assert gone_odds(day, 5.0, 20, 0) == (1.0, 5.0)
