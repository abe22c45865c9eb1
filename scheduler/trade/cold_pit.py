"""A piece in a smoker whose fire has died: how long it may stay there, and by which rule.

Which rule binds depends on how far the cook is. All are the food code's; how fast a piece cools is common practice, no
source (`scheduler.trade.cooling`). A clock is no thermometer: probe it, write it down, and ask the local authority.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor

from scheduler.trade import food_safety as fs
from scheduler.trade.cooling import RestKind, rest_limit

REGAIN = (0.0, 0.5, 1.0)
"""Share of a pause that it takes to win back the heat lost in it: early, likely, late (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class ColdLimit:
    """Minutes from the death of the fire. After `act_min` it may be too cold; after `off_min` it is thrown away."""

    act_min: int
    off_min: int
    code: str
    """The rule, a key of `food_safety.RULES`."""
    why: str


def cold_limit(
    centre_f: float, from_50_min: float, to_130_min: float, since_load_min: float, kind: RestKind
) -> ColdLimit:
    """How long a piece may stay without fire.

    `centre_f` is its centre when the fire died, `from_50_min` how long it has been above 50 F there, `to_130_min` what
    it still needs to 130 F in a good pit, `since_load_min` how long it has been out of the cooler.
    """
    if centre_f >= fs.HOT_HOLD_MIN_F:
        quick = rest_limit(centre_f, kind).quick_min
        off = fs.TIME_CONTROL_MAX_MIN
        act = off if quick is None else min(quick, off)
        why = "its middle may fall below 135 F; hot meat may stand without heat for 4 hours at most"
        return ColdLimit(act, off, "TIME-4H", why)
    if centre_f >= fs.COME_UP_LOW_F:
        left = max(0, floor(fs.COME_UP_MAX_MIN - from_50_min - to_130_min))
        off = min(left, fs.TIME_CONTROL_MAX_MIN)
        return ColdLimit(off, off, "COME-UP", "it may be no more than 6 hours between 50 F and 130 F on the way up")
    left = max(0, floor(fs.TIME_CONTROL_MAX_MIN - since_load_min))
    return ColdLimit(left, left, "TIME-4H", "raw meat may be out of the cooler for 4 hours at most")


def regained(pause_min: int) -> tuple[int, int, int]:
    """Minutes beyond the pause itself that a paused cook takes longer: early, likely, late."""
    early, likely, late = (round(pause_min * share) for share in REGAIN)
    return early, likely, late
