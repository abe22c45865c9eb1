"""Whether a cut comes up fast enough at the heat of a rack, before anybody has put it there.

Meat spends no more than 6 hours between 50 F and 130 F on the way up; an intact piece is judged by its surface, one
that was ground, injected or needled by its centre (FSIS-GD-2021-14 p. 24). The minutes are those of the slow piece of
the cook-time curve, never wrapped, from the cooler: a forecast, no proof. The probe decides.
"""

from __future__ import annotations

from functools import lru_cache

from scheduler.model.menu import Cut
from scheduler.trade.cooking import HIGHEST_PIT_F, LOWEST_PIT_F, Conditions
from scheduler.trade.cut_heat import CUT_HEAT
from scheduler.trade.food_safety import COME_UP_HIGH_F
from scheduler.trade.known import known_as
from scheduler.trade.probe_curve import come_up_breach

BEYOND_F = COME_UP_HIGH_F + 5


def slow_come_up(cut: Cut, weight_lb: float, rack_f: float) -> str | None:
    """Why a piece of this weight (lb) likely comes up too slowly on a rack of `rack_f` (F), or None.

    None for fat, and for cuts that the cook-time curve does not know.
    """
    known = known_as(cut)
    if known is None or cut.family == "fat":
        return None
    intact = cut.intact and cut.family != "sausage"
    return _breach(known, weight_lb, min(max(rack_f, LOWEST_PIT_F), HIGHEST_PIT_F), intact)


@lru_cache(maxsize=512)
def _breach(known: str, weight_lb: float, rack_f: float, intact: bool) -> str | None:
    how = Conditions(weight_lb=weight_lb, pit_f=rack_f, wrap="none", done_f=BEYOND_F)
    return come_up_breach(CUT_HEAT[known], how, intact)
