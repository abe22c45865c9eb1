"""Rules on cooking times: wrapped in its window, done over the whole range of the recipe."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.audit.breach import Breach
from scheduler.audit.view import LoadView, Spot, View
from scheduler.model.menu import Cut, Recipe
from scheduler.model.past import Begun
from scheduler.trade.carry_on import done_after, heat_factor, offset_of, window_after
from scheduler.trade.stage import finish_range, wrap_window_min


def wrap_kind(view: View) -> Iterator[Breach]:
    """A load is wrapped if its recipe says so, in what the recipe says."""
    for load in view.loads:
        if load.recipe is None:
            continue
        said, asked = load.load.wrap_kind, load.recipe.wrap_kind
        if said != asked:
            sentence = f"Load {load.code} has the wrap {said!r}, but its recipe {load.recipe.name} asks for {asked!r}."
        elif load.recipe.wrapped and load.wrap_min is None:
            sentence = f"Load {load.code} must be wrapped, but the plan gives no time for it."
        elif not load.recipe.wrapped and load.wrap_min is not None:
            sentence = f"Load {load.code} is not wrapped by its recipe, but the plan gives a time for it."
        else:
            continue
        yield view.breach("wrap-kind", sentence, [load.code], load.finish_from_min)


def wrap_window(view: View) -> Iterator[Breach]:
    """A load is wrapped inside the window of its recipe at the rack on which it smokes."""
    for load in view.loads:
        if load.recipe is None or load.cut is None or load.smoke is None or load.wrap_min is None:
            continue
        if not load.recipe.wrapped:
            continue
        first, last = _window(view, load, load.recipe, load.cut, load.smoke)
        if first <= load.wrap_min <= last:
            continue
        side = "before" if load.wrap_min < first else "after"
        sentence = (
            f"Load {load.code} is wrapped {view.words.at(load.wrap_min)}, {side} its window "
            f"({view.words.span(first, last)})."
        )
        yield view.breach("wrap-window", sentence, [load.code], load.wrap_min)


def done_range(view: View) -> Iterator[Breach]:
    """Early, likely and late done times are those of the recipe at the place where the load finishes."""
    for load in view.loads:
        if load.recipe is None or load.cut is None or load.finish is None:
            continue
        rights = _done(view, load, load.recipe, load.cut, load.finish)
        saids = (load.early_min, load.likely_min, load.late_min)
        for word, said, right in zip(("early", "likely", "late"), saids, rights, strict=True):
            if said != right:
                sentence = (
                    f"Load {load.code} is said to be done {view.words.at(said)} at the {word} end of its range; "
                    f"its recipe makes it {view.words.at(right)}."
                )
                yield view.breach("done-range", sentence, [load.code], said)


def _window(view: View, load: LoadView, recipe: Recipe, cut: Cut, smoke: Spot) -> tuple[int, int]:
    """First and last minute for the wrap; of a load that is on, what is left of it."""
    begun = _begun(view, load)
    after = None if begun is None else window_after(begun, _stop(view, load))
    if after is not None:
        return after
    first, last = wrap_window_min(recipe, view.scenario.weight_lb(cut), smoke.offset_f)
    return load.load_min + first, load.load_min + last


def _done(view: View, load: LoadView, recipe: Recipe, cut: Cut, finish: Spot) -> tuple[int, int, int]:
    """Early, likely and late; of a load that is on, from where it stands."""
    begun, weight = _begun(view, load), view.scenario.weight_lb(cut)
    if begun is None:
        took = finish_range(recipe, weight, finish.offset_f)
        start = load.finish_from_min
        return start + took.early_min, start + took.likely_min, start + took.late_min
    after = [spot for at, spot in load.stops if load.wrap_min is None or at >= load.wrap_min]
    ends = after[-1].offset_f if after else finish.offset_f
    now = offset_of(view.scenario.site, begun.spot)
    wrap = load.wrap_min if begun.waits_for_wrap else None
    return done_after(begun, heat_factor(recipe, weight, now, ends), wrap, _stop(view, load))


def _begun(view: View, load: LoadView) -> Begun | None:
    return None if view.past is None else view.past.of(load.code, load.load.part_of)


def _stop(view: View, load: LoadView) -> int | None:
    """When a load that is on is handed over from now on; None if it is not."""
    return next((at for at, _ in load.stops if at >= view.from_min), None)


def hold_start(view: View) -> Iterator[Breach]:
    """Holding is planned from the early pull plus the cut's rest."""
    for load in view.loads:
        if load.cut is None:
            continue
        right = load.early_min + load.cut.rest_min
        if load.hold_from_min != right:
            sentence = (
                f"Load {load.code} is planned to be held from {view.words.time(load.hold_from_min)}; its early pull "
                f"plus its rest is {view.words.at(right)}."
            )
            yield view.breach("hold-start", sentence, [load.code], load.hold_from_min)
