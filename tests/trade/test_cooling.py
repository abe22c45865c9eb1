"""Rest, hold and chill: direction, limits and sentences."""

from __future__ import annotations

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.trade.cooling import (
    REST_KINDS,
    RestKind,
    after_rest,
    chill_outlook,
    depth_caution,
    hours_until,
    newton_f,
    rest_breach,
    rest_limit,
    two_point_rate,
)


@given(st.floats(140, 210), st.floats(30, 110), st.floats(0.01, 1), st.floats(0.1, 12))
def test_the_time_to_a_temperature_is_the_inverse_of_the_law(start: float, room: float, k: float, hours: float) -> None:
    there = newton_f(start, room, k, hours)
    if there > room + 0.01:
        assert hours_until(start, room, k, there) == pytest.approx(hours, rel=1e-6)


@given(st.floats(160, 210), st.floats(0, 600), st.sampled_from(REST_KINDS))
def test_rest_is_in_order_and_cools(pull_f: float, minutes: float, kind: RestKind) -> None:
    rest = after_rest(pull_f, minutes, kind)
    assert 70 < rest.quick_f <= rest.likely_f <= rest.slow_f <= pull_f
    limit = rest_limit(pull_f, kind)
    assert limit.quick_min is not None
    assert limit.slow_min is not None
    assert limit.quick_min <= limit.slow_min
    assert rest_breach(pull_f, limit.quick_min - 1, kind) is None
    assert rest_breach(pull_f, limit.quick_min + 2, kind) is not None


def test_a_better_wrap_holds_longer() -> None:
    limits = [rest_limit(203, kind).likely_min or 0 for kind in REST_KINDS]
    assert limits == sorted(limits)
    assert REST_KINDS == ("bare", "wrapped", "boxed")


def test_a_warm_room_never_brings_it_down() -> None:
    assert rest_limit(203, "bare", ambient_f=140).quick_min is None
    assert hours_until(203, 140, 0.3, 135) == inf
    assert hours_until(130, 70, 0.3, 135) == 0


def test_a_qualifying_roast_may_rest_longer() -> None:
    minutes = (rest_limit(180, "wrapped").quick_min or 0) + 5
    assert rest_breach(180, minutes) is not None
    assert rest_breach(180, minutes, qualifying_roast=True) is None


def test_chill_outlook_refuses_nonsense_and_says_what_will_break() -> None:
    with pytest.raises(ValueError, match="driving"):
        two_point_rate(135, 36, 1)
    with pytest.raises(ValueError, match="driving"):
        two_point_rate(135, 70, 0)
    warming = chill_outlook(100, 110, 1)
    assert warming.to_70_min is None
    assert len(warming.breaches) == 2
    warm_cooler = chill_outlook(135, 60, 1, driving_f=45)
    assert warm_cooler.to_41_min is None
    assert len(warm_cooler.breaches) == 1


def test_depth() -> None:
    assert depth_caution(2.9) is None
    assert "3 in" in (depth_caution(3.0) or "")
