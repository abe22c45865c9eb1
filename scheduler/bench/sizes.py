"""Families and variants of the benchmark's weekends: how large, and where it is tight."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

USUAL_PIECES, USUAL_SMOKERS = 205, 4
"""Pieces (sausages aside) and smokers of the family M, to which shelves, cabinets, tables and people are in
proportion."""
DAY_SHARE = {"fri": 0.2, "sat": 0.46, "sun": 0.34}
"""Share of the pieces by day."""
BUSIEST_SHARE = max(DAY_SHARE.values())


@dataclass(frozen=True, slots=True)
class Family:
    """A size."""

    name: str
    days: int
    smokers: int
    pieces: int
    """Pieces in waves, sausages aside unless `sausages` is 0; orders come on top."""
    sausages: int
    seconds: float
    """Of search, where none are given."""
    waves_every: float = 1.0
    """Waves come so much closer together than in the family M."""

    @property
    def scale(self) -> float:
        """Pieces of the busiest day against the family M."""
        return self.pieces / USUAL_PIECES / (BUSIEST_SHARE if self.days == 1 else 1)


@dataclass(frozen=True, slots=True)
class Variant:
    """Where a weekend is tight: factors on what the kitchen has."""

    name: str
    hold: float = 1.3
    racks: float = 1.0
    people: float = 1.1
    tables: float = 1.0
    slow_fires: bool = False
    """Longer warm-ups, dearer wood, one fire less that a person can tend."""
    shared: bool = False
    """Two smokers on each firebox."""


FAMILIES: Final = {
    family.name: family
    for family in (
        Family("S", days=1, smokers=2, pieces=22, sausages=18, seconds=5),
        Family("M", days=3, smokers=4, pieces=USUAL_PIECES, sausages=205, seconds=60),
        Family("L", days=3, smokers=8, pieces=500, sausages=500, seconds=60),
        Family("XL", days=3, smokers=20, pieces=1500, sausages=1500, seconds=180, waves_every=0.6),
    )
}

VARIANTS: Final = {
    variant.name: variant
    for variant in (
        Variant("easy"),
        Variant("tight hold", hold=0.7),
        Variant("tight hands", people=0.8, tables=0.6),
        Variant("tight fire", racks=0.75, slow_fires=True),
        Variant("shared firebox", shared=True),
    )
}
