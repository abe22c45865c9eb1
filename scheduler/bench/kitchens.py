"""Kitchens and crews of the benchmark, in proportion to the pieces. All of it is invented.

Fires, racks, wages and shifts are like those of the real size among the invented scenarios, a little different with
each seed.
"""

from __future__ import annotations

from datetime import time
from math import ceil
from random import Random

from scheduler.bench.sizes import USUAL_SMOKERS, Family, Variant
from scheduler.model.crew import Crew, Person, ShiftPattern, Skill, Weekday
from scheduler.model.site import Firebox, HoldCabinet, Oven, Rack, RestShelf, Site, Smoker

SMALL_CUTS = ("spare ribs", "turkey breast", "half chicken", "sausage")
"""What fits on the top racks: too little headroom there for the big cuts."""
TWIN_RACKS = (("top", 6, 10, SMALL_CUTS), ("middle", 7, 0, ()), ("bottom", 7, -10, ()))
LONE_RACKS = (("hot end", 5, 15, ()), ("middle", 6, 0, ()), ("cool end", 6, -15, ()))
LEAST_SPACES = 2

ROLES: tuple[tuple[tuple[Skill, ...], int, tuple[str, ...]], ...] = (
    (("fire", "pit", "wrap", "slice"), 2600, ()),
    (("slice", "counter"), 1800, ("day", "evening")),
    (("fire", "pit", "wrap"), 2300, ()),
    (("wrap", "slice", "counter"), 1900, ("friday prep", "opening", "day", "evening")),
    (("fire", "pit", "wrap"), 2200, ()),
    (("pit", "slice", "counter"), 1900, ("friday prep", "opening", "day", "evening")),
    (("fire", "pit", "wrap", "slice"), 2400, ()),
    (("slice", "counter"), 1400, ("day", "evening")),
    (("pit", "wrap", "slice"), 2000, ("friday prep", "opening", "day", "evening")),
)
"""Skills, wage in cents an hour, patterns (any if empty) of a crew of nine; larger crews repeat it."""
SMALL_ROLES: tuple[tuple[tuple[Skill, ...], int, tuple[str, ...]], ...] = (
    (("fire", "pit", "wrap", "slice"), 2400, ()),
    (("slice", "counter"), 1600, ("day",)),
    (("fire", "pit", "wrap", "slice"), 2200, ()),
    (("pit", "wrap", "slice", "counter"), 1800, ("opening", "day")),
)
"""The same of a crew of four."""


def site_of(family: Family, variant: Variant, rng: Random, cuts: set[str]) -> Site:
    """The kitchen: racks, shelves, cabinets and tables for the family's pieces of some cuts."""
    scale = family.scale
    boxes, smokers = _pits(family, variant, rng, cuts)
    half = max(1, round(scale))
    rest, hold = 46 * scale, 44 * scale * variant.hold
    return Site(
        name=f"Bench kitchen {family.name} (invented)",
        fireboxes=tuple(boxes),
        smokers=tuple(smokers),
        ovens=tuple(Oven(name=f"oven {i + 1}", spaces=max(LEAST_SPACES, 6), oven_f=260) for i in range(half)),
        rest_shelves=tuple(
            RestShelf(name=f"rest shelf {i + 1}", spaces=max(LEAST_SPACES, round(rest / half / 2)))
            for i in range(2 * half)
        ),
        hold_cabinets=tuple(
            HoldCabinet(
                name=f"cabinet {i + 1}",
                spaces=max(LEAST_SPACES, round(hold / half * (0.6, 0.4)[i % 2])),
                hold_f=(150, 145)[i % 2],
            )
            for i in range(2 * half)
        ),
        wrap_tables=max(1, round(2 * scale * variant.tables)),
        cutting_boards=max(2, round(3 * scale)),
        power_slicer=family.name != "S",
        wood_cents_per_lb=round(rng.choice((8, 9, 11)) * (3 if variant.slow_fires else 1)),
    )


def _pits(family: Family, variant: Variant, rng: Random, cuts: set[str]) -> tuple[list[Firebox], list[Smoker]]:
    """Fireboxes and smokers. Of four smokers two share a firebox, with a shared firebox any two do."""
    room = family.scale / (family.smokers / USUAL_SMOKERS) * variant.racks
    groups: list[int] = []
    while sum(groups) < family.smokers:
        pair = variant.shared or (len(groups) % 3 == 0 and family.smokers > 2)
        groups.append(min(2 if pair else 1, family.smokers - sum(groups)))
    boxes: list[Firebox] = []
    smokers: list[Smoker] = []
    for number, fed in enumerate(groups, 1):
        boxes.append(_firebox(f"box {number}", variant, rng, twin=fed > 1))
        for _ in range(fed):
            racks = tuple(
                Rack(
                    name=name,
                    spaces=max(LEAST_SPACES, round(spaces * room)),
                    offset_f=offset,
                    fits=tuple(cut for cut in fits if cut in cuts),
                )
                for name, spaces, offset, fits in (TWIN_RACKS if fed > 1 else LONE_RACKS)
            )
            smokers.append(Smoker(name=f"smoker {len(smokers) + 1}", firebox=boxes[-1].name, racks=racks))
    return boxes, smokers


def _firebox(name: str, variant: Variant, rng: Random, *, twin: bool) -> Firebox:
    longer = 30 if variant.slow_fires else 0
    return Firebox(
        name=name,
        setpoints_f=(250, 275),
        warm_up_min=(105 if twin else rng.choice((75, 90))) + longer,
        tend_every_min=45,
        tend_min=4,
        light_min=10 if twin else 8,
        clean_out_min=45 if twin else 30,
        setpoint_change_min=30 + longer,
        wood_lb_per_h=25 if twin else rng.choice((14, 16, 18)),
    )


def crew_of(family: Family, variant: Variant, rng: Random) -> Crew:
    """The people: in proportion to the pieces, but enough to man the counter."""
    roles = SMALL_ROLES if family.days == 1 else ROLES
    count = len(roles) if family.days == 1 else ceil(len(ROLES) * family.scale * variant.people)
    people = []
    for i in range(max(count, len(roles) - 1)):
        skills, wage, patterns = roles[i % len(roles)]
        wage = 10 * round(wage * rng.uniform(0.93, 1.07) / 10)
        people.append(Person(name=f"hand {i + 1}", skills=skills, wage_cents_per_h=wage, patterns=patterns))
    if family.days == 1 and variant.people < 1:
        people[2] = people[2].model_copy(update={"skills": ("fire", "pit")})
    return Crew(
        people=tuple(people),
        patterns=_patterns(family),
        longest_shift_min=600,
        least_rest_min=540,
        hand_minutes_per_h=50,
        fires_per_person=2 if variant.slow_fires else 3,
    )


def _patterns(family: Family) -> tuple[ShiftPattern, ...]:
    if family.days == 1:
        return (
            _pattern("late", 16, 420, "fri"),
            ShiftPattern(name="night", starts=time(22, 30), length_min=600, days=("fri",)),
            _pattern("opening", 5, 480, "sat"),
            _pattern("day", 8, 510, "sat"),
        )
    return (
        _pattern("friday prep", 8, 480, "fri"),
        _pattern("opening", 6, 480, "sat", "sun"),
        _pattern("day", 10, 480, "sat", "sun"),
        _pattern("evening", 14, 510, "fri", "sat"),
        _pattern("night", 22, 540, "fri", "sat"),
    )


def _pattern(name: str, hour: int, length_min: int, *days: Weekday) -> ShiftPattern:
    return ShiftPattern(name=name, starts=time(hour), length_min=length_min, days=days)
