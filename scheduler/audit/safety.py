"""Rules on food safety. The sources stand beside each limit in `scheduler.trade.food_safety`.

They are never traded for money, and the local health authority may ask for more. A plan is no thermometer: what was
planned still has to be probed and written down.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from typing import Literal

from scheduler.audit.breach import Breach
from scheduler.audit.temperature import held
from scheduler.audit.view import LoadView, View
from scheduler.audit.words import number
from scheduler.model.menu import Cut
from scheduler.model.weekend import minutes_text
from scheduler.trade.come_up import slow_come_up
from scheduler.trade.cooling import RestKind, rest_limit
from scheduler.trade.food_safety import HOT_HOLD_MIN_F, TALLOW_F, TALLOW_MIN, TIME_CONTROL_MAX_MIN

Family = Literal["beef", "pork", "poultry", "sausage", "fat"]

LEAST_DONE_F: dict[Family, tuple[float, str]] = {
    "poultry": (165, "FDA Food Code 3-401.11(A)(3)"),
    "sausage": (155, "FDA Food Code 3-401.11(A)(2), 155 F for 17 seconds; sausage with poultry in it needs 165 F"),
    "beef": (145, "FDA Food Code 3-401.11(A)(1)"),
    "pork": (145, "FDA Food Code 3-401.11(A)(1)"),
    "fat": (TALLOW_F, "9 CFR 315.1"),
}
"""Least temperature, F, at which a piece may be called done, and where that stands."""


def least_done_f(cut: Cut) -> tuple[float, str]:
    """Least temperature, F, and its source. Beef and pork that is not intact counts as comminuted, like sausage."""
    comminuted = not cut.intact and cut.family in ("beef", "pork")
    return LEAST_DONE_F["sausage" if comminuted else cut.family]


def done_temperature(view: View) -> Iterator[Breach]:
    """A cut is cooked at least to the temperature that the food code asks of its kind (FDA Food Code 3-401.11(A))."""
    for loads in _by_cut(view).values():
        cut = loads[0].cut
        if cut is None:
            continue
        least, source = least_done_f(cut)
        if cut.done_f < least:
            sentence = f"{cut.name} is called done at {cut.done_f} F; it must reach {number(least)} F ({source})."
            yield view.breach("done-temperature", sentence, [load.code for load in loads], loads[0].early_min)


def tallow_time(view: View) -> Iterator[Breach]:
    """Fat rendered for food stays at 170 F at least 30 minutes (9 CFR 315.1): no early pull is sooner than that."""
    for load in view.loads:
        if load.cut is None or load.cut.family != "fat":
            continue
        took = load.early_min - load.finish_from_min
        if took < TALLOW_MIN:
            sentence = f"Load {load.code} may be done in {took} min; tallow stays at 170 F for 30 min (9 CFR 315.1)."
            yield view.breach("tallow-time", sentence, [load.code], load.early_min)


def come_up(view: View) -> Iterator[Breach]:
    """Meat spends no more than 6 hours between 50 F and 130 F on the way up (FSIS-GD-2021-14 p. 24).

    Looked at for each heat of its first rack; an intact piece is judged by its surface, any other by its centre.
    """
    for load in view.loads:
        if load.cut is None or not load.stays():
            continue
        stay = load.stays()[0]
        weight = view.scenario.weight_lb(load.cut)
        for fire in view.burns_of(stay.spot.firebox.name) if stay.spot.firebox else ():
            for start, end, setpoint in held(fire):
                why = slow_come_up(load.cut, weight, setpoint + stay.spot.offset_f)
                if why and start < stay.end and stay.start < end:
                    what = f"Load {load.code} may come up too slowly at {setpoint + stay.spot.offset_f} F"
                    yield view.breach("come-up", f"{what}: {why}.", [load.code], max(start, stay.start))


def hot_hold(view: View) -> Iterator[Breach]:
    """Cooked meat is held at 135 F or above (FDA Food Code 3-501.16(A)(1))."""
    for load in view.loads:
        if load.hold is not None and load.hold.hold_f < HOT_HOLD_MIN_F:
            sentence = (
                f"Load {load.code} is held in {load.hold.name} at {load.hold.hold_f} F; cooked meat is held at "
                f"{number(HOT_HOLD_MIN_F)} F or above (FDA Food Code 3-501.16(A)(1))."
            )
            yield view.breach("hold-too-cold", sentence, [load.code], load.hold_from_min)


def hold_temperature(view: View) -> Iterator[Breach]:
    """A cabinet's temperature is inside the band in which the cut keeps."""
    for load in view.loads:
        if load.hold is None or load.cut is None:
            continue
        low, high = load.cut.hold_low_f, load.cut.hold_high_f
        if not low <= load.hold.hold_f <= high:
            sentence = (
                f"Load {load.code} is held in {load.hold.name} at {load.hold.hold_f} F; "
                f"{load.cut.name} keeps at {low} to {high} F."
            )
            yield view.breach("hold-temperature", sentence, [load.code], load.hold_from_min)


def rest_warm(view: View) -> Iterator[Breach]:
    """A piece goes from its rest into the cabinet before its middle may be below 135 F (FDA Food Code 3-501.16(A)(1)).

    Judged by quick cooling in a room of 70 F, bare or in its wrap; the cooling constants of `scheduler.trade.cooling`
    are common practice, no source. Thin ends cool faster: the probe decides. Rendered fat is left out.
    """
    for load in view.loads:
        cut = load.cut
        if cut is None or load.recipe is None or cut.hold_spaces == 0 or cut.family == "fat":
            continue
        kind: RestKind = "wrapped" if load.recipe.wrapped else "bare"
        limit = rest_limit(cut.done_f, kind).quick_min
        if limit is not None and cut.rest_min > limit:
            sentence = (
                f"Load {load.code} rests {minutes_text(cut.rest_min)} {kind} at room temperature; it may be below "
                f"{number(HOT_HOLD_MIN_F)} F after {minutes_text(limit)} (FDA Food Code 3-501.16(A)(1))."
            )
            yield view.breach("rest-too-cold", sentence, [load.code], load.early_min + limit)


def time_control(view: View) -> Iterator[Breach]:
    """Meat that is not held hot is served or thrown away within 4 hours of its pull (FDA Food Code 3-501.19(B)).

    Rendered fat is left out: it is kept by its heat treatment, not by time.
    """
    for load in view.loads:
        if load.cut is None or load.cut.hold_spaces > 0 or load.cut.family == "fat":
            continue
        out = load.served_min - load.early_min
        if out > TIME_CONTROL_MAX_MIN:
            sentence = (
                f"Load {load.code} is not held hot and may stand for {minutes_text(out)} until the end of its serving "
                f"{view.words.at(load.served_min)}; 4 h is the most (FDA Food Code 3-501.19(B))."
            )
            yield view.breach("time-control", sentence, [load.code], load.early_min + TIME_CONTROL_MAX_MIN)


def _by_cut(view: View) -> dict[str, list[LoadView]]:
    found: dict[str, list[LoadView]] = defaultdict(list)
    for load in view.loads:
        found[load.load.cut].append(load)
    return found
