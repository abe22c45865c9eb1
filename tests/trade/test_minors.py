"""Rules on people under 18: one test for nobody to protect, one for the forbidden, one for the allowed."""

from __future__ import annotations

from datetime import date, datetime, time
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.trade.minors import (
    KINDS,
    forbidden_task,
    hour_breaches,
    hour_limits,
    labor_day,
    youngest_age,
)

SATURDAY = date(2026, 4, 18)


def test_age_is_the_youngest_possible() -> None:
    assert youngest_age((2008, 2010), date(2026, 4, 18)) == 15
    assert youngest_age((2008, 2010), date(2026, 12, 30)) == 15
    assert youngest_age((2008, 2010), date(2026, 12, 31)) == 16
    assert youngest_age((2026, 2026), date(2026, 4, 18)) == 0


@pytest.mark.parametrize("years", [(2011, 2010), (2010, 2027)])
def test_impossible_birth_years_are_refused(years: tuple[int, int]) -> None:
    with pytest.raises(ValueError, match="birth years"):
        youngest_age(years, SATURDAY)


@pytest.mark.parametrize("kind", KINDS)
def test_adults_may_do_everything(kind: str) -> None:
    assert forbidden_task(18, kind, power_slicer=True) is None  # type: ignore[arg-type]


def test_power_slicer_is_forbidden_under_18() -> None:
    for age in (14, 15, 16, 17):
        sentence = forbidden_task(age, "slice", power_slicer=True)
        assert sentence is not None
        assert "570.61" in sentence
        assert "stricter" in sentence


def test_fire_and_pit_work_is_forbidden_under_16() -> None:
    for kind in ("light", "tend", "clean", "load", "wrap", "pull", "move"):
        assert forbidden_task(15, kind) is not None  # type: ignore[arg-type]
        assert forbidden_task(16, kind) is None  # type: ignore[arg-type]


def test_counter_and_hand_knife_are_allowed_at_14_and_nothing_at_13() -> None:
    assert forbidden_task(14, "counter") is None
    assert forbidden_task(14, "slice") is None
    assert all(forbidden_task(13, kind) for kind in KINDS)


def test_unknown_kind_of_task_is_refused() -> None:
    with pytest.raises(ValueError, match="juggle"):
        forbidden_task(15, "juggle")  # type: ignore[arg-type]


@given(st.integers(0, 80), st.sampled_from(KINDS), st.booleans())
def test_growing_older_never_forbids_more(age: int, kind: str, slicer: bool) -> None:
    if forbidden_task(age, kind, slicer) is None:  # type: ignore[arg-type]
        assert forbidden_task(age + 1, kind, slicer) is None  # type: ignore[arg-type]


def test_labor_day_is_the_first_monday_of_september() -> None:
    # 2026-09-07 and 2025-09-01 by the calendar.
    assert labor_day(2026) == date(2026, 9, 7)
    assert labor_day(2025) == date(2025, 9, 1)


def test_hour_limits_by_day_and_season() -> None:
    friday = hour_limits(15, date(2026, 4, 17))
    assert friday is not None
    assert (friday.day_max_min, friday.week_max_min, friday.latest) == (180, 18 * 60, time(19))
    saturday = hour_limits(15, SATURDAY)
    assert saturday is not None
    assert (saturday.day_max_min, saturday.school_hours) == (480, None)
    july = hour_limits(14, date(2026, 7, 3), school_in_session=False)
    assert july is not None
    assert (july.day_max_min, july.week_max_min, july.latest) == (480, 40 * 60, time(21))
    assert hour_limits(16, SATURDAY) is None


def test_no_shift_and_older_people_break_nothing() -> None:
    long_night = (datetime(2026, 4, 17, 20), datetime(2026, 4, 18, 6))
    assert hour_breaches((2010, 2011), []) == []
    assert hour_breaches((2008, 2009), [long_night]) == []


def test_allowed_saturday() -> None:
    assert hour_breaches((2011, 2011), [(datetime(2026, 4, 18, 9), datetime(2026, 4, 18, 17))]) == []


def test_night_school_day_and_week_limits_are_found() -> None:
    night = hour_breaches((2011, 2011), [(datetime(2026, 4, 18, 18), datetime(2026, 4, 19, 1))])
    assert [line.split(":")[0] for line in night] == ["on 2026-04-18", "on 2026-04-19"]
    school = hour_breaches((2011, 2011), [(datetime(2026, 4, 17, 14), datetime(2026, 4, 17, 18))])
    assert any("school hours" in line for line in school)
    assert any("more than 3 hours" in line for line in school)
    week = [(datetime(2026, 4, day, 9), datetime(2026, 4, day, 16, 30)) for day in (18, 19)]
    week += [(datetime(2026, 4, 17, 15), datetime(2026, 4, 17, 18))]
    assert hour_breaches((2011, 2011), week) == []
    week += [(datetime(2026, 4, 16, 16), datetime(2026, 4, 16, 16, 30))]
    assert ["more than 18 hours" in line for line in hour_breaches((2011, 2011), week)] == [True]


def test_a_shift_over_a_clock_change_counts_elapsed_time() -> None:
    # Clocks in Chicago go from 2 am to 3 am on 2026-03-08: 00:30 to 09:00 by the wall is 7.5 hours of work.
    zone = ZoneInfo("America/Chicago")
    shift = (datetime(2026, 3, 8, 0, 30, tzinfo=zone), datetime(2026, 3, 8, 9, 0, tzinfo=zone))
    found = hour_breaches((2011, 2011), [shift])
    assert not any("more than 8" in line for line in found)
    with pytest.raises(ValueError, match="ends before"):
        hour_breaches((2011, 2011), [(shift[1], shift[0])])


def test_half_an_hour_after_a_full_day_is_found_once() -> None:
    day = [
        (datetime(2026, 4, 18, 8), datetime(2026, 4, 18, 16)),
        (datetime(2026, 4, 18, 17), datetime(2026, 4, 18, 17, 30)),
    ]
    assert hour_breaches((2011, 2011), day[:1]) == []
    (found,) = hour_breaches((2011, 2011), day)
    assert "more than 8 hours" in found


def test_a_shift_in_the_hour_that_comes_twice_is_one() -> None:
    start, end = (
        datetime(2026, 11, 1, 1, m, tzinfo=ZoneInfo("America/Chicago"), fold=f) for m, f in ((45, 0), (15, 1))
    )
    assert hour_breaches((2011, 2011), [(start, end)])
