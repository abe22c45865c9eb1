"""Food-safety limits as constants, as small checks that answer with a sentence or None, and as rules to
explain.

Sources are named in `RULES`. FDA Food Code figures (2017 and 2022) were read in state rules that adopt its
text, not in the federal print. The local authority may run an older edition; what it says goes. All
temperatures are F.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from scheduler.trade.safety_tables import ROAST, ROAST_OVEN, ROAST_OVEN_SPLIT_LB

HOT_HOLD_MIN_F = 135.0
ROAST_HOT_HOLD_MIN_F = 130.0
"""Only for whole roasts cooked or reheated by the roast table."""
COLD_HOLD_MAX_F = 41.0
COME_UP_LOW_F, COME_UP_HIGH_F, COME_UP_MAX_MIN = 50.0, 130.0, 360
COOL_START_F, COOL_MID_F, COOL_END_F = 135.0, 70.0, 41.0
COOL_MID_MAX_MIN, COOL_END_MAX_MIN = 120, 360
TIME_CONTROL_MAX_MIN = 240
TIME_CONTROL_COLD_MAX_MIN, TIME_CONTROL_COLD_MAX_F = 360, 70.0
REHEAT_F, REHEAT_HOLD_S, REHEAT_MAX_MIN = 165.0, 15, 120
REHEAT_PACKAGED_F = 135.0
FIRST_HEATING_MAX_MIN = 60
THAW_ABOVE_41_MAX_MIN = 240
THAW_WATER_MAX_F = 70.0
DATE_MARK_AFTER_H, DATE_MARK_MAX_DAYS = 24, 7
TALLOW_F, TALLOW_MIN = 170.0, 30
DANGER_LOW_F, DANGER_HIGH_F = 40.0, 140.0
"""What USDA tells the public (FSIS, Smoking Meat and Poultry); wider than the Food Code's 41 to 135 F."""

CookKind = Literal["intact meat", "comminuted", "poultry"]
COOK_MIN: dict[CookKind, tuple[tuple[float, float], ...]] = {
    "intact meat": ((145, 15),),
    "comminuted": ((145, 180), (150, 60), (155, 17), (158, 0)),
    "poultry": ((165, 0),),
}
"""Kind -> rows of (F, seconds), FDA Food Code 3-401.11(A); comminuted includes injected and tenderized
meat.
"""

DEFERS_SHORT = "Local rules come first."
DEFERS = "Your local authority's rule comes first: ask it before you rely on this."


@dataclass(frozen=True, slots=True)
class Rule:
    """One food-safety rule, in plain words."""

    code: str
    title: str
    sentence: str
    source: str
    caution: str


