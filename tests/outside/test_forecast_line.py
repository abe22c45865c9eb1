"""The line alone against queueing theory, sales against closed forms.

Sources: Bronson, Schaum's Outline of Operations Research (1982), problems 23.16 (one server, 1 customer a minute,
service 45 s: Lq 2.25, Wq 2.25 min) and 24.6 (three servers, 300 arrivals a year, service 2 days: Lq 0.352, Wq 0.43
days); Render and Stair, alternative example 14.3 (two servers, 20 and 30 an hour: L 3/4); the closed forms of M/M/c
(Erlang C); the time of the n-th event of a Poisson stream is gamma distributed; what is sold of a stock is min(stock,
Poisson).
"""

from __future__ import annotations

from math import factorial

import forecast_kitchen as kitchen
import numpy as np
import pytest
from scipy import stats

from scheduler.forecast.service import Played, play

ERRORS = 4.0
"""Standard errors of the mean that a simulated figure may be off."""


def erlang_wait(rate: float, service: float, servers: int) -> float:
    """Mean wait in an M/M/c line: C(c, a) service / (c - a)."""
    a = rate * service
    last = a**servers / factorial(servers) * servers / (servers - a)
    waits = last / (sum(a**k / factorial(k) for k in range(servers)) + last)
    return waits * service / (servers - a)


Figure = tuple[float, float]
"""A simulated mean and its standard error."""


def waits(rate: float, service: float, servers: int, length: float, draws: int) -> tuple[Figure, Figure]:
    """Mean wait of long runs from an empty line, and people in line on average over time."""
    step = length / 50
    setup = kitchen.line(rate, length, draws=draws, cutters=servers, serve_min=service, step_min=step)
    played: Played = play(setup, seed=7)
    wait = played.cutting_wait_min
    in_line = wait * played.served / length
    error = 1 / np.sqrt(draws)
    return (float(wait.mean()), float(wait.std() * error)), (float(in_line.mean()), float(in_line.std() * error))


@pytest.mark.parametrize(
    ("rate", "service", "servers", "length", "printed_wait", "printed_line"),
    [
        (1.0, 0.75, 1, 6000.0, 2.25, 2.25),  # Bronson 23.16, minutes
        (300 / 365, 2.0, 3, 6000.0, 0.43, 0.352),  # Bronson 24.6, days
        (
            20 / 60,
            2.0,
            2,
            12000.0,
            0.25,
            0.75 - 2 / 3,
        ),  # Render and Stair alt. 14.3: L 3/4, so Lq = 3/4 - 2/3, Wq = 2.25 - 2 min
    ],
)
def test_worked_examples(
    rate: float, service: float, servers: int, length: float, printed_wait: float, printed_line: float
) -> None:
    exact = erlang_wait(rate, service, servers)
    assert exact == pytest.approx(printed_wait, abs=0.005)
    assert rate * exact == pytest.approx(printed_line, abs=0.0005)
    (wait, wait_error), (line, line_error) = waits(rate, service, servers, length, draws=60)
    print(f"M/M/{servers}: Wq {wait:.4f} (exact {exact:.4f}, standard error {wait_error:.4f}); ", end="")
    print(f"Lq {line:.4f} (exact {rate * exact:.4f}, standard error {line_error:.4f})")
    assert abs(wait - exact) <= ERRORS * wait_error
    assert abs(line - rate * exact) <= ERRORS * line_error
    assert wait_error < 0.03 * exact
    assert line_error < 0.03 * rate * exact


def test_the_time_of_the_nth_sale_is_gamma() -> None:
    """120 portions at 40 an hour are gone after 3 h, with a standard deviation of 16.4 min."""
    step = 0.25
    setup = kitchen.line(40 / 60, 480, draws=3000, stock=120, step_min=step)
    sold = np.cumsum(play(setup, seed=3).sold[0], axis=1)
    gone = (sold >= 120).argmax(axis=1) * step + step / 2
    law = stats.gamma(120, scale=60 / 40)
    assert law.mean() == 180
    assert law.std() == pytest.approx(16.4, abs=0.05)
    assert gone.mean() == pytest.approx(180, abs=ERRORS * 16.4 / np.sqrt(3000))
    assert stats.kstest(gone, law.cdf).pvalue > 0.001


@pytest.mark.parametrize(("mean", "stock"), [(10, 10), (20, 20), (20, 25), (100, 110)])
def test_sold_is_the_lesser_of_stock_and_demand(mean: float, stock: int) -> None:
    draws = 20_000
    played = play(kitchen.line(mean / 60, 60, draws=draws, stock=stock), seed=5)
    sold, missed = played.sold.sum(axis=(0, 2)), played.missed[0]
    counts = np.arange(0, 400)
    odds = stats.poisson.pmf(counts, mean)
    for found, exact in (
        (sold, np.minimum(counts, stock)),
        (missed, np.maximum(counts - stock, 0)),
        (stock - sold, np.maximum(stock - counts, 0)),
    ):
        expected = float((odds * exact).sum())
        spread = float(np.sqrt((odds * exact**2).sum() - expected**2))
        assert float(found.mean()) == pytest.approx(expected, abs=ERRORS * spread / np.sqrt(draws))
    assert (missed > 0).mean() == pytest.approx(float(stats.poisson.sf(stock, mean)), abs=0.015)
