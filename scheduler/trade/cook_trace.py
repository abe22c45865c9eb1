"""Centre and surface temperature of one piece in a pit, minute by minute, from the slab model and a cut's figures."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import exp

import numpy as np

from scheduler.trade.cut_heat import (
    CONDUCTIVITY_FACTOR,
    PIT_H,
    PIT_HUMIDITY,
    RADIANT_F,
    WRAP_WETNESS,
    CutHeat,
    Wrap,
)
from scheduler.trade.properties import heat_properties
from scheduler.trade.psychrometrics import f_to_c, vapor_pressure_pa
from scheduler.trade.slab import Floats, SlabProperties, SlabStepper, Surroundings

LONGEST_MIN = 48 * 60
"""A piece that is not done by then never will be."""
MEAN_C = 60.0
"""Temperature at which heat properties are taken."""


@dataclass(frozen=True, slots=True)
class TraceInput:
    """One piece in one pit. `wrap_f` is the centre temperature at which it is wrapped, `wrap_min` the minute; one or
    none.
    """

    cut: CutHeat
    half_thickness_m: float
    pit_f: float
    start_f: float
    done_f: float
    wrap: Wrap = "none"
    wrap_f: float | None = None
    wrap_min: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Trace:
    """The course of one cook: minutes, centre and surface (F), when it was wrapped (None if never) and done."""

    minutes: Floats
    centre_f: Floats
    surface_f: Floats
    wrap_min: float | None
    done_min: float
    water_share: float
    """Water lost at the surface over the weight of the piece."""

    def minute_at(self, centre_f: float) -> float:
        """Minute at which the centre first reaches a temperature; the done minute if it does not before."""
        reached = np.flatnonzero(self.centre_f >= centre_f)
        if not len(reached):
            return self.done_min
        i = int(reached[0])
        if i == 0:
            return 0.0
        rise = float(self.centre_f[i] - self.centre_f[i - 1])
        share = (centre_f - float(self.centre_f[i - 1])) / rise
        return float(self.minutes[i - 1] + share * (self.minutes[i] - self.minutes[i - 1]))

    def band_min(self, low_f: float, high_f: float) -> float:
        """Minutes that the centre takes from one temperature to the other."""
        return self.minute_at(high_f) - self.minute_at(low_f)


def _step_s(half_thickness_m: float) -> float:
    return float(np.clip(30.0 * (half_thickness_m / 0.03) ** 2, 5.0, 30.0))


def _wraps_now(asked: TraceInput, minute: float, centre_c: float) -> bool:
    if asked.wrap == "none":
        return False
    if asked.wrap_min is not None:
        return minute >= asked.wrap_min
    return asked.wrap_f is not None and centre_c >= f_to_c(asked.wrap_f)


@lru_cache(maxsize=256)
def trace(asked: TraceInput) -> Trace:
    """Runs one piece until its centre reaches `done_f`. ValueError if it never does in this pit."""
    heat = heat_properties(asked.cut.composition, MEAN_C)
    slab = SlabProperties(asked.half_thickness_m, heat.conductivity * CONDUCTIVITY_FACTOR, heat.volume_heat)
    step_s = _step_s(asked.half_thickness_m)
    air = Surroundings(f_to_c(asked.pit_f + RADIANT_F), PIT_H, vapor_pressure_pa(PIT_HUMIDITY))
    stepper = SlabStepper(slab, air, step_s)
    mass = heat.density * asked.half_thickness_m
    crust_water = asked.cut.water_share * mass
    done_c = f_to_c(asked.done_f)
    temps = np.full(slab.cells + 1, f_to_c(asked.start_f))
    course = [(float(temps[0]), float(temps[-1]))]
    water, wrapped_at = 0.0, None
    for i in range(1, int(LONGEST_MIN * 60 / step_s)):
        if wrapped_at is None and _wraps_now(asked, (i - 1) * step_s / 60, course[-1][0]):
            wrapped_at = (i - 1) * step_s / 60
        wetness = asked.cut.wetness * exp(-water / crust_water)
        if wrapped_at is not None:
            wetness *= WRAP_WETNESS[asked.wrap]
        temps, lost = stepper.step(temps, wetness)
        water += lost
        course.append((float(temps[0]), float(temps[-1])))
        if course[-1][0] >= done_c:
            return _finished(course, done_c, step_s, wrapped_at, water / mass)
    raise ValueError(
        f"{asked.cut.name} does not reach {asked.done_f:g} F within {LONGEST_MIN // 60} hours in a pit of "
        f"{asked.pit_f:g} F"
    )


def _finished(
    course: list[tuple[float, float]], done_c: float, step_s: float, wrapped_at: float | None, water_share: float
) -> Trace:
    array = np.array(course) * 1.8 + 32
    minutes = np.arange(len(course)) * step_s / 60
    before, last = course[-2][0], course[-1][0]
    share = (done_c - before) / (last - before) if last > before else 1.0
    minutes[-1] = minutes[-2] + share * step_s / 60
    array[-1] = array[-2] + share * (array[-1] - array[-2])
    return Trace(minutes, array[:, 0], array[:, 1], wrapped_at, float(minutes[-1]), water_share)
