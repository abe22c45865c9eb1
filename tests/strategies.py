"""Hypothesis strategies: small invented weekends that the books accept, to be reused by tests of properties.

One service day, one or two smokers, one to three cuts, a handful of pieces, cooking times short enough that a weekend
has some fifty steps of a quarter hour. Some nights lose or gain an hour. Somebody can always man the counter.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from typing import Any

from hypothesis import strategies as st

from scheduler.model.base import Range
from scheduler.model.crew import WEEKDAYS, Crew, Person, ShiftPattern, Skill
from scheduler.model.menu import Cut, Hands, Menu, Recipe
from scheduler.model.scenario import Scenario
from scheduler.model.site import Firebox, HoldCabinet, Oven, Rack, RestShelf, Site, Smoker
from scheduler.model.weekend import Away, Order, OutOfUse, ServiceDay, Wave, Weekend

ZONE = "America/Chicago"
COMMON_DAY = date(2026, 4, 18)
DAYS = (COMMON_DAY, date(2026, 3, 8), date(2026, 11, 1))
"""A Saturday in April, and the Sundays on which the clocks of the zone go forward and back (tz database)."""
OPENS, CLOSES = time(8), time(10, 30)

Draw = Callable[[st.SearchStrategy[Any]], Any]


@st.composite
def weekends(draw: Draw, sparse: bool = False) -> Scenario:
    """A small weekend. `sparse` ones have one or two cuts and pieces a wave, so that they can be solved to the end."""
    menu = Menu(cuts=tuple(draw(_cuts(draw(st.integers(1, 2 if sparse else 3))))))
    return Scenario(
        site=draw(_sites([cut.name for cut in menu.cuts])),
        menu=menu,
        crew=draw(_crews()),
        weekend=draw(_calendars([cut.name for cut in menu.cuts], 2 if sparse else 6)),
    )


# The menu


@st.composite
def _cuts(draw: Draw, number: int) -> list[Cut]:
    makers = draw(st.permutations((wrapped_cut, bare_cut, fat_cut)))
    return [draw(maker()) for maker in makers[:number]]


def _range(draw: Draw, early: tuple[int, int], spread: int) -> Range:
    first = draw(st.integers(*early))
    likely = first + draw(st.integers(0, spread))
    return Range(early_min=first, likely_min=likely, late_min=likely + draw(st.integers(0, spread)))


@st.composite
def wrapped_cut(draw: Draw) -> Cut:
    """Smoked, wrapped within a window, finished on the rack, on another smoker or in an oven."""
    wrap_from = draw(st.integers(30, 80))
    recipe = Recipe(
        name="paper",
        low_f=225,
        high_f=draw(st.sampled_from((250, 265, 290))),
        wrap_kind=draw(st.sampled_from(("paper", "foil"))),
        wrap_from_min=wrap_from,
        wrap_to_min=wrap_from + draw(st.integers(0, 60)),
        finish=_range(draw, (40, 70), 40),
        finish_low_f=225,
        finish_high_f=draw(st.sampled_from((275, 300))),
        oven_ok=draw(st.booleans()),
        ref_weight_lb=12,
        slower_pct_per_lb=draw(st.sampled_from((0.0, 4.0))),
        faster_pct_per_f=draw(st.sampled_from((0.0, 0.5))),
    )
    return Cut(
        name="brisket",
        code="BR",
        family="beef",
        raw_low_lb=11,
        raw_high_lb=14,
        spaces=1,
        rest_spaces=draw(st.sampled_from((0.0, 1.0))),
        hold_spaces=1,
        done_f=203,
        rest_min=draw(st.sampled_from((0, 20, 30, 45))),
        hold_max_min=draw(st.sampled_from((240, 300, 480))),
        hold_free_min=draw(st.sampled_from((0, 45))),
        hold_loss_cents_per_h=draw(st.sampled_from((0, 50, 175))),
        move_cents=draw(st.sampled_from((0, 35))),
        portions=20,
        price_cents=1000,
        cost_cents=8000,
        hands=Hands(
            load_min=draw(st.sampled_from((0.5, 2.0, 3.3))),
            wrap_min=draw(st.sampled_from((0.0, 2.5))),
            pull_min=draw(st.sampled_from((0.0, 1.0))),
            slice_min=draw(st.sampled_from((0.0, 4.0))),
        ),
        recipes=(recipe,),
    )


@st.composite
def bare_cut(draw: Draw) -> Cut:
    """Not wrapped; sometimes a quicker, hotter recipe beside the first."""
    slow = Recipe(
        name="plain",
        low_f=225,
        high_f=260,
        wrap_kind="none",
        finish=_range(draw, (50, 90), 30),
        ref_weight_lb=2,
        faster_pct_per_f=draw(st.sampled_from((0.0, 0.4))),
    )
    hot = slow.model_copy(update={"name": "hot", "low_f": 265, "high_f": 320, "finish": _range(draw, (30, 50), 20)})
    held = draw(st.booleans())
    return Cut(
        name="half chicken",
        code="CH",
        family="poultry",
        raw_low_lb=2,
        raw_high_lb=2,
        spaces=draw(st.sampled_from((0.25, 0.5))),
        rest_spaces=draw(st.sampled_from((0.0, 0.5))),
        hold_spaces=0.5 if held else 0,
        done_f=165,
        rest_min=10,
        hold_max_min=draw(st.sampled_from((180, 220))),
        hold_high_f=draw(st.sampled_from((155, 180))),
        hold_free_min=30,
        hold_loss_cents_per_h=draw(st.sampled_from((0, 20))),
        portions=4,
        price_cents=700,
        cost_cents=500,
        hands=Hands(load_min=0.5, pull_min=0.5, slice_min=1),
        recipes=draw(st.sampled_from(((slow,), (slow, hot)))),
    )


@st.composite
def fat_cut(draw: Draw) -> Cut:
    """A pan of fat trim: takes room on a rack and nowhere after it."""
    recipe = Recipe(
        name="render",
        low_f=200,
        high_f=300,
        wrap_kind="none",
        finish=_range(draw, (60, 120), 30),
        ref_weight_lb=5,
    )
    return Cut(
        name="tallow",
        code="TL",
        family="fat",
        raw_low_lb=5,
        raw_high_lb=5,
        spaces=draw(st.sampled_from((1.0, 1.5))),
        rest_spaces=0,
        hold_spaces=0,
        done_f=220,
        rest_min=0,
        hold_max_min=600,
        portions=10,
        price_cents=600,
        cost_cents=300,
        hands=Hands(load_min=2, pull_min=3),
        recipes=(recipe,),
    )


# The kitchen


@st.composite
def _sites(draw: Draw, cuts: list[str]) -> Site:
    boxes = [draw(_fireboxes(name)) for name in ("oak", "hickory")[: draw(st.integers(1, 2))]]
    top = Rack(name="top", spaces=draw(st.integers(2, 8)))
    smokers = [Smoker(name="north", firebox="oak", racks=(top, *draw(_low_rack(cuts))))]
    if draw(st.booleans()):
        racks = (Rack(name="only", spaces=draw(st.integers(1, 3)), offset_f=draw(st.sampled_from((-10, 0, 15)))),)
        smokers.append(Smoker(name="south", firebox=boxes[-1].name, racks=racks))
    cabinets = [HoldCabinet(name="cabinet", spaces=draw(st.sampled_from((2.0, 6.5, 12.0))), hold_f=150)]
    if draw(st.booleans()):
        cabinets.append(HoldCabinet(name="hot box", spaces=2, hold_f=165))
    return Site(
        name="invented kitchen",
        fireboxes=tuple(boxes),
        smokers=tuple(smokers),
        ovens=(Oven(name="oven", spaces=2, oven_f=250),) if draw(st.booleans()) else (),
        rest_shelves=tuple(
            RestShelf(name=f"shelf {n}", spaces=draw(st.integers(2, 5))) for n in range(draw(st.integers(1, 2)))
        ),
        hold_cabinets=tuple(cabinets),
        wrap_tables=draw(st.integers(1, 2)),
        cutting_boards=draw(st.integers(1, 2)),
        power_slicer=draw(st.booleans()),
        wood_cents_per_lb=25,
    )


@st.composite
def _fireboxes(draw: Draw, name: str) -> Firebox:
    return Firebox(
        name=name,
        setpoints_f=draw(st.sampled_from(((250,), (250, 275), (235, 280)))),
        warm_up_min=draw(st.sampled_from((30, 40, 60))),
        tend_every_min=draw(st.sampled_from((30, 45, 50))),
        tend_min=draw(st.sampled_from((3, 5))),
        light_min=draw(st.sampled_from((5, 10))),
        clean_out_min=draw(st.sampled_from((0, 20, 30))),
        setpoint_change_min=draw(st.sampled_from((0, 20, 30))),
        wood_lb_per_h=draw(st.sampled_from((0, 8, 13))),
    )


@st.composite
def _low_rack(draw: Draw, cuts: list[str]) -> tuple[Rack, ...]:
    if not draw(st.booleans()):
        return ()
    spaces, offset = draw(st.sampled_from((1.0, 2.5))), draw(st.sampled_from((0, 10)))
    return (Rack(name="low", spaces=spaces, offset_f=offset, fits=draw(st.sampled_from(((), (cuts[0],))))),)


# The crew


@st.composite
def _crews(draw: Draw) -> Crew:
    """Three grown-ups, one of whom stands at the counter, and perhaps somebody young."""
    pit: tuple[Skill, ...] = ("fire", "pit", "wrap", "slice")
    people = [
        Person(name="Ana", skills=pit, wage_cents_per_h=draw(st.sampled_from((300, 1100, 2000)))),
        Person(name="Cal", skills=("counter", "slice"), wage_cents_per_h=1500),
    ]
    if draw(st.booleans()):
        people.append(Person(name="Ben", skills=("fire", "pit"), wage_cents_per_h=510, patterns=("early", "day")))
    if draw(st.booleans()):
        years = draw(st.sampled_from(((2009, 2010), (2011, 2012))))
        people.append(Person(name="Dee", skills=("counter", "slice", "wrap"), wage_cents_per_h=1100, birth_years=years))
    return Crew(
        people=tuple(people),
        patterns=(
            ShiftPattern(name="night", starts=time(0, 30), length_min=600, days=WEEKDAYS),
            ShiftPattern(name="early", starts=time(5), length_min=draw(st.sampled_from((300, 345))), days=WEEKDAYS),
            ShiftPattern(name="day", starts=time(7, 30), length_min=210, days=WEEKDAYS),
        ),
        longest_shift_min=600,
        least_rest_min=480,
        hand_minutes_per_h=50,
        fires_per_person=draw(st.integers(1, 2)),
    )


# The calendar


@st.composite
def _calendars(draw: Draw, cuts: list[str], most: int) -> Weekend:
    day = draw(st.sampled_from(DAYS))

    def at(clock: time, add: int = 0) -> datetime:
        return datetime.combine(day, clock) + timedelta(minutes=add)

    offsets = draw(st.lists(st.sampled_from((0, 10, 45, 60)), min_size=1, max_size=2, unique=True))
    waves = [
        Wave(cut=cut, at=at(OPENS, offset), pieces=draw(st.integers(1, most))) for cut in cuts for offset in offsets
    ]
    orders = [Order(name="Oak table", cut=cuts[0], at=at(OPENS, 75), pieces=1, broken_promise_cents=500)]
    broken = [OutOfUse(place="north", from_at=at(time(4)), until_at=at(time(4, 50)))]
    return Weekend(
        name="invented weekend",
        invented=True,
        timezone=ZONE,
        plan_from=at(time(0)),
        days=(ServiceDay(opens=at(OPENS), closes=at(CLOSES), counter_hands=1),),
        waves=tuple(waves),
        orders=tuple(orders if draw(st.booleans()) else ()),
        away=(Away(person="Cal", from_at=at(time(3)), until_at=at(time(6))),) if draw(st.booleans()) else (),
        out_of_use=tuple(broken if draw(st.booleans()) else ()),
        weights_lb={cuts[0]: draw(st.sampled_from((2.0, 12.0, 14.0)))} if draw(st.booleans()) else {},
    )
