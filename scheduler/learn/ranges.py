"""The kitchen's own early, likely and late for each recipe, from its cooks.

Every cook is brought to the recipe's reference weight and a rack without offset (`scheduler.trade.stage`), then the
small effects of its smoker, rack and person are taken out, and what is left speaks of the recipe's range
(`scheduler.learn.posterior`). The start is the menu's range as it was before anything was learned; where the cook-time
curve disagrees with it, the menu is believed less.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import log

import numpy as np

from scheduler.learn.effects import Effect, effects_of, factor_of
from scheduler.learn.normal import TENTH_Z, Bools, Floats
from scheduler.learn.posterior import LIKELY_SD, Figure, Posterior, Side, posterior
from scheduler.model.base import Range
from scheduler.model.cooks import Cook
from scheduler.model.menu import Cut, Menu, Recipe
from scheduler.trade.cooking import Conditions, estimate
from scheduler.trade.known import heat_of
from scheduler.trade.stage import stretch

ROUND_MIN = 5
LEAST_COOKS = 3
"""Fewer ended cooks than this leave the menu as it is."""
ODDS_OF_ODD = 0.5
FAR_OUT = 2.0
"""A cook further from likely than so many times early or late is named too (about one in two hundred is by chance)."""
LEAST_SIDE = 0.02
"""A side of the menu's range is taken as at least this share of the likely time, so that it can widen."""
TURNS = 3

RecipeKey = tuple[str, str]
"""Cut and recipe."""


@dataclass(frozen=True, slots=True)
class LearnedRange:
    """One recipe, at its reference weight on a rack without offset; minutes."""

    cut: str
    recipe: str
    planned: Range
    """As the menu has it now."""
    before: Range
    """As it was before anything was learned."""
    found: Range
    """Rounded to five minutes; as planned where too few cooks ended."""
    early: Figure
    likely: Figure
    late: Figure
    ended: int
    cut_off: int
    """Cooks that were ended before they were done."""
    odd: tuple[Cook, ...]
    """Cooks that look like slips of the pen, or pieces apart: told; those far out count for little."""
    curve_min: int | None
    """Likely time by the cook-time curve; None where it does not know the cut."""

    @property
    def cooks(self) -> int:
        """All cooks behind it."""
        return self.ended + self.cut_off

    @property
    def moved(self) -> bool:
        """True if the menu's range should change."""
        return self.found != self.planned


@dataclass(frozen=True, slots=True)
class Lessons:
    """All that was learned of cooking times."""

    ranges: tuple[LearnedRange, ...]
    effects: tuple[Effect, ...]


def learn(menu: Menu, cooks: Sequence[Cook]) -> Lessons:
    """Ranges of every recipe that was cooked, and what smokers, racks and people add."""
    ordered = sorted(cooks, key=lambda cook: (cook.cut, cook.recipe, cook.at.timestamp(), cook.said))
    groups: dict[RecipeKey, list[Cook]] = defaultdict(list)
    for cook in ordered:
        groups[cook.cut, cook.recipe].append(cook)
    starts = {key: _Start.of(menu.cut(key[0]), menu.cut(key[0]).recipe(key[1])) for key in groups}
    effects: tuple[Effect, ...] = ()
    for _ in range(TURNS):
        found = {key: _fit(starts[key], group, effects) for key, group in groups.items()}
        effects = _effects(groups, starts, found)
    found = {key: _fit(starts[key], group, effects) for key, group in groups.items()}
    ranges = tuple(_told(menu, key, starts[key], groups[key], found[key], effects) for key in groups)
    return Lessons(ranges, effects)


@dataclass(frozen=True, slots=True)
class _Start:
    """Where learning starts from for a recipe."""

    recipe: Recipe
    before: Range
    side: Side
    curve_min: int | None

    @classmethod
    def of(cls, cut: Cut, recipe: Recipe) -> _Start:
        before = recipe.finish if recipe.learned is None else recipe.learned.before
        likely = float(before.likely_min)
        least = LEAST_SIDE * likely
        curve = curve_likely_min(cut, recipe)
        doubt = 0.0 if curve is None else abs(log(curve / likely))
        side = Side(
            likely,
            max(likely - before.early_min, least) / TENTH_Z,
            max(before.late_min - likely, least) / TENTH_Z,
            max(LIKELY_SD, doubt),
        )
        return cls(recipe, before, side, curve)


