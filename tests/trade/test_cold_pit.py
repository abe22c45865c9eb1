"""How long a piece may stay in a dead smoker, by hand from the rules of the food code."""

from __future__ import annotations

import pytest

from scheduler.trade.cold_pit import cold_limit, regained
from scheduler.trade.cooling import rest_limit
from scheduler.trade.food_safety import RULES


def test_hot_meat_has_four_hours_and_should_go_before_135() -> None:
    """FDA Food Code 3-501.19(B): 4 hours; 135 F by quick cooling of a bare piece."""
    limit = cold_limit(170, 300, 0, 400, "bare")
    assert (limit.act_min, limit.off_min, limit.code) == (rest_limit(170, "bare").quick_min, 240, "TIME-4H")
    assert cold_limit(170, 300, 0, 400, "wrapped").act_min > limit.act_min


@pytest.mark.parametrize(("from_50", "to_130", "left"), [(60, 120, 180), (100, 50, 210), (0, 90, 240), (300, 120, 0)])
def test_coming_up_has_what_is_left_of_six_hours(from_50: float, to_130: float, left: int) -> None:
    """FSIS-GD-2021-14 p. 24: 50 to 130 F in 6 hours. Never more than the 4 hours without heat."""
    limit = cold_limit(100, from_50, to_130, 200, "bare")
    assert (limit.act_min, limit.off_min, limit.code) == (left, left, "COME-UP")


def test_raw_meat_has_four_hours_out_of_the_cooler() -> None:
    assert cold_limit(45, 0, 200, 30, "bare").off_min == 210
    assert cold_limit(45, 0, 200, 300, "bare").off_min == 0


def test_the_rules_are_those_that_are_explained() -> None:
    assert {cold_limit(f, 0, 0, 0, "bare").code for f in (40, 90, 160)} <= set(RULES)


def test_a_pause_is_lost_and_part_of_it_again() -> None:
    assert regained(40) == (0, 20, 40)
    assert regained(0) == (0, 0, 0)
