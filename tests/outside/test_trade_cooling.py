"""Cooling against published rates and worked figures."""

from __future__ import annotations

import pytest

from scheduler.trade.cooling import (
    PRACTICE_K,
    chill_outlook,
    food_code_rates,
    hours_until,
    slab_k_per_h,
    two_point_rate,
)


@pytest.mark.parametrize(
    ("driving_f", "first", "second"),
    [(36, 0.232, 0.208), (37, 0.236, 0.229), (38, 0.241, 0.257), (40, 0.250, 0.369)],
)
def test_food_code_as_two_point_rates(driving_f: float, first: float, second: float) -> None:
    # Hedeen, Schaffner and Brown 2022, J. Environ. Health: [log10(T1-Tdf) - log10(T2-Tdf)] / dt; their target of about
    # 0.23 log10 per hour is from memory, the rows follow from the Food Code stages.
    assert food_code_rates(driving_f) == pytest.approx((first, second), abs=6e-4)


def test_about_one_rate_meets_both_stages() -> None:
    first, second = food_code_rates(37)
    assert (first, second) == pytest.approx((0.23, 0.23), abs=0.01)
    natural = [rate * 2.302585 for rate in (first, second)]
    assert natural == pytest.approx([0.544, 0.528], abs=2e-3)


def test_a_food_that_cools_at_the_rate_makes_both_stages_and_a_slower_one_does_not() -> None:
    fits = chill_outlook(135, 135 - 60, 2 * 0.8)
    assert fits.breaches == ()
    assert fits.to_70_min is not None
    assert fits.to_70_min <= 120
    slow = chill_outlook(135, 80, 2.5)
    assert len(slow.breaches) == 2
    assert two_point_rate(135, 70, 2) == pytest.approx(0.236, abs=1e-3)


@pytest.mark.parametrize(("goal_f", "hours"), [(165, 1.98), (140, 3.78), (135, 4.21)])
def test_worked_rest(goal_f: float, hours: float) -> None:
    # 203 F, room of 70 F, 0.17 per hour: calculated from Newton's law.
    assert hours_until(203, 70, 0.17, goal_f) == pytest.approx(hours, abs=0.006)


@pytest.mark.parametrize(("h", "k_per_h"), [(2, 0.05), (5, 0.11), (8, 0.16)])
def test_slab_theory_agrees_with_practice(h: float, k_per_h: float) -> None:
    # zeta1^2 a / L^2 with half thickness 4 cm, k 0.48, a 1.33e-7.
    assert slab_k_per_h(0.04, h, 0.48, 1.33e-7) == pytest.approx(k_per_h, abs=0.006)
    low, high = (PRACTICE_K["boxed"] if h == 2 else (0.10, 0, PRACTICE_K["wrapped"][2]))[::2]
    assert low <= slab_k_per_h(0.04, h, 0.48, 1.33e-7) <= high
