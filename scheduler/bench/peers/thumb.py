"""Counting back from opening: the rule of thumb, made to keep the rules so that its cost can be compared."""

from __future__ import annotations

import time

from scheduler.audit import audit
from scheduler.bench.outcome import Made
from scheduler.bench.weekends import GRID_MIN
from scheduler.model.scenario import Scenario
from scheduler.solve.count_back import count_back


def counting_back(scenario: Scenario, seconds: float, grid_min: int = GRID_MIN) -> Made:
    """The rule of thumb's plan. It takes the time that it takes."""
    del seconds
    started = time.monotonic()
    plan = count_back(scenario, grid_min, strict=True)
    breaches = audit(plan, scenario)
    if breaches:
        return Made(None, note=f"its plan breaks a rule: {breaches[0].code}")
    return Made(plan, ((round(time.monotonic() - started, 2), plan.cost.total),))
