"""A slab of meat in a pit, by numbers: conduction inside, heat from air and fire, water leaving its surface.

Half of the slab is cut into cells of equal thickness, nodes on centre and surface (finite volumes). Each step is fully
implicit, so hotter air can never give a colder node. The surface balance

    heat from the pit  =  heat into the meat  +  heat taken by evaporating water

is solved exactly in each step. Evaporation follows the vapor pressure at the surface, times a wetness between 0 and 1
(a free water surface is 1). Wet bulb explains the direction of the plateau, not its level: a free water surface would
settle at 110 to 137 F in a pit, barbecue is seen to stall at 150 to 170 F, so wetness is a tuned figure (`cuts`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import exp

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

PSYCHROMETRIC_PA_PER_K = 64.0
"""Vapor-pressure step that costs as much heat as 1 K by convection: p cp Le^(2/3) / (0.622 x latent heat), at 1 atm
with 2.33 MJ/kg and a Lewis factor of 0.91."""
LATENT_J_PER_KG = 2.33e6


def saturation_pa(temp_c: float) -> float:
    """Vapor pressure of water, Pa, by the Magnus form (from memory; within 3 % from 0 to 100 C)."""
    return 610.94 * exp(17.625 * temp_c / (temp_c + 243.04))


def _saturation_slope(temp_c: float, pressure_pa: float) -> float:
    return pressure_pa * 17.625 * 243.04 / (temp_c + 243.04) ** 2


@dataclass(frozen=True, slots=True)
class SlabProperties:
    """One slab: half thickness (m), conductivity (W/mK), heat capacity by volume (J/m3K), cells of the half."""

    half_thickness_m: float
    conductivity: float
    volume_heat: float
    cells: int = 12


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What the surface sees: air (C), heat transfer by convection and radiation (W/m2K), water vapor in the air
    (Pa).
    """

    air_c: float
    h: float
    vapor_pa: float = 0.0


class SlabStepper:
    """Advances a slab by one length of step (s) in fixed surroundings."""

    def __init__(
        self, slab: SlabProperties, around: Surroundings, step_s: float, convective_share: float = 0.5
    ) -> None:
        n = slab.cells
        dx = slab.half_thickness_m / n
        mass = np.full(n + 1, slab.volume_heat * dx / step_s)
        mass[[0, -1]] /= 2
        link = slab.conductivity / dx
        matrix = np.diag(mass) + 2 * link * np.eye(n + 1)
        matrix[0, 0] -= link
        matrix[-1, -1] += around.h - link
        matrix -= link * (np.eye(n + 1, k=1) + np.eye(n + 1, k=-1))
        inverse = np.linalg.inv(matrix)
        self._carry = inverse * mass
        self._gain = inverse[:, -1].copy()
        self._warm = around.h * around.air_c * self._gain
        self._surface_gain = float(self._gain[-1])
        self._vapor_pa = around.vapor_pa
        self._per_pa = around.h * convective_share / PSYCHROMETRIC_PA_PER_K
        self._step_s = step_s

    def step(self, temps_c: Floats, wetness: float = 0.0) -> tuple[Floats, float]:
        """Temperatures from centre to surface after one step, and water lost (kg/m2) in it."""
        dry = self._carry @ temps_c + self._warm
        if wetness <= 0:
            return dry, 0.0
        loss = self._evaporation(float(dry[-1]), wetness * self._per_pa)
        return dry - loss * self._gain, loss * self._step_s / LATENT_J_PER_KG

    def _evaporation(self, dry_surface_c: float, per_pa: float) -> float:
        """Heat (W/m2) taken by evaporation at the end of the step; none while vapor would condense."""
        # Newton from above on a convex rising function, so it never overshoots.
        surface = dry_surface_c
        for _ in range(30):
            pressure = saturation_pa(surface)
            if pressure <= self._vapor_pa and surface >= dry_surface_c:
                return 0.0
            loss = per_pa * (pressure - self._vapor_pa)
            error = surface - dry_surface_c + self._surface_gain * loss
            slope = 1 + self._surface_gain * per_pa * _saturation_slope(surface, pressure)
            surface -= error / slope
            if abs(error) < 1e-7:
                break
        return max(0.0, (dry_surface_c - surface) / self._surface_gain)


def run_dry(
    slab: SlabProperties, around: Surroundings, start_c: float, length_s: float, steps: int
) -> tuple[Floats, Floats]:
    """Times (s) and temperatures (C, centre to surface) of a slab without evaporation, for comparison with the
    series.
    """
    stepper = SlabStepper(slab, around, length_s / steps)
    temps = np.full(slab.cells + 1, start_c)
    kept = [temps]
    for _ in range(steps):
        temps, _water = stepper.step(temps)
        kept.append(temps)
    return np.linspace(0.0, length_s, steps + 1), np.array(kept)


def plateau_c(around: Surroundings, wetness: float, convective_share: float = 0.5) -> float:
    """Surface temperature (C) at which evaporation takes all heat from the pit: a thin, well-stirred wet bulb."""

    def surplus(surface_c: float) -> float:
        per_pa = around.h * convective_share * wetness / PSYCHROMETRIC_PA_PER_K
        return around.h * (around.air_c - surface_c) - per_pa * (saturation_pa(surface_c) - around.vapor_pa)

    return _falling_root(surplus, 0.0, around.air_c)


def _falling_root(function: Callable[[float], float], low: float, high: float) -> float:
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if function(middle) > 0 else (low, middle)
    return (low + high) / 2
