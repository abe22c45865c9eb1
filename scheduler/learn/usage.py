"""Minutes of hands and pounds of wood that a weekend took, each beside what the plan reckoned with."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from itertools import pairwise

from scheduler.model import log as entry
from scheduler.model.clock import elapsed_min
from scheduler.model.log import Log
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario

Row = tuple[str, float, float]
"""Of what, used, planned."""
LEAST_WOOD_LB = 1.0


def hands_rows(scenario: Scenario, log: Log) -> Iterator[Row]:
    """Minutes by task and cut, and by task and person. What the plan has no minutes for is left out."""
    for event in log.events:
        if isinstance(event, entry.Worked):
            planned = planned_min(scenario, event)
            if planned:
                what = f"{event.task} {event.cut}" if event.cut else f"{event.task} {event.place or ''}".strip()
                yield what, event.minutes, planned
                yield f"{event.task}, {event.person}", event.minutes, planned


def planned_min(scenario: Scenario, event: entry.Worked) -> float:
    """What the plan reckons for the work of an entry; 0 where it has no minutes for it."""
    site = scenario.site
    if event.task in ("light", "tend", "clean"):
        box = next((box for box in site.fireboxes if box.name == event.place), None)
        if box is None:
            return 0.0
        return float({"light": box.light_min, "tend": box.tend_min, "clean": box.clean_out_min}[event.task])
    cut = next((cut for cut in scenario.menu.cuts if cut.name == event.cut), None)
    each = 0.0 if cut is None else float(getattr(cut.hands, f"{event.task}_min", 0.0))
    return each * event.pieces


def wood_rows(plan: Plan, scenario: Scenario, log: Log) -> Iterator[Row]:
    """Pounds of wood between each two readings of what is left; where it grew, wood was brought, so it is left out."""
    readings = [event for event in log.events if isinstance(event, entry.WoodLeft)]
    for before, after in pairwise(readings):
        planned = _burnt_lb(plan, scenario, before.at, after.at)
        used = before.lb - after.lb
        if used > 0 and planned >= LEAST_WOOD_LB:
            yield "wood", used, planned


def _burnt_lb(plan: Plan, scenario: Scenario, start: datetime, end: datetime) -> float:
    """Wood of the planned burns between two times."""
    pounds = 0.0
    for fire in plan.fires:
        rate = scenario.site.firebox(fire.firebox).wood_lb_per_h
        first, last = max(start, fire.lit_at, key=datetime.timestamp), min(end, fire.out_at, key=datetime.timestamp)
        minutes = elapsed_min(first, last)
        pounds += rate * max(0, minutes) / 60
    return pounds