def curve_likely_min(cut: Cut, recipe: Recipe) -> int | None:
    """Likely minutes of the uncertain stage by the cook-time curve; None where it does not know the cut."""
    heat = heat_of(cut)
    if heat is None:
        return None
    pit_f = min(max((recipe.low_f + recipe.high_f) / 2, 180.0), 400.0)
    wrap_min = (recipe.wrap_from_min + recipe.wrap_to_min) / 2 if recipe.wrapped else None
    try:
        how = Conditions(
            weight_lb=recipe.ref_weight_lb, pit_f=pit_f, wrap=recipe.wrap_kind, done_f=cut.done_f, wrap_min=wrap_min
        )
        found = estimate(heat, how)
    except ValueError:
        return None
    stage = found.total if found.finish is None else found.finish
    return max(1, stage.likely_min)


def _times(start: _Start, cooks: Sequence[Cook], effects: Sequence[Effect]) -> Floats:
    """Minutes at the recipe's reference, without the effects."""
    recipe = start.recipe
    return np.array(
        [c.minutes / stretch(recipe, c.weight_lb, c.offset_f) / factor_of(c, effects) for c in cooks], dtype=np.float64
    )


def _fit(start: _Start, cooks: Sequence[Cook], effects: Sequence[Effect]) -> Posterior:
    done = np.array([cook.done for cook in cooks], dtype=np.bool_)
    return posterior(_times(start, cooks, effects), done, start.side)


def _effects(
    groups: Mapping[RecipeKey, list[Cook]], starts: Mapping[RecipeKey, _Start], found: Mapping[RecipeKey, Posterior]
) -> tuple[Effect, ...]:
    """Effects of the whole kitchen, from what the ranges leave unexplained. Cooks that were cut off say too little."""
    cooks: list[Cook] = []
    residuals, spreads = [], []
    for key, group in groups.items():
        fit = found[key]
        times = _times(starts[key], group, ())
        for cook, time, odd in zip(group, times, fit.odd, strict=True):
            if cook.done and odd < ODDS_OF_ODD:
                cooks.append(cook)
                residuals.append(time / fit.likely.middle - 1)
                spreads.append((fit.below if time < fit.likely.middle else fit.above) / fit.likely.middle)
    if not cooks:
        return ()
    return effects_of(cooks, np.array(residuals), np.maximum(np.array(spreads), 1e-3))


def _told(
    menu: Menu, key: RecipeKey, start: _Start, cooks: list[Cook], fit: Posterior, effects: Sequence[Effect]
) -> LearnedRange:
    ended = sum(cook.done for cook in cooks)
    planned = start.recipe.finish
    found = _rounded(fit) if ended >= LEAST_COOKS else planned
    out = _far_out(_times(start, cooks, effects), fit)
    odd = tuple(c for c, odds, far in zip(cooks, fit.odd, out, strict=True) if odds >= ODDS_OF_ODD or (far and c.done))
    return LearnedRange(
        cut=key[0],
        recipe=key[1],
        planned=planned,
        before=start.before,
        found=found,
        early=fit.early,
        likely=fit.likely,
        late=fit.late,
        ended=ended,
        cut_off=len(cooks) - ended,
        odd=odd,
        curve_min=start.curve_min,
    )


def _far_out(times: Floats, fit: Posterior) -> Bools:
    side = np.where(times < fit.likely.middle, fit.below, fit.above)
    return np.asarray(np.abs(times - fit.likely.middle) > FAR_OUT * TENTH_Z * side)


def _rounded(fit: Posterior) -> Range:
    early, likely, late = (
        max(ROUND_MIN, ROUND_MIN * round(figure.middle / ROUND_MIN)) for figure in (fit.early, fit.likely, fit.late)
    )
    return Range(early_min=early, likely_min=max(early, likely), late_min=max(early, likely, late))
