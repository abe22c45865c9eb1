"""Why a range is not the one on the menu."""

from __future__ import annotations

from pathlib import Path

import pytest

from scheduler.books import read_scenario
from scheduler.model.menu import Recipe
from scheduler.trade.stage import finish_range, reasons

MENU = read_scenario(Path(__file__).parents[2] / "scenarios" / "harvest-weekend").menu
RECIPES = [recipe for cut in MENU.cuts for recipe in cut.recipes]


@pytest.mark.parametrize("offset_f", [-15, 0, 10])
@pytest.mark.parametrize("recipe", RECIPES, ids=lambda recipe: recipe.name)
def test_the_reasons_add_up_to_what_moved(recipe: Recipe, offset_f: int) -> None:
    weight_lb = recipe.ref_weight_lb + 1.5
    moved = finish_range(recipe, weight_lb, offset_f).likely_min - recipe.finish.likely_min
    why = reasons(recipe, weight_lb, offset_f)
    assert sum(reason.delta_min for reason in why) == pytest.approx(moved, abs=1)
    assert [abs(reason.delta_min) for reason in why] == sorted((abs(r.delta_min) for r in why), reverse=True)


def test_nothing_moved_has_no_reason_and_each_reason_is_a_line() -> None:
    recipe = RECIPES[0]
    assert reasons(recipe, recipe.ref_weight_lb, 0) == ()
    (reason,) = reasons(recipe, recipe.ref_weight_lb, -15)
    assert reason.delta_min > 0
    assert reason.line().endswith(": rack 15 °F cooler than the fire")
