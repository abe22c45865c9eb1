"""Figures of a recipe: the promise covers every wrap in the window, and the model takes them."""

from __future__ import annotations

from dataclasses import asdict, replace

import pytest

from scheduler.model.base import Range
from scheduler.model.menu import Recipe
from scheduler.trade.cooking import Conditions, cook_span
from scheduler.trade.cut_heat import CUT_HEAT, CutHeat
from scheduler.trade.recipe_figures import recipe_figures
from scheduler.trade.stage import finish_range

BRISKET = CUT_HEAT["packer brisket"]


@pytest.mark.parametrize("cut", CUT_HEAT.values(), ids=list(CUT_HEAT))
@pytest.mark.parametrize("pit_f", [225, 250, 275])
def test_the_model_takes_the_figures_of_every_cut(cut: CutHeat, pit_f: int) -> None:
    figures = recipe_figures(cut, Conditions(pit_f=pit_f))
    recipe = Recipe(
        name="worked out",
        low_f=pit_f - 15,
        high_f=pit_f + 15,
        wrap_kind=cut.usual_wrap,
        wrap_from_min=figures.wrap_from_min,
        wrap_to_min=figures.wrap_to_min,
        finish=Range(**asdict(figures.finish)),
        ref_weight_lb=figures.ref_weight_lb,
        slower_pct_per_lb=figures.slower_pct_per_lb,
        faster_pct_per_f=figures.faster_pct_per_f,
    )
    assert recipe.wrapped == (cut.usual_wrap != "none")
    assert figures.slower_pct_per_lb > 0
    assert figures.faster_pct_per_f > 0


def test_the_promise_covers_the_quick_and_the_slow_piece_at_every_wrap() -> None:
    figures = recipe_figures(BRISKET)
    for minute in range(figures.wrap_from_min, figures.wrap_to_min + 1, 30):
        span = cook_span(BRISKET, Conditions(wrap_min=minute))
        assert figures.finish.early_min <= span.early_min - minute
        assert span.late_min - minute <= figures.finish.late_min


def test_an_earlier_window_makes_a_narrower_promise() -> None:
    early, late = recipe_figures(BRISKET, window_min=(300, 360)), recipe_figures(BRISKET, window_min=(500, 560))
    ratio = [figures.finish.late_min / figures.finish.early_min for figures in (early, late)]
    assert ratio[0] < ratio[1]
    assert (early.wrap_from_min, early.wrap_to_min) == (300, 360)


def test_the_slopes_of_a_recipe_follow_the_curve_nearby() -> None:
    bare = Conditions(wrap="none")
    figures = recipe_figures(BRISKET, bare)
    recipe = Recipe(
        name="bare",
        low_f=225,
        high_f=275,
        wrap_kind="none",
        finish=Range(**asdict(figures.finish)),
        ref_weight_lb=figures.ref_weight_lb,
        slower_pct_per_lb=figures.slower_pct_per_lb,
        faster_pct_per_f=figures.faster_pct_per_f,
    )
    for weight_lb, offset_f in ((10.0, 0), (13.0, 0), (11.5, 10), (13.0, 15)):
        curve = cook_span(BRISKET, replace(bare, weight_lb=weight_lb, pit_f=250.0 + offset_f)).likely_min
        assert finish_range(recipe, weight_lb, offset_f).likely_min == pytest.approx(curve, rel=0.03)


@pytest.mark.parametrize("window", [(0, 60), (300, 200), (200, 5000)])
def test_a_window_outside_the_cook_is_refused(window: tuple[int, int]) -> None:
    with pytest.raises(ValueError, match="wrap window"):
        recipe_figures(BRISKET, window_min=window)
