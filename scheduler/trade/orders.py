"""From a plan to what has to be bought and done before it: meat by the case, thawing, trimming, cooler space, wood.

The plan's own shifts do not hold this work; it lies before them. Minutes, cases and cooler space are common practice
without source (see `buying`); wood is what the kitchen's own fireboxes burn in an hour, and for an order as much as a
hard burn may take.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from scheduler.model.clock import elapsed_min
from scheduler.model.fold import folded
from scheduler.model.menu import Cut
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.trade.buying import (
    COOLER_LB_PER_CUFT,
    ITEMS,
    BuyLine,
    Item,
    Need,
    PrepDay,
    Triple,
    buying_list,
    prep_days,
    thaw_days,
)
from scheduler.trade.known import known_as
from scheduler.trade.portions import CutPortions, portions_of
from scheduler.trade.wood import LB_PER_H, cords_to_order
from scheduler.trade.yields import CUT_YIELD, yield_chain

GUESSED_TRIM_MIN: Triple = (1, 3, 8)
GUESSED_SEASON_MIN: Triple = (1, 2, 4)
"""Minutes a piece for a cut that no table knows (guessed)."""
HARD_BURN = max(high / likely for _, likely, high in LB_PER_H.values())
"""What a hard burn takes over a usual one: 25 against 16 lb an hour in a pit of 500 gallons (common practice)."""


@dataclass(frozen=True, slots=True)
class Thaw:
    """Pieces that go from the freezer into the cooler on a day."""

    on: date
    cut: str
    pieces: int
    ready_on: date


@dataclass(frozen=True, slots=True)
class CoolerDay:
    """Raw meat in the cooler at its fullest on a day."""

    on: date
    weight_lb: float
    cuft: float


@dataclass(frozen=True, slots=True)
class WoodOrder:
    """Pounds that the plan's fires likely burn and may burn, and cords of seasoned wood that cover the latter."""

    likely_lb: float
    hard_lb: float
    cords: float


@dataclass(frozen=True, slots=True)
class OwnTrim:
    """Fat that comes off the plan's own beef when it is trimmed, against the fat that the plan renders, lb."""

    trim_lb: Triple
    needed_lb: float


@dataclass(frozen=True, slots=True)
class Orders:
    """All that has to be bought and done before a plan starts."""

    lines: tuple[BuyLine, ...]
    items: Mapping[str, Item]
    prep: tuple[PrepDay, ...]
    thaws: tuple[Thaw, ...]
    cooler: tuple[CoolerDay, ...]
    wood: WoodOrder
    own_trim: OwnTrim | None
    portions: tuple[CutPortions, ...]

    @property
    def cost_cents(self) -> int:
        """Cost of all meat bought, whole cases."""
        return sum(line.cost_cents for line in self.lines)


def item_for(cut: Cut) -> Item:
    """How a cut of the menu is bought and prepared: by the trade's table, or guessed; the menu's own figures first."""
    known = known_as(cut)
    item = (
        ITEMS[known]
        if known is not None
        else Item(cut.name, cut.imps, cut.name, (), 1, GUESSED_TRIM_MIN, GUESSED_SEASON_MIN)
    )
    return replace(
        item,
        cut=cut.name,
        imps=cut.imps or item.imps,
        bands_lb=item.bands_lb or ((cut.raw_low_lb, cut.raw_high_lb),),
        case_pieces=cut.case_pieces or item.case_pieces,
    )


def needs_of(plan: Plan, scenario: Scenario) -> tuple[Need, ...]:
    """Raw pieces that a plan cooks, by cut and the local day on which they are loaded. KeyError on an unknown cut.

    What is in stock counts for the first day.
    """
    zone = ZoneInfo(plan.timezone)
    pieces: dict[tuple[date, str], int] = defaultdict(int)
    for load in plan.loads:
        pieces[load.load_at.astimezone(zone).date(), load.cut] += load.pieces
    stock = dict(scenario.weekend.in_stock)
    found = []
    for (day, name), count in sorted(pieces.items()):
        cut = scenario.menu.cut(name)
        weight = scenario.weight_lb(cut)
        price = cut.cost_cents / cut.weight_lb
        found.append(Need(name, count, weight, day, price, cut.frozen, stock.pop(name, 0)))
    return tuple(found)


def _thaws(needs: tuple[Need, ...]) -> tuple[Thaw, ...]:
    found = []
    for need in needs:
        if need.frozen:
            trim_on = need.load_on - timedelta(days=1)
            start = trim_on - timedelta(days=thaw_days(need.weight_lb))
            found.append(Thaw(start, need.cut, need.pieces, trim_on))
    return tuple(sorted(found, key=lambda thaw: (thaw.on, thaw.cut)))


def _cooler(needs: tuple[Need, ...], lines: tuple[BuyLine, ...]) -> tuple[CoolerDay, ...]:
    """Raw meat at hand on each day from the first delivery to the last loading, in the morning of that day."""
    if not needs:
        return ()
    first = min(line.deliver_by for line in lines)
    last = max(need.load_on for need in needs)
    weight = {line.cut: line.weight_lb / line.pieces for line in lines if line.pieces}
    found = []
    for step in range((last - first).days + 1):
        day = first + timedelta(days=step)
        here = sum(line.weight_lb for line in lines if line.deliver_by <= day)
        here += sum(need.in_stock * need.weight_lb for need in needs)
        here -= sum(need.pieces * weight.get(need.cut, need.weight_lb) for need in needs if need.load_on < day)
        found.append(CoolerDay(day, max(0.0, here), max(0.0, here) / COOLER_LB_PER_CUFT))
    return tuple(found)


def wood_order(plan: Plan, scenario: Scenario) -> WoodOrder:
    """Wood for all burns of a plan, and cords of red oak, the lightest of the usual kinds, that cover a hard burn."""
    likely = sum(
        scenario.site.firebox(fire.firebox).wood_lb_per_h * elapsed_min(fire.lit_at, fire.out_at) / 60
        for fire in plan.fires
    )
    return WoodOrder(likely, likely * HARD_BURN, cords_to_order(likely * HARD_BURN))


def _own_trim(needs: tuple[Need, ...], scenario: Scenario) -> OwnTrim | None:
    cuts = {need.cut: scenario.menu.cut(need.cut) for need in needs}
    fat = sum(need.pieces * need.weight_lb for need in needs if cuts[need.cut].family == "fat")
    trims = [
        yield_chain(CUT_YIELD[known], need.pieces, need.weight_lb).trim_lb
        for need in needs
        if cuts[need.cut].family == "beef" and (known := known_as(cuts[need.cut])) in CUT_YIELD
    ]
    if not fat or not trims:
        return None
    low, likely, high = (sum(amounts) for amounts in zip(*trims, strict=True))
    return OwnTrim((low, likely, high), fat)


def orders_of(plan: Plan, scenario: Scenario) -> Orders:
    """The buying list and the prep of a plan. KeyError on names that the scenario does not have."""
    plan, scenario = folded(plan, scenario)
    needs = needs_of(plan, scenario)
    items = {need.cut: item_for(scenario.menu.cut(need.cut)) for need in needs}
    lines = tuple(buying_list(needs, items))
    return Orders(
        lines=lines,
        items=items,
        prep=tuple(day for day in prep_days(needs, items) if day.minutes[2]),
        thaws=_thaws(needs),
        cooler=_cooler(needs, lines),
        wood=wood_order(plan, scenario),
        own_trim=_own_trim(needs, scenario),
        portions=portions_of(needs, scenario),
    )
