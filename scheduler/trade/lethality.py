"""How long meat must stay how hot to be safe: the FSIS tables as a lookup and as an integral over a record.

The lookup is the printed table. The integral adds up, over a temperature record, the share of the target
that each moment kills. Between rows it runs straight in the logarithm of time. The printed 0 rows (158 F
for meat) have no logarithm, so just above the last timed row the integral goes on with the table's slope
(`Z_F`): at 158 F it asks for about 11 s where the table asks for none. That difference is by design, and
both count: a reading at a 0 row is lethal.

Below the lowest row nothing is credited. Published caution: at 130 F the times did not reach 6.5-log in
meat models, they did at 140 F and above (McMinn et al. 2018, Meat Muscle Biol. art. 9048), so do not plan
to finish near 130 F.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.trade.safety_tables import CHICKEN, FAT_PCTS, MEAT, MEAT_LOGS, TURKEY

Species = Literal["meat", "chicken", "turkey", "poultry", "mixed"]
"""`poultry` is any other bird: the longer of chicken and turkey (FSIS p. 36). `mixed` holds meat and
poultry.
"""
SPECIES: tuple[Species, ...] = get_args(Species)

Floats = NDArray[np.float64]

Z_F: dict[Species, float] = {"meat": 10.0, "chicken": 9.8, "turkey": 11.0, "poultry": 11.0, "mixed": 11.0}
"""Degrees F for a tenfold change of time: meat fitted over 130-157 F, poultry from the rows at 136 F and 155 F."""

TARGET_LOG: dict[Species, float] = {"meat": 6.5, "chicken": 7.0, "turkey": 7.0, "poultry": 7.0, "mixed": 7.0}
"""Wanted reduction of Salmonella: 9 CFR 318.17 and 381.150, read in FSIS-GD-2021-14 p. 5."""


def fat_column(fat_pct: float | None) -> int:
    """Column of the poultry tables: the next fat per cent printed; unknown or above 12 % takes 12 % (FSIS
    p. 39).
    """
    if fat_pct is None:
        return len(FAT_PCTS) - 1
    if not 0 <= fat_pct <= 100:
        raise ValueError(f"fat must be 0 to 100 per cent, not {fat_pct}")
    return next((i for i, printed in enumerate(FAT_PCTS) if fat_pct <= printed), len(FAT_PCTS) - 1)


def _meat_column(target_log: float) -> int:
    if target_log not in MEAT_LOGS:
        raise ValueError(f"the meat table has columns for {MEAT_LOGS} log, not {target_log}")
    return MEAT_LOGS.index(target_log)


@cache
def _column(species: Species, fat_pct: float | None, target_log: float | None) -> tuple[Floats, Floats]:
    """Temperatures (F) and seconds of one column of the right table."""
    if species == "meat":
        rows, column = MEAT, _meat_column(TARGET_LOG["meat"] if target_log is None else target_log)
    elif target_log not in (None, 7.0):
        raise ValueError("the poultry tables are for 7-log only")
    elif species in ("chicken", "turkey"):
        rows, column = (CHICKEN if species == "chicken" else TURKEY), fat_column(fat_pct)
    elif species in ("poultry", "mixed"):
        column = fat_column(fat_pct)
        rows = tuple((c[0], *map(max, c[1:], t[1:])) for c, t in zip(CHICKEN, TURKEY, strict=True))
    else:
        raise ValueError(f"unknown species {species!r}")
    table = np.asarray(rows, dtype=np.float64)
    return table[:, 0], table[:, 1 + column]


def least_seconds(
    species: Species, temp_f: float, fat_pct: float | None = None, target_log: float | None = None
) -> float | None:
    """Seconds that every part must stay at or above `temp_f`; None if no row is that cold.

    Between rows the colder row counts. `target_log` is for meat only: 6.5 (whole muscle), 7 or 5 (patties).
    Source: FSIS-GD-2021-14, tables 2, 3, 4 and 6.
    """
    temps, seconds = _column(species, fat_pct, target_log)
    row = int(np.searchsorted(temps, temp_f, side="right")) - 1
    return None if row < 0 else float(seconds[row])


def instant_f(species: Species, fat_pct: float | None = None, target_log: float | None = None) -> float:
    """Lowest temperature (F) at which the table asks for no holding time."""
    temps, seconds = _column(species, fat_pct, target_log)
    return float(temps[np.flatnonzero(seconds == 0)[0]])


def kill_per_min(
    species: Species, temps_f: ArrayLike, fat_pct: float | None = None, target_log: float | None = None
) -> Floats:
    """Share of the target reached in each minute at each temperature (F); 0 below the lowest row."""
    temps, seconds = _column(species, fat_pct, target_log)
    timed = seconds > 0
    asked = np.asarray(temps_f, dtype=np.float64)
    log_s = np.interp(asked, temps[timed], np.log10(seconds[timed]))
    log_s = log_s - np.maximum(0.0, asked - temps[timed][-1]) / Z_F[species]
    return np.where(asked < temps[0], 0.0, 60.0 / 10.0**log_s)


def lethality_share(
    species: Species,
    minutes: Sequence[float] | Floats,
    temps_f: Sequence[float] | Floats,
    fat_pct: float | None = None,
    target_log: float | None = None,
) -> Floats:
    """Share of the target reached at each reading of a record (1 or more is safe), from its first reading on.

    Between two readings the temperature is taken to run straight, so the kill is the logarithmic mean of
    the two rates; where one of them is 0 nothing is credited. A reading at a row that asks for no time
    counts as reached.
    """
    at = np.asarray(minutes, dtype=np.float64)
    readings = np.asarray(temps_f, dtype=np.float64)
    if at.shape != readings.shape or at.ndim != 1:
        raise ValueError("minutes and temperatures must be two lists of the same length")
    rate = kill_per_min(species, readings, fat_pct, target_log)
    low, high = np.minimum(rate[:-1], rate[1:]), np.maximum(rate[:-1], rate[1:])
    ratio = np.divide(high, low, out=np.ones_like(high), where=low > 0)
    flat = ratio < 1 + 1e-9
    mean = np.where(flat, low, low * (ratio - 1) / np.log(np.where(flat, 2.0, ratio)))
    share = np.concatenate(([0.0], np.cumsum(mean * np.diff(at))))[: len(at)]
    instant = readings >= instant_f(species, fat_pct, target_log)
    return np.asarray(np.maximum(share, np.maximum.accumulate(instant.astype(np.float64))), dtype=np.float64)


def seconds_by_z(temp_f: float, z_f: float, ref_f: float, ref_seconds: float) -> float:
    """The log-linear law: seconds at `temp_f` (F) that do what `ref_seconds` do at `ref_f`, with slope
    `z_f`.
    """
    return float(ref_seconds * 10.0 ** ((ref_f - temp_f) / z_f))


def d_value_seconds(species: Species, temp_f: float, fat_pct: float | None = None) -> float | None:
    """Seconds for one power of ten at `temp_f` (F), by the table: its time over its target. None below the
    table.
    """
    least = least_seconds(species, temp_f, fat_pct)
    return None if least is None else least / TARGET_LOG[species]


def fitted_z_f(species: Species, low_f: float, high_f: float, fat_pct: float | None = None) -> float:
    """Slope z (F) of a least-squares line through the logarithms of the table between two temperatures."""
    temps, seconds = _column(species, fat_pct, None)
    chosen = (temps >= low_f) & (temps <= high_f) & (seconds > 0)
    slope = np.polyfit(temps[chosen], np.log10(seconds[chosen]), 1)[0]
    return float(-1.0 / slope)


def end_to_end_z_f(species: Species, low_f: float, high_f: float, fat_pct: float | None = None) -> float:
    """Slope z (F) from two rows of the table alone. ValueError if a row is missing or asks for no time."""
    low, high = least_seconds(species, low_f, fat_pct), least_seconds(species, high_f, fat_pct)
    if not low or not high:
        raise ValueError(f"the {species} table has no timed rows at {low_f:g} F and {high_f:g} F")
    return float((high_f - low_f) / np.log10(low / high))
