"""What the cook-time curve knows of each cut, and the figures it was tuned with.

TUNED DEFAULTS. Nobody has published a pit's heat transfer, or the core temperature of the plateau. The figures here
were fitted to common-practice cooking times (hours at 225, 250, 275 and 300 F, no source) and to a saving by foil of
about 17 % (common practice: wrapping saves 10 to 35 %). One wetness, one heat transfer, one radiant gain and one
vapor content serve all meat (fat trim has less water, so a wetness of its own); each cut has its own *effective* half
thickness, and the water it gives up at its surface until the crust has dried to 37 % of its wetness. Ribs are cooked
past their temperature until the bones give, so their effective thickness is well above what a ruler says. `early`
and `late` are the 10th and 90th percentile over the likely time in the same practice ranges. Log your own cooks and
prefer them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from scheduler.trade import properties as p

Wrap = Literal["none", "paper", "paper-and-tallow", "foil"]
WRAPS: tuple[Wrap, ...] = get_args(Wrap)

PIT_H = 20.0
"""W/m2K, convection and radiation together (common practice: 10 to 35)."""
RADIANT_F = 20.0
"""Degrees by which the surroundings that heat a piece are hotter than the pit's air: the fire side radiates; tuned."""
PIT_HUMIDITY = 0.06
"""kg of water per kg of dry air in a pit with meat (0.03 to 0.10 is realistic)."""
WETNESS = 0.65
"""Evaporation of fresh meat over that of a free water surface; tuned."""
CONDUCTIVITY_FACTOR = 0.93
"""The mixing rule runs 5 to 15 % above measured diffusivity of beef; tuned within that."""

WRAP_WETNESS: dict[Wrap, float] = {"none": 1.0, "paper": 0.2, "paper-and-tallow": 0.12, "foil": 0.03}
"""Share of the evaporation that a wrap lets through; tuned."""


@dataclass(frozen=True, slots=True)
class CutHeat:
    """One cut as the cook-time curve sees it. Thickness in inches is what a ruler says at the thickest part."""

    name: str
    weight_lb: float
    thickness_in: float
    half_thickness_m: float
    water_share: float
    composition: p.Composition
    done_f: float
    early: float
    late: float
    usual_wrap: Wrap = "none"
    wrap_f: tuple[float, float, float] | None = None
    wetness: float = WETNESS


_ALL = (
    CutHeat("packer brisket", 11.5, 4.0, 0.0578, 0.085, p.BRISKET, 203, 0.81, 1.24, "paper", (155, 167, 175)),
    CutHeat("pork butt", 9.0, 4.5, 0.0530, 0.067, p.PORK_BUTT, 202, 0.80, 1.24, "paper", (155, 165, 172)),
    CutHeat("spare ribs", 4.25, 1.25, 0.0357, 0.047, p.SPARE_RIBS, 198, 0.82, 1.23, "foil", (160, 163, 165)),
    CutHeat("St. Louis ribs", 2.75, 1.0, 0.0330, 0.047, p.SPARE_RIBS, 198, 0.83, 1.24, "foil", (160, 163, 165)),
    CutHeat("beef plate ribs", 5.0, 2.5, 0.0450, 0.055, p.SHORT_RIBS, 203, 0.83, 1.21, "paper", (160, 170, 178)),
    CutHeat("turkey breast", 4.0, 2.5, 0.0225, 0.117, p.TURKEY_BREAST, 165, 0.76, 1.31, "none", (130, 140, 150)),
    CutHeat("half chicken", 1.75, 2.0, 0.0179, 0.144, p.CHICKEN, 165, 0.81, 1.28),
    CutHeat("sausage", 0.31, 1.25, 0.0092, 0.307, p.BRISKET, 160, 0.67, 1.38),
    CutHeat("fat trim", 10.0, 2.0, 0.0315, 0.049, p.FAT_TRIM, 200, 0.64, 1.47, wetness=0.35),
)

CUT_HEAT: dict[str, CutHeat] = {cut.name: cut for cut in _ALL}
"""By name. Sausage is a link of 5 oz; fat trim lies in a shallow pan."""
