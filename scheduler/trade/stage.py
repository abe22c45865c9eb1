"""From a recipe to minutes: the wrap window and the finish range at a rack, for a piece of a weight."""

from __future__ import annotations

from math import ceil, floor

from scheduler.model.base import Range
from scheduler.model.menu import Recipe
from scheduler.trade.cooking import Reason

LEAST_FACTOR = 0.4
"""However hot the rack, a stage keeps at least this share of its time: the percentages are only good near the
middle.
"""


def stretch(recipe: Recipe, weight_lb: float, offset_f: int) -> float:
    """Factor on all times of a recipe for a piece weight (lb) and a rack's offset (F).

    Linear in both, about the recipe's own reference; common practice, no source for the form.
    """
    heavier = recipe.slower_pct_per_lb * (weight_lb - recipe.ref_weight_lb)
    hotter = recipe.faster_pct_per_f * offset_f
    return max(LEAST_FACTOR, 1 + (heavier - hotter) / 100)


def wrap_window_min(recipe: Recipe, weight_lb: float, offset_f: int) -> tuple[int, int]:
    """First and last minute after loading at which a wrapped recipe may be wrapped."""
    factor = stretch(recipe, weight_lb, offset_f)
    return round(recipe.wrap_from_min * factor), round(recipe.wrap_to_min * factor)


def finish_range(recipe: Recipe, weight_lb: float, offset_f: int) -> Range:
    """The uncertain stage, in minutes from the wrap (or from loading when unwrapped) to done.

    Early is rounded down and late up, so that rounding never narrows the promise.
    """
    factor = stretch(recipe, weight_lb, offset_f)
    return Range(
        early_min=max(1, floor(recipe.finish.early_min * factor)),
        likely_min=max(1, round(recipe.finish.likely_min * factor)),
        late_min=ceil(recipe.finish.late_min * factor),
    )


def reasons(recipe: Recipe, weight_lb: float, offset_f: int) -> tuple[Reason, ...]:
    """What moved the likely time of the uncertain stage away from the recipe's own, in minutes; the biggest first."""
    likely = recipe.finish.likely_min
    heavier = round(likely * recipe.slower_pct_per_lb * (weight_lb - recipe.ref_weight_lb) / 100)
    cooler = round(-likely * recipe.faster_pct_per_f * offset_f / 100)
    found = (
        Reason(heavier, f"{weight_lb:.1f} lb a piece"),
        Reason(cooler, f"rack {abs(offset_f)} °F {'hotter' if offset_f > 0 else 'cooler'} than the fire"),
    )
    return tuple(sorted((reason for reason in found if reason.delta_min), key=lambda reason: -abs(reason.delta_min)))