_RULES = (
    Rule(
        "COOK",
        "Least cooking temperature",
        "Intact beef and pork reach 145 F for 15 seconds; ground, injected or tenderized meat 155 F for 17 "
        "seconds; poultry 165 F.",
        "FDA Food Code 3-401.11(A), read in OAC 310:257-5-46; codes of 2013 and older say 15 s for the last two",
        "Sausage and injected meat carry germs to the middle: probe the middle of the thickest piece.",
    ),
    Rule(
        "LETHALITY",
        "Time at temperature",
        "Every part of the meat stays so hot for so long that Salmonella falls 6.5-log in meat and 7-log in poultry.",
        "FSIS Cooking Guideline (Revised Appendix A), FSIS-GD-2021-14, tables 2, 3, 4 and 6",
        "Do not plan to finish near 130 F: at that end the published times were not always enough "
        "(Meat Muscle Biol. art. 9048).",
    ),
    Rule(
        "ROAST-OVEN",
        "The roast table needs an oven that is hot or humid enough",
        "The roast table holds for whole roasts in an oven kept at 250 F or above (under 10 lb: 350 F still, "
        "325 F convection), or in a humid oven or a bag.",
        "FDA Food Code 3-401.11(B), read in WAC 246-215-03400 table 3-3",
        "A pit below 250 F does not meet it: cook to the ordinary temperatures instead.",
    ),
    Rule(
        "COME-UP",
        "Come-up time",
        "On the way up meat spends no more than 6 hours between 50 F and 130 F; an intact piece may be "
        "tracked at its surface, but its end point may not.",
        "FSIS-GD-2021-14 p. 24, which names ham and beef brisket as slow (p. 48)",
        "Germs can leave a toxin that cooking does not destroy: a piece that came up too slowly is not "
        "saved by more heat.",
    ),
    Rule(
        "HOT-HOLD",
        "Hot holding",
        "Cooked meat is held at 135 F or above; whole roasts cooked by the roast table at 130 F or above.",
        "FDA Food Code 3-501.16(A)(1), read in OAC 310:257-5-59",
        "Check the cabinet with a thermometer in the coldest piece, not by its dial.",
    ),
    Rule(
        "COLD-HOLD",
        "Cold holding",
        "Raw and chilled meat is kept at 41 F or below.",
        "FDA Food Code 3-501.16(A)(2), read in OAC 310:257-5-59",
        "What has been warmer for an unknown time is thrown away.",
    ),
    Rule(
        "TIME-4H",
        "Time as the control",
        "Hot meat may stand without heat for 4 hours if it starts at 135 F or above, is marked with the "
        "time, and is served or thrown away by then.",
        "FDA Food Code 3-501.19(B), read in Wisconsin 3-501.19 and Minn. 4626.0408",
        "It needs a written procedure in advance; unmarked meat is thrown away. The 6-hour rule is for cold food only.",
    ),
    Rule(
        "COOL-2H",
        "Cooling, first stage",
        "Cooked meat cools from 135 F to 70 F within 2 hours.",
        "FDA Food Code 3-501.14(A), read in OAC 310:257-5-57",
        "Whole briskets and butts are too thick to make it: cut or pull them, lay them shallow.",
    ),
    Rule(
        "COOL-6H",
        "Cooling, both stages",
        "Cooked meat cools from 135 F to 41 F within 6 hours in all.",
        "FDA Food Code 3-501.14(A), read in OAC 310:257-5-57",
        "Anything deeper than 3 inches is usually too slow (Igo, Hedeen and Schaffner, J. Food Prot.).",
    ),
    Rule(
        "REHEAT",
        "Reheating for hot holding",
        "Chilled cooked meat reaches 165 F for 15 seconds in all parts within 2 hours of leaving 41 F.",
        "FDA Food Code 3-403.11, read in Wisconsin ATCP 75 and S.C. 61-25",
        "A holding cabinet or a slow pit is not made to reheat.",
    ),
    Rule(
        "NON-CONT",
        "Cooking with a break",
        "Meat that is heated, chilled and cooked later is heated for no more than 60 minutes the first "
        "time, then cooled like cooked meat and cooked through.",
        "FDA Food Code 3-401.14, read in OAC 310:257-5-48.1 and Minn. 4626.0349",
        "It needs an approved written procedure. Part-smoking for hours and chilling is not this process: cook on.",
    ),
    Rule(
        "DATE-MARK",
        "Date marking",
        "Cooked meat kept cold for more than 24 hours is marked, and used or thrown away within 7 days, "
        "the day of cooking being day 1.",
        "FDA Food Code 3-501.17 and 3-501.18, read in Minn. 4626.0400 and Georgia 290-5-14; day 1 from memory for 2022",
        "Unmarked meat is thrown away.",
    ),
    Rule(
        "TALLOW",
        "Heat treatment of tallow",
        "Fat trim for food stays at 170 F or above for at least 30 minutes.",
        "9 CFR 315.1, read in FSIS-GD-2021-14 pp. 11-12; the meat tables do not apply to it",
        "Hot fat burns and catches fire: never leave it alone, never put water on it.",
    ),
    Rule(
        "THAW",
        "Thawing",
        "Meat thaws at 41 F or below, or in running water of 70 F or below with no more than 4 hours above 41 F.",
        "FDA Food Code 3-501.13, read in Maine ch. 200 and Tenn. 0080-04-09; thaw fully before smoking: "
        "USDA FSIS, Smoking Meat and Poultry",
        "A frozen middle makes the come-up too slow.",
    ),
    Rule(
        "HUMIDITY",
        "Humidity in the pit",
        "The time-temperature tables expect 90 % humidity for part of the cook, except for pieces of 10 lb or more "
        "kept at 250 F or above, and direct heat; above 212 F that humidity cannot be reached in open air.",
        "FSIS-GD-2021-14 pp. 26, 31, 43 and 45, which calls dry-heat barbecue a scientific gap",
        "A dry surface can shelter germs: keep water pans in the pit and cook to the ordinary temperatures.",
    ),
    Rule(
        "LOG-GAP",
        "Gaps in a record",
        "Between two readings nobody knows the temperature; readings should be no more than half an hour apart.",
        "common practice, no source",
        "A gap is not a proof that all was well.",
    ),
)

