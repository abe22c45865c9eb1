"""When a load that is on will be done, if it goes on like this or like that."""

from __future__ import annotations

from math import ceil, floor

from scheduler.model.menu import Recipe
from scheduler.model.past import Begun, Spot, Spread
from scheduler.model.site import Site
from scheduler.trade.cold_pit import regained
from scheduler.trade.stage import stretch


def heat_factor(recipe: Recipe, weight_lb: float, from_offset_f: int, to_offset_f: int) -> float:
    """How much longer the rest of a stage takes at another rack (offsets in F; an oven has none)."""
    return stretch(recipe, weight_lb, to_offset_f) / stretch(recipe, weight_lb, from_offset_f)


def offset_of(site: Site, spot: Spot) -> int:
    """Degrees that a spot is hotter than its fire's setpoint; 0 for an oven. KeyError if there is no such rack."""
    return 0 if spot.rack is None else site.rack(spot.place, spot.rack).offset_f


def pause_min(begun: Begun, out_min: int | None) -> int:
    """Minutes without fire of a load that leaves its smoker at a minute; 0 where it burns under it."""
    if begun.dead_min is None or out_min is None:
        return 0
    return max(0, out_min - begun.dead_min)


def window_after(begun: Begun, stop_min: int | None) -> tuple[int, int] | None:
    """First and last minute for the wrap of a load that is handed over at a minute, or stays (None)."""
    if begun.window is None:
        return None
    pause = pause_min(begun, stop_min)
    return begun.window[0] + pause, begun.window[1] + pause


def done_after(begun: Begun, factor: float, wrap_min: int | None, stop_min: int | None) -> Spread:
    """Early, likely and late minute of a load that is handed over at `stop_min` or stays (None).

    `wrap_min` is the wrap still to come, None if there is none. `factor` is that of `heat_factor` for where it goes. A
    pause without fire is lost, and part of it again for the heat that is to be won back (common practice, no source).
    """
    if begun.done:
        return begun.spread
    out = wrap_min if stop_min is None else stop_min
    more = regained(pause_min(begun, out))
    if begun.waits_for_wrap and wrap_min is not None:
        return _rounded(wrap_min, begun.spread, factor, more)
    if stop_min is None:
        return begun.spread
    since = begun.dead_min if begun.dead_min is not None else stop_min
    left = [max(0, minute - since) for minute in begun.spread]
    return _rounded(stop_min, (left[0], left[1], left[2]), factor, more)


def _rounded(start: int, took: Spread, factor: float, more: Spread) -> Spread:
    early, likely, late = took
    likely_min = start + round(likely * factor) + more[1]
    return (
        min(start + floor(early * factor) + more[0], likely_min),
        likely_min,
        max(start + ceil(late * factor) + more[2], likely_min),
    )
