"""How many to cook against published newsvendor answers, and Poisson demand against printed tables.

Sources: Cachon and Terwiesch, Matching Supply with Demand, 3rd ed., solutions to question 12.1 (D normal with mean 200
and sd 80; price 20, cost 12, salvage 8: order 235.2 with z from the table rounded up to 0.44, P(D > 400) = 0.0062,
P(D < 100) = 0.1056); the closed forms of the newsvendor for the normal distribution by scipy; cumulative Poisson
tables as printed in statistics texts: P(X <= 3) = 0.8571 at mean 2, P(X <= 5) = 0.6160 and P(X <= 8) = 0.9319 at mean
5, P(X <= 6) = 0.6063 at mean 6, p(10) = 0.1251 at mean 10, p(5) = 0.1755 at mean 5.
"""

from __future__ import annotations

from datetime import datetime

import forecast_kitchen as kitchen
import numpy as np
import pytest
from scipy import stats

from scheduler.forecast.special import poisson_pmf
from scheduler.forecast.worth import Wanted, WaveDraws
from scheduler.model.weekend import Wave

DRAWS = 100_000


def draws_of(mean: float, sd: float, **changes: int) -> WaveDraws:
    wanted = np.random.default_rng(1).normal(mean, sd, (DRAWS, 1))
    wave = Wave(cut="links", at=datetime(2026, 6, 13, 11), pieces=1)
    return WaveDraws(kitchen.cut(**changes), (wave,), wanted, (False,))


def test_cachon_and_terwiesch_question_12_1() -> None:
    found = draws_of(200, 80)
    pieces = Wanted(found, found.curve()).pieces
    # Sampling error of the quantile: sqrt(p (1 - p) / n) over the density there; four of them are allowed.
    exact = stats.norm.ppf(2 / 3, 200, 80)
    error = np.sqrt(2 / 9 / DRAWS) / stats.norm.pdf(exact, 200, 80)
    assert exact == pytest.approx(234.46, abs=0.005)
    assert abs(pieces - exact) <= 4 * error + 1  # whole pieces
    assert pieces == pytest.approx(235.2, abs=2.0)  # as printed, z rounded up
    assert (found.wanted > 400).mean() == pytest.approx(0.0062, abs=0.001)
    assert (found.wanted < 100).mean() == pytest.approx(0.1056, abs=0.004)


def test_expected_profit_at_the_best_quantity() -> None:
    """Profit = cu * mean - (cu + co) * sd * pdf(z): 1,250.94 (closed form, with leftovers of 52.06 and 17.60 lost)."""
    found = draws_of(200, 80)
    z = stats.norm.ppf(2 / 3)
    exact = 8 * 200 - 12 * 80 * stats.norm.pdf(z)
    assert exact == pytest.approx(1250.94, abs=0.05)
    assert found.value_cents([200 + 80 * z]) / 100 == pytest.approx(exact, rel=0.005)


@pytest.mark.parametrize(
    ("price", "leftover", "best", "profit"),
    [(14000, 9000, 1168.3, 37_200), (13000, 8000, 1050.7, 26_137)],
)
def test_class_problems_with_a_thousand_pieces(price: int, leftover: int, best: float, profit: float) -> None:
    """D normal (1000, 200), cost 100: answers by the closed form; one more and one less in a hundred earn less."""
    found = draws_of(1000, 200, price_cents=price, cost_cents=10_000, leftover_cents=leftover)
    assert found.value_cents([best]) / 100 == pytest.approx(profit, rel=0.005)
    for other in (best * 0.93, best * 1.07):
        assert found.value_cents([other]) < found.value_cents([best])


@pytest.mark.parametrize(
    ("mean", "most", "printed"),
    [(2, 3, 0.8571), (5, 5, 0.6160), (5, 8, 0.9319), (6, 6, 0.6063)],
)
def test_cumulative_poisson_as_printed(mean: float, most: int, printed: float) -> None:
    assert poisson_pmf(mean, most).sum() == pytest.approx(printed, abs=5e-5)


def test_single_poisson_terms_as_printed() -> None:
    assert poisson_pmf(10, 10)[10] == pytest.approx(0.1251, abs=5e-5)
    assert poisson_pmf(5, 5)[5] == pytest.approx(0.1755, abs=5e-5)