RULES: dict[str, Rule] = {rule.code: rule for rule in _RULES}


def explain(code: str) -> str:
    """Title, rule, source, caution and whom it defers to, on lines. KeyError if there is no such rule."""
    rule = RULES[code.upper()]
    return "\n".join(
        (
            f"{rule.code}: {rule.title}",
            rule.sentence,
            f"Source: {rule.source}.",
            f"Caution: {rule.caution}",
            DEFERS,
        )
    )


def _because(what: str, code: str) -> str:
    return f"{what} ({RULES[code].source.split(',')[0]})"


def cook_breach(kind: CookKind, temp_f: float, held_s: float) -> str | None:
    """Why a piece that stayed at `temp_f` for `held_s` seconds is not cooked by Food Code 3-401.11(A), or
    None.
    """
    if any(temp_f >= least_f and held_s >= least_s for least_f, least_s in COOK_MIN[kind]):
        return None
    ways = " or ".join(f"{f:g} F for {s:g} s" if s else f"{f:g} F" for f, s in COOK_MIN[kind])
    return _because(f"{temp_f:g} F for {held_s:g} s does not cook {kind}: it needs {ways}", "COOK")


def roast_seconds(temp_f: float) -> float | None:
    """Seconds at `temp_f` for a whole meat roast by Food Code 3-401.11(B); None below 130 F."""
    rows = [seconds for least_f, seconds in ROAST if least_f <= temp_f]
    return rows[-1] if rows else None


def roast_oven_breach(weight_lb: float, oven_f: float, oven: str = "still") -> str | None:
    """Why an oven or pit at `oven_f` may not use the roast table for a piece of this weight, or None.

    `oven` is "still", "convection" or "humid" (KeyError otherwise).
    """
    sense, small_f, big_f = ROAST_OVEN[oven]
    limit = small_f if weight_lb < ROAST_OVEN_SPLIT_LB else big_f
    if oven_f >= limit if sense == "at least" else oven_f <= limit:
        return None
    return _because(
        f"the roast table asks for an oven of {sense} {limit:g} F for {weight_lb:g} lb, not {oven_f:g} F",
        "ROAST-OVEN",
    )


def come_up_breach(minutes: float) -> str | None:
    """Why `minutes` between 50 F and 130 F on the way up are too many, or None."""
    if minutes <= COME_UP_MAX_MIN:
        return None
    return _because(f"{minutes / 60:.1f} hours between 50 F and 130 F are more than 6", "COME-UP")


def hot_hold_breach(temp_f: float, qualifying_roast: bool = False) -> str | None:
    """Why `temp_f` is too cold for hot holding, or None."""
    least = ROAST_HOT_HOLD_MIN_F if qualifying_roast else HOT_HOLD_MIN_F
    return None if temp_f >= least else _because(f"{temp_f:g} F is below {least:g} F", "HOT-HOLD")


def cold_hold_breach(temp_f: float) -> str | None:
    """Why `temp_f` is too warm for cold holding, or None."""
    return None if temp_f <= COLD_HOLD_MAX_F else _because(f"{temp_f:g} F is above 41 F", "COLD-HOLD")


