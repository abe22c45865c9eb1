"""The figures of a menu's recipe, worked out from the cook-time curve: a start for somebody without a log of their own.

A recipe lets the crew wrap at any minute of its window and promises early, likely and late from there to done. So
the promise covers every choice: its early is that of the quickest piece at the latest wrap, its late that of the
slowest at the first. The later the window, the wider the promise, for by then the pieces have drifted apart.
The percentages are the slope of the likely time at the recipe's own weight and temperature.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, floor

from scheduler.trade.cooking import Conditions, Span, cook_span, estimate
from scheduler.trade.cut_heat import CutHeat

MOST_PCT_PER_LB = 50.0
"""What a recipe may say at most; only light pieces such as links would be above it, and they hardly vary by a pound."""
LEAST_FINISH_MIN = 5
"""A piece that may be done when it is wrapped still takes so long to wrap and probe."""


@dataclass(frozen=True, slots=True)
class RecipeFigures:
    """Minutes of one recipe at its reference weight (lb) and rack temperature, and how it stretches.

    The wrap window is 0 to 0 if it is not wrapped; `finish` then counts from loading. `slower_pct_per_lb` is for
    each pound above the reference, `faster_pct_per_f` for each degree above the rack temperature.
    """

    ref_weight_lb: float
    wrap_from_min: int
    wrap_to_min: int
    finish: Span
    slower_pct_per_lb: float
    faster_pct_per_f: float


def recipe_figures(
    cut: CutHeat, how: Conditions | None = None, window_min: tuple[int, int] | None = None
) -> RecipeFigures:
    """Figures of a recipe for these conditions, with the wrap window of the curve or one of your own (minutes).

    ValueError as in `cooking.estimate`, or for a window that does not rise or starts after the likely done time.
    """
    how = how or Conditions()
    weight_lb = how.weight_lb or cut.weight_lb
    found = estimate(cut, how)
    window = (window_min or found.wrap_window_min) if found.finish else None
    if window and not 0 < window[0] <= window[1] < found.total.likely_min:
        raise ValueError(f"a wrap window of {window[0]} to {window[1]} minutes does not lie inside this cook")
    return RecipeFigures(
        ref_weight_lb=weight_lb,
        wrap_from_min=window[0] if window else 0,
        wrap_to_min=window[1] if window else 0,
        finish=_finish(cut, how, window) if window else found.total,
        slower_pct_per_lb=min(MOST_PCT_PER_LB, round(_percent(cut, how, replace(how, weight_lb=weight_lb + 1)), 2)),
        faster_pct_per_f=round(-_percent(cut, how, replace(how, pit_f=how.pit_f + 10)) / 10, 3),
    )


def _percent(cut: CutHeat, how: Conditions, other: Conditions) -> float:
    here, there = (cook_span(cut, load).likely_min for load in (how, other))
    return (there / here - 1) * 100


def _finish(cut: CutHeat, how: Conditions, window: tuple[int, int]) -> Span:
    first, last = (cook_span(cut, replace(how, wrap_min=minute)) for minute in window)
    middle = (window[0] + window[1]) / 2
    usual = cook_span(cut, replace(how, wrap_min=middle)).likely_min - middle
    early = max(LEAST_FINISH_MIN, floor(last.early_min - window[1]))
    likely = max(early, round(usual))
    return Span(early, likely, max(likely, ceil(first.late_min - window[0])))
