"""Cooling by Newton's law: rest after the pull, how long until the cabinet, and chilling left-overs.

No hold curve of a wrapped brisket or butt has been published; `PRACTICE_K` is common practice without source. It
agrees with slab theory for a wrapped brisket in a room of 70 F (0.11 to 0.16 per hour) and in a box (0.05).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, floor, inf, log, log10
from typing import Literal, get_args

from scheduler.trade import food_safety as fs
from scheduler.trade.conduction import one_term

RestKind = Literal["bare", "wrapped", "boxed"]
REST_KINDS: tuple[RestKind, ...] = get_args(RestKind)

PRACTICE_K: dict[RestKind, tuple[float, float, float]] = {
    "bare": (0.25, 0.35, 0.45),
    "wrapped": (0.12, 0.17, 0.25),
    "boxed": (0.04, 0.08, 0.12),
}
"""Cooling constant per hour, low / likely / high: bare on a board, wrapped on a counter, wrapped in an insulated
box.
"""

ROOM_F = 70.0
COOLER_F = 37.0
"""A cooler's driving temperature that makes both Food Code stages nearly one constant."""
DEEP_IN = 3.0
"""Food this deep or deeper usually cools too slowly (Igo, Hedeen and Schaffner, J. Food Prot.)."""


def newton_f(start_f: float, ambient_f: float, k_per_h: float, hours: float) -> float:
    """Temperature (F) after `hours` in surroundings of `ambient_f`."""
    return ambient_f + (start_f - ambient_f) * exp(-k_per_h * hours)


def hours_until(start_f: float, ambient_f: float, k_per_h: float, goal_f: float) -> float:
    """Hours until it has cooled to `goal_f`; 0 if it is that cold, endless if the surroundings are too warm."""
    if start_f <= goal_f:
        return 0.0
    if ambient_f >= goal_f or k_per_h <= 0:
        return inf
    return log((start_f - ambient_f) / (goal_f - ambient_f)) / k_per_h


def slab_k_per_h(half_thickness_m: float, h: float, conductivity: float, diffusivity: float) -> float:
    """Cooling constant (per hour) of a slab by its first term: zeta1^2 a / L^2."""
    zeta, _ = one_term("wall", h * half_thickness_m / conductivity)
    return zeta**2 * diffusivity / half_thickness_m**2 * 3600


@dataclass(frozen=True, slots=True)
class Rest:
    """Centre after a rest (F), if it cools quickly, likely and slowly."""

    quick_f: float
    likely_f: float
    slow_f: float


def after_rest(pull_f: float, minutes: float, kind: RestKind = "wrapped", ambient_f: float = ROOM_F) -> Rest:
    """Centre temperature (F) after resting so many minutes."""
    slow, likely, quick = PRACTICE_K[kind]
    return Rest(*(newton_f(pull_f, ambient_f, k, minutes / 60) for k in (quick, likely, slow)))


@dataclass(frozen=True, slots=True)
class RestLimit:
    """Minutes from the pull until the centre is down to a temperature; go by `quick_min`. None: it never is."""

    quick_min: int | None
    likely_min: int | None
    slow_min: int | None


def rest_limit(
    pull_f: float,
    kind: RestKind = "wrapped",
    ambient_f: float = ROOM_F,
    goal_f: float = fs.HOT_HOLD_MIN_F,
) -> RestLimit:
    """Minutes until it must be in the cabinet or sliced, that is until the centre has cooled to `goal_f`.

    Thin ends and slices cool much faster than the centre: plan for less.
    """
    slow, likely, quick = PRACTICE_K[kind]
    hours = [hours_until(pull_f, ambient_f, k, goal_f) for k in (quick, likely, slow)]
    return RestLimit(*(None if h == inf else floor(h * 60) for h in hours))


def rest_breach(
    pull_f: float,
    minutes: float,
    kind: RestKind = "wrapped",
    ambient_f: float = ROOM_F,
    qualifying_roast: bool = False,
) -> str | None:
    """Why a rest of so many minutes may end below the hot-holding minimum, or None; judged by quick cooling."""
    return fs.hot_hold_breach(round(after_rest(pull_f, minutes, kind, ambient_f).quick_f, 1), qualifying_roast)


def two_point_rate(first_f: float, second_f: float, hours: float, driving_f: float = COOLER_F) -> float:
    """Cooling rate in log10 per hour from two readings: [log10(T1 - Tdf) - log10(T2 - Tdf)] / dt.

    Source: Hedeen, Schaffner and Brown 2022, J. Environ. Health. ValueError unless both are above the driving
    temperature and the time is above 0.
    """
    if hours <= 0 or min(first_f, second_f) <= driving_f:
        raise ValueError("a cooling rate needs two readings above the driving temperature, some time apart")
    return (log10(first_f - driving_f) - log10(second_f - driving_f)) / hours


def food_code_rates(driving_f: float = COOLER_F) -> tuple[float, float]:
    """Least rate (log10 per hour) of each Food Code stage: 135 to 70 F in 2 h, then 70 to 41 F in 4 h more."""
    return (
        two_point_rate(fs.COOL_START_F, fs.COOL_MID_F, fs.COOL_MID_MAX_MIN / 60, driving_f),
        two_point_rate(fs.COOL_MID_F, fs.COOL_END_F, (fs.COOL_END_MAX_MIN - fs.COOL_MID_MAX_MIN) / 60, driving_f),
    )


@dataclass(frozen=True, slots=True)
class Chill:
    """Where two readings lead, in minutes after 135 F; None if the cooler is too warm for it."""

    rate_log_per_h: float
    to_70_min: float | None
    to_41_min: float | None
    breaches: tuple[str, ...]


def chill_outlook(first_f: float, second_f: float, hours: float, driving_f: float = COOLER_F) -> Chill:
    """Whether food that cooled from one reading to another so fast will make both Food Code stages.

    It assumes one constant rate, which fits most foods (21 of 29 curves); deeper than 3 inches is usually slower. A
    forecast, not a proof: measure again at 2 hours and at 6 hours.
    """
    rate = two_point_rate(first_f, second_f, hours, driving_f)
    times = []
    for goal_f in (fs.COOL_MID_F, fs.COOL_END_F):
        reaches = rate > 0 and driving_f < goal_f
        times.append(60 * two_point_rate(fs.COOL_START_F, goal_f, 1, driving_f) / rate if reaches else None)
    return Chill(rate, times[0], times[1], tuple(fs.cooling_breaches(times[0], times[1])))


def depth_caution(depth_in: float) -> str | None:
    """A caution if food lies too deep to cool in time, or None."""
    if depth_in < DEEP_IN:
        return None
    return f"food {depth_in:g} in deep usually cools too slowly: cut it and lay it shallower than 3 in"
