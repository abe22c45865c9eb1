"""The burns that were lit before a moment."""

from __future__ import annotations

from scheduler.model.past import Burning
from scheduler.model.plan import Fire, Plan
from scheduler.model.scenario import Scenario
from scheduler.reshuffle.facts import Facts

SAME_BURN_MIN = 180
"""A lighting logged so near a planned one is that one."""


def fires_past(plan: Plan, scenario: Scenario, facts: Facts, from_min: int) -> tuple[Burning, ...]:
    """Each burn lit before, and whether it still burns."""
    found = [_burning(fire, scenario, facts, from_min) for fire in plan.fires]
    return tuple(sorted((f for f in found if f is not None), key=lambda fire: (fire.lit_min, fire.firebox)))


def _burning(fire: Fire, scenario: Scenario, facts: Facts, from_min: int) -> Burning | None:
    minute = scenario.weekend.timeline.minute
    planned, out = minute(fire.lit_at), minute(fire.out_at)
    near = [max(0, at) for at in facts.lit.get(fire.firebox, ()) if abs(at - planned) <= SAME_BURN_MIN]
    lit = min(near, key=lambda at: abs(at - planned), default=planned)
    if lit >= from_min:
        return None
    later = lit - planned
    dead = [
        outage.from_min
        for outage in facts.outages
        if outage.place == fire.firebox and lit <= outage.from_min < max(out, lit + 1) and outage.from_min <= from_min
    ]
    if dead:
        out = min(dead)
    held = tuple(
        (minute(s.from_at) + (later if i == 0 else 0), s.setpoint_f)
        for i, s in enumerate(fire.setpoints)
        if i == 0 or minute(s.from_at) < from_min
    )
    burns_on = out >= from_min and not dead
    return Burning(firebox=fire.firebox, lit_min=lit, out_min=None if burns_on else out, setpoints=held)
