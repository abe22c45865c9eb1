"""The part of a weekend that a general-purpose scheduling library can express, as a weekend of its own.

What stays: loads of pieces; racks, ovens, rest shelves and cabinets with their room and what fits on them; wrap
windows; early and late ends; waves and orders as deadlines; hold limits; margin lost, quality lost, moves. What goes:
fires (all burn at 275 F all weekend, for nothing, and no rack is hotter than another), hands, wrap tables, cutting
boards, the counter, shifts and wages. One recipe a cut is left, with the same minutes everywhere.
"""

from __future__ import annotations

from datetime import time

from scheduler.model.crew import WEEKDAYS, Crew, Person, ShiftPattern
from scheduler.model.menu import Cut, Hands, Menu
from scheduler.model.scenario import Scenario
from scheduler.model.site import Firebox, Rack, Site, Smoker

SETPOINT_F = 275
REST_MIN = 15
"""Rests are rounded up to whole steps, so that all minutes of the part are."""
PEOPLE = 6
"""Each load written on a sheet takes a minute of somebody, if its pieces take none."""


def part_of(scenario: Scenario) -> Scenario:
    """The part, to be planned and audited like any weekend."""
    days = tuple(day.model_copy(update={"counter_hands": 0}) for day in scenario.weekend.days)
    return Scenario(
        site=_site(scenario.site),
        menu=Menu(cuts=tuple(map(_cut, scenario.menu.cuts))),
        crew=_crew(scenario.weekend.plan_from.hour),
        weekend=scenario.weekend.model_copy(update={"days": days, "away": ()}),
    )


def _site(site: Site) -> Site:
    return site.model_copy(
        update={
            "fireboxes": tuple(_free_fire(box) for box in site.fireboxes),
            "smokers": tuple(_even(smoker) for smoker in site.smokers),
            "wood_cents_per_lb": 0,
        }
    )


def _free_fire(box: Firebox) -> Firebox:
    free = dict.fromkeys(("warm_up_min", "tend_min", "light_min", "clean_out_min", "setpoint_change_min"), 0)
    return box.model_copy(update=free | {"setpoints_f": (SETPOINT_F,)})


def _even(smoker: Smoker) -> Smoker:
    def even(rack: Rack) -> Rack:
        return rack.model_copy(update={"offset_f": 0})

    return smoker.model_copy(update={"racks": tuple(map(even, smoker.racks))})


def _cut(cut: Cut) -> Cut:
    recipe = next(r for r in cut.recipes if r.low_f <= SETPOINT_F <= r.high_f)
    rest = -(-cut.rest_min // REST_MIN) * REST_MIN
    hands = Hands(load_min=0, pull_min=0)
    return cut.model_copy(update={"recipes": (recipe,), "rest_min": rest, "hands": hands})


def _crew(hour: int) -> Crew:
    """Enough people are there from the start of planning on, for nothing."""
    anybody = Person(name="anybody", skills=("fire", "pit", "wrap", "slice", "counter"), wage_cents_per_h=0)
    return Crew(
        people=tuple(anybody.model_copy(update={"name": f"anybody {i + 1}"}) for i in range(PEOPLE)),
        patterns=tuple(
            ShiftPattern(name=name, starts=time(start % 24), length_min=720, days=WEEKDAYS)
            for name, start in (("first", hour), ("second", hour + 12))
        ),
        longest_shift_min=720,
        least_rest_min=0,
        hand_minutes_per_h=60,
        fires_per_person=20,
    )
