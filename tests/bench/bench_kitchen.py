"""Small weekends of the benchmark, to be solved to the end."""

from __future__ import annotations

from functools import cache

from scheduler.bench.weekends import Case
from scheduler.model.scenario import Scenario

COARSE_MIN = 30
PLENTY_S = 300.0
"""Seconds given to what needs less than one."""


@cache
def few_cuts(variant: str, *cuts: str) -> Scenario:
    """A one-day weekend with the waves of some cuts only."""
    scenario = Case("S", variant, 0).scenario()
    waves = tuple(wave for wave in scenario.weekend.waves if wave.cut in (cuts or ("half chicken", "spare ribs")))
    weekend = scenario.weekend.model_copy(update={"waves": waves, "orders": ()})
    return scenario.model_copy(update={"weekend": weekend})
