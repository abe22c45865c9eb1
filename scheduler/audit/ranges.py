"""Rules on cooking times: wrapped in its window, done over the whole range of the recipe."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.audit.breach import Breach
from scheduler.audit.view import View
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
        weight = view.scenario.weight_lb(load.cut)
        first, last = wrap_window_min(load.recipe, weight, load.smoke.offset_f)
        first, last = load.load_min + first, load.load_min + last
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
        took = finish_range(load.recipe, view.scenario.weight_lb(load.cut), load.finish.offset_f)
        pairs = (
            ("early", load.early_min, took.early_min),
            ("likely", load.likely_min, took.likely_min),
            ("late", load.late_min, took.late_min),
        )
        for word, said, minutes in pairs:
            right = load.finish_from_min + minutes
            if said != right:
                sentence = (
                    f"Load {load.code} is said to be done {view.words.at(said)} at the {word} end of its range; "
                    f"its recipe makes it {view.words.at(right)}."
                )
                yield view.breach("done-range", sentence, [load.code], said)


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