def time_control_breach(start_f: float, minutes: float, warmest_f: float | None = None) -> str | None:
    """Why meat may not stand `minutes` without temperature control, having started at `start_f`, or None.

    4 hours from 135 F or above, or from 41 F or below; 6 hours only for cold food that never passed 70 F,
    so only if `warmest_f` is known.
    """
    if COLD_HOLD_MAX_F < start_f < HOT_HOLD_MIN_F:
        return _because(f"time control cannot start at {start_f:g} F", "TIME-4H")
    cold = start_f <= COLD_HOLD_MAX_F and warmest_f is not None and warmest_f <= TIME_CONTROL_COLD_MAX_F
    most = TIME_CONTROL_COLD_MAX_MIN if cold else TIME_CONTROL_MAX_MIN
    if minutes <= most:
        return None
    return _because(f"{minutes:g} minutes without temperature control are more than {most}", "TIME-4H")


def cooling_breaches(to_70_min: float | None, to_41_min: float | None) -> list[str]:
    """Why cooling from 135 F failed; minutes to 70 F and to 41 F, None if it never got there."""
    found = []
    if to_70_min is None or to_70_min > COOL_MID_MAX_MIN:
        found.append(_because("it took more than 2 hours from 135 F to 70 F", "COOL-2H"))
    if to_41_min is None or to_41_min > COOL_END_MAX_MIN:
        found.append(_because("it took more than 6 hours from 135 F to 41 F", "COOL-6H"))
    return found


def reheat_breach(peak_f: float, held_s: float, minutes: float, packaged: bool = False) -> str | None:
    """Why a reheat to `peak_f`, held so many seconds, `minutes` after leaving 41 F, will not do for hot
    holding.

    `packaged`: commercially packaged ready-to-eat food needs 135 F only.
    """
    least, hold = (REHEAT_PACKAGED_F, 0) if packaged else (REHEAT_F, REHEAT_HOLD_S)
    if peak_f < least or held_s < hold:
        return _because(f"reheating to {peak_f:g} F for {held_s:g} s is less than {least:g} F for {hold} s", "REHEAT")
    if minutes > REHEAT_MAX_MIN:
        return _because(f"reheating took {minutes:g} minutes, more than {REHEAT_MAX_MIN}", "REHEAT")
    return None


def non_continuous_breach(first_heating_min: float) -> str | None:
    """Why a first heating of so many minutes may not be followed by chilling and a later cook, or None."""
    if first_heating_min <= FIRST_HEATING_MAX_MIN:
        return None
    return _because(f"a first heating of {first_heating_min:g} minutes is longer than 60", "NON-CONT")


def last_day(prepared: date) -> date:
    """Last day on which chilled cooked meat may be used: the day of cooking is day 1 of 7."""
    return prepared + timedelta(days=DATE_MARK_MAX_DAYS - 1)


def date_mark_breach(prepared: date | None, on: date) -> str | None:
    """Why chilled cooked meat may not be used on a day, or None; `prepared` is None if it is unmarked."""
    if prepared is None:
        return _because("it carries no date", "DATE-MARK")
    if on <= last_day(prepared):
        return None
    return _because(f"its last day was {last_day(prepared).isoformat()}", "DATE-MARK")


def thaw_breach(above_41_min: float, water_f: float | None = None) -> str | None:
    """Why a thaw that kept raw meat above 41 F for so long, in water of `water_f` if any, is unsafe, or
    None.
    """
    if water_f is not None and water_f > THAW_WATER_MAX_F:
        return _because(f"thawing water of {water_f:g} F is above 70 F", "THAW")
    if above_41_min > THAW_ABOVE_41_MAX_MIN:
        return _because(f"{above_41_min:g} minutes above 41 F are more than 240", "THAW")
    return None


def tallow_breach(temp_f: float, minutes: float) -> str | None:
    """Why fat held at `temp_f` for `minutes` is not heat-treated, or None."""
    if temp_f >= TALLOW_F and minutes >= TALLOW_MIN:
        return None
    return _because(f"{temp_f:g} F for {minutes:g} minutes is less than 170 F for 30 minutes", "TALLOW")
