"""Wet bulb against a reference library, steam tables and published check values.

PIT was calculated once with the open library psychrolib 2.5.0 (ASHRAE Fundamentals equations), from degrees F and
humidity ratio. Its cells for 300 F from 0.10 on are missing: there that version answers with the pit temperature.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.trade.psychrometrics import (
    f_to_c,
    humidity_ratio,
    most_humid_pct,
    pit_wet_bulb_f,
    saturation_pressure_pa,
    vapor_pressure_pa,
    wet_bulb_c,
    wet_bulb_weather_c,
)

RATIOS = (0.02, 0.04, 0.06, 0.08, 0.10, 0.15, 0.20)
PIT = {
    225: (104.13, 114.29, 122.17, 128.55, 133.88, 144.20, 151.78),
    250: (107.35, 116.85, 124.29, 130.38, 135.49, 145.45, 152.81),
    275: (110.32, 119.23, 126.30, 132.12, 137.03, 146.65, 153.80),
    300: (113.08, 121.48, 128.20, 133.77),
}


@pytest.mark.parametrize(
    ("pit_f", "ratio", "wet_f"), [(t, w, v) for t, row in PIT.items() for w, v in zip(RATIOS, row, strict=False)]
)
def test_pit_wet_bulb_against_the_library(pit_f: float, ratio: float, wet_f: float) -> None:
    assert pit_wet_bulb_f(pit_f, ratio) == pytest.approx(wet_f, abs=0.02)


@pytest.mark.parametrize(("ratio", "wet_f"), [(0.10, 138), (0.15, 148), (0.20, 155)])
def test_hot_and_humid_pit_against_the_formula(ratio: float, wet_f: float) -> None:
    # Worked out by hand from the ASHRAE equations, to whole degrees.
    assert pit_wet_bulb_f(300, ratio) == pytest.approx(wet_f, abs=0.6)


@pytest.mark.parametrize(
    ("temp_c", "rh_pct", "wet_c"), [(20, 50, 13.78), (30, 50, 22.00), (40, 20, 22.03), (50, 10, 23.77)]
)
def test_weather_wet_bulb_by_the_full_equations(temp_c: float, rh_pct: float, wet_c: float) -> None:
    assert wet_bulb_c(temp_c, humidity_ratio(temp_c, rh_pct)) == pytest.approx(wet_c, abs=0.006)


@pytest.mark.parametrize(("temp_c", "rh_pct", "wet_c"), [(20, 50, 13.70), (25, 25, 13.59), (30, 50, 22.30)])
def test_the_short_fit_of_stull_2011(temp_c: float, rh_pct: float, wet_c: float) -> None:
    # J. Appl. Meteor. Climatol. 50:2267; 13.7 C at 20 C and 50 % is the paper's own example. Its error is -1 to
    # +0.65 C.
    assert wet_bulb_weather_c(temp_c, rh_pct) == pytest.approx(wet_c, abs=0.006)
    full = wet_bulb_c(temp_c, humidity_ratio(temp_c, rh_pct))
    assert -1.0 <= wet_bulb_weather_c(temp_c, rh_pct) - full <= 0.65


def test_the_short_fit_is_refused_in_a_pit() -> None:
    with pytest.raises(ValueError, match="pit"):
        wet_bulb_weather_c(f_to_c(250), 10)


@pytest.mark.parametrize(
    ("temp_c", "kpa"), [(20, 2.339), (40, 7.384), (60, 19.94), (80, 47.39), (100, 101.4), (120, 198.5)]
)
def test_vapor_pressure_against_steam_tables(temp_c: float, kpa: float) -> None:
    # Steam tables, from memory.
    assert saturation_pressure_pa(temp_c) / 1000 == pytest.approx(kpa, rel=1.5e-3)


@pytest.mark.parametrize(("temp_f", "pct"), [(225, 78), (250, 49), (275, 32), (300, 22)])
def test_most_humid_air_above_boiling(temp_f: float, pct: float) -> None:
    # FSIS-GD-2021-14 p. 43: 90 % relative humidity cannot be reached above 212 F; the numbers follow from vapor
    # pressure.
    assert most_humid_pct(temp_f) == pytest.approx(pct, abs=0.7)
    assert most_humid_pct(temp_f) < 90
    assert most_humid_pct(200) == 100


@given(st.floats(200, 350), st.floats(0.005, 0.3), st.floats(1.01, 1.5))
def test_more_humid_and_hotter_air_has_a_higher_wet_bulb(pit_f: float, ratio: float, more: float) -> None:
    here = pit_wet_bulb_f(pit_f, ratio)
    assert pit_wet_bulb_f(pit_f, ratio * more) > here
    assert pit_wet_bulb_f(pit_f + 10, ratio) > here
    assert here < pit_f
    assert vapor_pressure_pa(ratio) < saturation_pressure_pa(f_to_c(pit_f))


def test_air_that_cannot_be_is_refused() -> None:
    for call in (
        lambda: humidity_ratio(120, 100),
        lambda: humidity_ratio(20, 101),
        lambda: saturation_pressure_pa(250),
        lambda: wet_bulb_c(20, 0.1),
        lambda: wet_bulb_c(1, 0.0),
    ):
        with pytest.raises(ValueError, match=r"cannot hold|per cent|200 C|freezing"):
            call()
