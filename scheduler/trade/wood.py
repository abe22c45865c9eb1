"""Wood: pounds for a burn, from what the pit loses and from common practice, and cords to order.

Heat figures of dry and seasoned wood and cord weights: extension-type tables (seen in a secondary copy). Pounds per
hour and warm-up times are common practice, no source. Log what you burn and prefer that.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import Literal, get_args

PitSize = Literal["small offset", "250 gal", "500 gal", "1,000 gal"]
PIT_SIZES: tuple[PitSize, ...] = get_args(PitSize)
Species = Literal["white oak", "red oak", "shagbark hickory"]
SPECIES: tuple[Species, ...] = get_args(Species)

OVEN_DRY_BTU_PER_LB = 8600.0
SEASONED_BTU_PER_LB = 7000.0
"""At 20 % moisture."""
SEASONED_PCT = 20.0
WETTEST_PCT = 60.0

CORD_LB: dict[Species, tuple[float, float]] = {
    "white oak": (3863.0, 4942.0),
    "red oak": (3609.0, 4988.0),
    "shagbark hickory": (4160.0, 4980.0),
}
"""Pounds of a cord at 20 % moisture and green."""

Triple = tuple[float, float, float]
"""Low, likely, high."""

LB_PER_H: dict[PitSize, Triple] = {
    "small offset": (3, 5, 8),
    "250 gal": (6, 10, 15),
    "500 gal": (10, 16, 25),
    "1,000 gal": (15, 25, 40),
}
WARM_UP_MIN: dict[PitSize, Triple] = {
    "small offset": (30, 50, 75),
    "250 gal": (45, 70, 100),
    "500 gal": (60, 90, 120),
    "1,000 gal": (75, 105, 150),
}
"""Cold pit to a steady cooking temperature; the 250 gal row lies between its neighbors."""
SPLIT_LB: Triple = (2, 4, 7)

STEEL_BTU_PER_LB_F = 0.12
"""Heat capacity of steel (handbook value, from memory)."""
MEAT_BTU_PER_LB_F = 0.80
"""Heat capacity of raw meat, 3.3 kJ/kgK."""
WATER_BTU_PER_LB = 1000.0
"""Heat to evaporate a pound of water from meat, 2.33 MJ/kg."""


def btu_per_lb(moisture_pct: float = SEASONED_PCT) -> float:
    """Heat of a pound of wood as it is, straight between oven-dry and 20 % moisture and on. ValueError outside 0 to
    60.
    """
    if not 0 <= moisture_pct <= WETTEST_PCT:
        raise ValueError(f"wood moisture is 0 to 60 per cent, not {moisture_pct}")
    return OVEN_DRY_BTU_PER_LB + (SEASONED_BTU_PER_LB - OVEN_DRY_BTU_PER_LB) * moisture_pct / SEASONED_PCT


def practice_lb(size: PitSize, hours: float, moisture_pct: float = SEASONED_PCT) -> Triple:
    """Pounds of wood for a burn of so many hours at temperature, warm-up on top, low / likely / high.

    Warming up burns at the same rate for the warm-up time (common practice). Wetter wood takes more in proportion.
    """
    if hours < 0:
        raise ValueError("a burn cannot have less than 0 hours")
    wetter = SEASONED_BTU_PER_LB / btu_per_lb(moisture_pct)
    low, likely, high = (
        rate * (hours + warm / 60) * wetter for rate, warm in zip(LB_PER_H[size], WARM_UP_MIN[size], strict=True)
    )
    return low, likely, high


@dataclass(frozen=True, slots=True)
class HeatDemand:
    """What a burn has to heat. `loss_btu_per_h_f` is the heat through walls per hour and degree above the air outside;
    `draft_share` is the share of the wood's heat that leaves by the stack and is lost (the most of it, in an open
    pit)."""

    steel_lb: float
    loss_btu_per_h_f: float
    draft_share: float
    pit_f: float
    outside_f: float
    hours: float
    meat_lb: float = 0.0
    meat_water_share: float = 0.2

    def btu(self) -> float:
        """Heat needed, Btu, before the stack's share. ValueError if the figures make no sense."""
        rise = self.pit_f - self.outside_f
        if rise <= 0 or not 0 <= self.draft_share < 1 or min(self.steel_lb, self.hours, self.meat_lb) < 0:
            raise ValueError("a burn needs a pit above the outside air, a draft share from 0 to below 1, no negatives")
        steel = self.steel_lb * STEEL_BTU_PER_LB_F * rise
        walls = self.loss_btu_per_h_f * rise * self.hours
        meat = self.meat_lb * (MEAT_BTU_PER_LB_F * (203 - 38) + self.meat_water_share * WATER_BTU_PER_LB)
        return steel + walls + meat


def demand_lb(demand: HeatDemand, moisture_pct: float = SEASONED_PCT) -> float:
    """Pounds of wood that give this heat after the stack has taken its share."""
    return demand.btu() / (1 - demand.draft_share) / btu_per_lb(moisture_pct)


def cords(wood_lb: float, species: Species = "red oak", green: bool = False) -> float:
    """Cords of a species in so many pounds."""
    return wood_lb / CORD_LB[species][1 if green else 0]


def cords_to_order(wood_lb: float, species: Species = "red oak", in_stock_lb: float = 0.0) -> float:
    """Cords of seasoned wood to order, in quarters of a cord and never too few; 0 if the stock will do."""
    return ceil(max(0.0, cords(wood_lb - in_stock_lb, species)) * 4 - 1e-9) / 4


def splits(wood_lb: float) -> tuple[int, int, int]:
    """How many splits that is: few (heavy ones), likely, many (light ones)."""
    light, likely, heavy = SPLIT_LB
    return ceil(wood_lb / heavy), ceil(wood_lb / likely), ceil(wood_lb / light)
