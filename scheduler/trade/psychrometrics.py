"""Wet bulb of air up to smoker temperatures.

Equations of the ASHRAE Fundamentals handbook, psychrometrics chapter (from memory), with the Hyland and Wexler
formula for the vapor pressure of water. Short fits made for weather, such as Stull 2011 (-20 to 50 C), must not be
used in a pit. In a pit the wet bulb gives the direction of the plateau (more humid is higher), not its level.
"""

from __future__ import annotations

from math import atan, exp, log, sqrt

STANDARD_PA = 101325.0
WATER_TO_AIR = 0.621945
LOWEST_C, HIGHEST_C = 0.0, 200.0


def f_to_c(temp_f: float) -> float:
    """Degrees F to C."""
    return (temp_f - 32) / 1.8


def c_to_f(temp_c: float) -> float:
    """Degrees C to F."""
    return temp_c * 1.8 + 32


def saturation_pressure_pa(temp_c: float) -> float:
    """Vapor pressure over water (Pa), 0 to 200 C: Hyland and Wexler 1983 (from memory). ValueError outside."""
    if not LOWEST_C <= temp_c <= HIGHEST_C:
        raise ValueError(f"this vapor pressure is for 0 to 200 C, not {temp_c}")
    k = temp_c + 273.15
    return exp(
        -5.8002206e3 / k + 1.3914993 - 4.8640239e-2 * k + 4.1764768e-5 * k**2 - 1.4452093e-8 * k**3 + 6.5459673 * log(k)
    )


def humidity_ratio(temp_c: float, rh_pct: float, pressure_pa: float = STANDARD_PA) -> float:
    """kg of water per kg of dry air at a relative humidity. ValueError where that much vapor cannot be at this
    pressure.
    """
    if not 0 <= rh_pct <= 100:
        raise ValueError(f"relative humidity is 0 to 100 per cent, not {rh_pct}")
    vapor = rh_pct / 100 * saturation_pressure_pa(temp_c)
    if vapor >= pressure_pa:
        raise ValueError(f"air of {temp_c} C cannot hold {rh_pct} per cent at {pressure_pa} Pa")
    return WATER_TO_AIR * vapor / (pressure_pa - vapor)


def vapor_pressure_pa(ratio: float, pressure_pa: float = STANDARD_PA) -> float:
    """Partial pressure (Pa) of water in air of a humidity ratio (kg/kg dry air)."""
    return pressure_pa * ratio / (WATER_TO_AIR + ratio)


def _ratio_at_wet_bulb(temp_c: float, wet_c: float, pressure_pa: float) -> float:
    vapor = saturation_pressure_pa(wet_c)
    saturated = WATER_TO_AIR * vapor / (pressure_pa - vapor)
    return ((2501 - 2.326 * wet_c) * saturated - 1.006 * (temp_c - wet_c)) / (2501 + 1.86 * temp_c - 4.186 * wet_c)


def wet_bulb_c(temp_c: float, ratio: float, pressure_pa: float = STANDARD_PA) -> float:
    """Wet bulb (C) of air at `temp_c` with `ratio` kg of water per kg of dry air.

    ValueError if the air holds more than it can, or is so dry and cold that the wet bulb is below freezing.
    """
    low = 0.0
    high = min(temp_c, _boiling_c(pressure_pa) - 1e-6)
    if ratio < _ratio_at_wet_bulb(temp_c, low, pressure_pa):
        raise ValueError("the wet bulb of this air is below freezing")
    if high == temp_c and ratio > _ratio_at_wet_bulb(temp_c, high, pressure_pa) * (1 + 1e-9):
        raise ValueError(f"air of {temp_c} C cannot hold {ratio} kg/kg")
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if _ratio_at_wet_bulb(temp_c, middle, pressure_pa) < ratio else (low, middle)
    return (low + high) / 2


def pit_wet_bulb_f(pit_f: float, ratio: float, pressure_pa: float = STANDARD_PA) -> float:
    """Wet bulb (F) in a pit at `pit_f` with `ratio` kg of water per kg of dry air (0.03 to 0.10 is usual)."""
    return c_to_f(wet_bulb_c(f_to_c(pit_f), ratio, pressure_pa))


def most_humid_pct(temp_f: float, pressure_pa: float = STANDARD_PA) -> float:
    """Highest relative humidity (per cent) that open air of a temperature (F) can have: pure steam above 212 F."""
    return min(100.0, 100 * pressure_pa / saturation_pressure_pa(f_to_c(temp_f)))


def _boiling_c(pressure_pa: float) -> float:
    low, high = LOWEST_C, HIGHEST_C
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if saturation_pressure_pa(middle) < pressure_pa else (low, middle)
    return (low + high) / 2


def wet_bulb_weather_c(temp_c: float, rh_pct: float) -> float:
    """Wet bulb (C) of weather air by Stull 2011, J. Appl. Meteor. Climatol. 50:2267, near sea level.

    ValueError outside -20 to 50 C and 5 to 99 per cent, where it is wrong.
    """
    if not (-20 <= temp_c <= 50 and 5 <= rh_pct <= 99):
        raise ValueError("this fit is for -20 to 50 C and 5 to 99 per cent humidity; use wet_bulb_c in a pit")
    return (
        temp_c * atan(0.151977 * sqrt(rh_pct + 8.313659))
        + atan(temp_c + rh_pct)
        - atan(rh_pct - 1.676331)
        + 0.00391838 * rh_pct * sqrt(rh_pct) * atan(0.023101 * rh_pct)
        - 4.686035
    )
