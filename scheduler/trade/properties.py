"""Heat properties of meat from its composition.

Conductivity, density and heat capacity of each component by Choi and Okos (1986), valid from -40 to 150 C (here 0 C
up), mixed by mass (heat capacity), by specific volume (density) and by volume share (conductivity). For cooked and
cooking meat the mixing rule runs 5 to 15 % above measured diffusivity (1.23 to 1.33e-7 m2/s for beef from 40 to 65 C).
"""

from __future__ import annotations

from dataclasses import dataclass, fields

Cubic = tuple[float, float, float]
"""Constant, slope and square term in degrees C."""

CONDUCTIVITY: dict[str, Cubic] = {
    "water": (0.57109, 1.7625e-3, -6.7036e-6),
    "protein": (0.17881, 1.1958e-3, -2.7178e-6),
    "fat": (0.18071, -2.7604e-4, -1.7749e-7),
    "carbohydrate": (0.20141, 1.3874e-3, -4.3312e-6),
    "fiber": (0.18331, 1.2497e-3, -3.1683e-6),
    "ash": (0.32962, 1.4011e-3, -2.9069e-6),
}
"""W/mK."""

DENSITY: dict[str, Cubic] = {
    "water": (997.18, 3.1439e-3, -3.7574e-3),
    "protein": (1329.9, -0.51840, 0.0),
    "fat": (925.59, -0.41757, 0.0),
    "carbohydrate": (1599.1, -0.31046, 0.0),
    "fiber": (1311.5, -0.36589, 0.0),
    "ash": (2423.8, -0.28063, 0.0),
}
"""kg/m3."""

HEAT_CAPACITY: dict[str, Cubic] = {
    "water": (4.1762, -9.0864e-5, 5.4731e-6),
    "protein": (2.0082, 1.2089e-3, -1.3129e-6),
    "fat": (1.9842, 1.4733e-3, -4.8008e-6),
    "carbohydrate": (1.5488, 1.9625e-3, -5.9399e-6),
    "fiber": (1.8459, 1.8306e-3, -4.6509e-6),
    "ash": (1.0926, 1.8896e-3, -3.6817e-6),
}
"""kJ/kgK."""

LOWEST_C, HIGHEST_C = 0.0, 150.0


@dataclass(frozen=True, slots=True)
class Composition:
    """Grams in 100 g; what is missing to 100 is left out, all shares are of the sum."""

    water: float
    protein: float
    fat: float
    carbohydrate: float = 0.0
    fiber: float = 0.0
    ash: float = 0.0

    def shares(self) -> dict[str, float]:
        """Mass share of each component, summing to 1. ValueError if a component is negative or all are 0."""
        amounts = {field.name: float(getattr(self, field.name)) for field in fields(self)}
        total = sum(amounts.values())
        if min(amounts.values()) < 0 or total <= 0:
            raise ValueError("a composition needs amounts that are 0 or more, and something in it")
        return {name: amount / total for name, amount in amounts.items()}


BRISKET = Composition(61.08, 18.42, 19.06, ash=0.88)
"""Whole brisket, lean and fat, 1/8 inch trim, raw: USDA SR26, NDB 13803."""
BRISKET_LEAN = Composition(70.29, 20.72, 7.37, ash=1.02)
"""NDB 13023."""
PORK_BUTT = Composition(69.18, 17.42, 12.36, ash=0.83)
"""Boston butt blade steak, raw: NDB 10080."""
SPARE_RIBS = Composition(59.75, 15.47, 23.40, ash=0.67)
"""NDB 10088."""
SHORT_RIBS = Composition(48.29, 14.40, 36.23, ash=0.68)
"""Beef rib short ribs, raw: NDB 13147."""
TURKEY_BREAST = Composition(74.89, 23.66, 1.48, ash=1.04)
"""NDB 5219."""
CHICKEN = Composition(65.99, 18.60, 15.06, ash=0.79)
"""Broiler, meat and skin, raw: NDB 5006."""
FAT_TRIM = Composition(20.21, 8.21, 70.89, ash=0.28)
"""Beef separable fat, raw: NDB 13019."""


@dataclass(frozen=True, slots=True)
class HeatProperties:
    """Conductivity W/mK, density kg/m3, heat capacity kJ/kgK."""

    conductivity: float
    density: float
    heat_capacity: float

    @property
    def diffusivity(self) -> float:
        """m2/s."""
        return self.conductivity / (self.density * self.heat_capacity * 1000)

    @property
    def volume_heat(self) -> float:
        """Heat to warm a cubic meter by 1 K, J."""
        return self.density * self.heat_capacity * 1000


def _at(table: dict[str, Cubic], name: str, temp_c: float) -> float:
    constant, slope, square = table[name]
    return constant + slope * temp_c + square * temp_c**2


def heat_properties(composition: Composition, temp_c: float) -> HeatProperties:
    """Properties at a temperature (C), by Choi and Okos (1986). ValueError outside 0 to 150 C (no ice here)."""
    if not LOWEST_C <= temp_c <= HIGHEST_C:
        raise ValueError(f"these properties are for 0 to 150 C, not {temp_c}")
    shares = {name: share for name, share in composition.shares().items() if share > 0}
    volume = {name: share / _at(DENSITY, name, temp_c) for name, share in shares.items()}
    total_volume = sum(volume.values())
    return HeatProperties(
        conductivity=sum(v / total_volume * _at(CONDUCTIVITY, name, temp_c) for name, v in volume.items()),
        density=1 / total_volume,
        heat_capacity=sum(share * _at(HEAT_CAPACITY, name, temp_c) for name, share in shares.items()),
    )
