"""The range envelope: a thousand outcomes of the plan of each shipped weekend break no rule.

Outside source: chance. Done times are drawn from the recipes' ranges, the extremes among them, and each piece is
followed through the kitchen by `scheduler.audit.outcomes`, which knows neither the solver nor the rules of the audit.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from random import Random

import pytest

from scheduler.audit import audit
from scheduler.audit.outcomes import Each, Shape, sample_breaches
from scheduler.books import read_scenario
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.solve.checked import checked
from scheduler.solve.grid import build_grid
from scheduler.solve.improve import first_plans, step

SCENARIOS = Path(__file__).parents[2] / "scenarios"
NAMES = sorted(path.name for path in SCENARIOS.iterdir() if path.is_dir())
OUTCOMES = 1000
MOVES = 10


@cache
def planned(name: str) -> tuple[Plan, Scenario]:
    """A plan of a shipped weekend, audited, after a few moves of the search; no time goes into its bound."""
    scenario = read_scenario(SCENARIOS / name)
    now, rng = next(iter(first_plans(build_grid(scenario)))), Random(1)
    for _ in range(MOVES):
        new = step(now, rng)
        if new is not None and new.cents < now.cents:
            now = new
    plan = checked(now.board, repairs=12)
    assert plan is not None
    return plan, scenario


def test_there_are_weekends_to_try() -> None:
    assert len(NAMES) >= 4
    assert all(len(planned(name)[0].loads) >= 3 for name in NAMES)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(("shape", "each"), [("uniform", "piece"), ("triangular", "load")])
def test_a_thousand_outcomes_break_nothing(name: str, shape: Shape, each: Each) -> None:
    plan, scenario = planned(name)
    assert audit(plan, scenario) == ()
    assert sample_breaches(plan, scenario, outcomes=OUTCOMES, shape=shape, each=each) == ()


@pytest.mark.parametrize("name", NAMES)
def test_a_recipe_that_takes_longer_than_the_plan_believes_is_found_out(name: str) -> None:
    plan, scenario = planned(name)
    cuts = tuple(
        cut.model_copy(
            update={
                "recipes": tuple(
                    recipe.model_copy(
                        update={"finish": recipe.finish.model_copy(update={"late_min": recipe.finish.late_min + 120})}
                    )
                    for recipe in cut.recipes
                )
            }
        )
        for cut in scenario.menu.cuts
    )
    slower = scenario.model_copy(update={"menu": scenario.menu.model_copy(update={"cuts": cuts})})
    assert "outcome-not-ready" in {breach.code for breach in sample_breaches(plan, slower, outcomes=20)}
