"""Trials: their cut, wave and recipe are there, the wave has pieces enough, and a cut is on one trial only."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.books.parts import Parts
from scheduler.books.sentences import moment_text, suggest
from scheduler.errors import Problem
from scheduler.model.menu import Menu
from scheduler.model.trial import Trial
from scheduler.model.weekend import Weekend

WEEKEND = "weekend.toml"


def trial_problems(parts: Parts) -> Iterator[Problem]:
    """Mistakes of the trials in weekend.toml."""
    weekend, menu = parts.weekend, parts.menu
    if weekend is None or menu is None:
        return
    seen: set[str] = set()
    names: set[str] = set()
    for trial in weekend.trials:
        item = f'trial "{trial.name}"'
        if trial.name in names:
            yield Problem(WEEKEND, item, "name", f'"{trial.name}" is used twice', "give each trial its own name")
        if trial.cut in seen:
            what = f"another trial is on {trial.cut} too"
            yield Problem(WEEKEND, item, "cut", what, "try one thing at a time: put the second off to another weekend")
        seen.add(trial.cut)
        names.add(trial.name)
        cuts = [cut.name for cut in menu.cuts]
        if trial.pair_name in cuts:
            continue  # it is laid out already: its wave has given its pieces
        if trial.cut not in cuts:
            yield Problem(WEEKEND, item, "cut", f'no cut is called "{trial.cut}"', suggest(trial.cut, cuts))
            continue
        yield from _wave(item, trial, weekend)
        yield from _recipe(item, trial, menu)


def _wave(item: str, trial: Trial, weekend: Weekend) -> Iterator[Problem]:
    waves = [wave for wave in weekend.waves if wave.cut == trial.cut]
    mine = next((wave for wave in waves if wave.at == trial.at), None)
    if mine is None:
        known = ", ".join(moment_text(wave.at) for wave in waves) or "none"
        what = f"{trial.cut} has no wave at {moment_text(trial.at)}"
        yield Problem(WEEKEND, item, "at", what, f"use the time of one of its waves: {known}")
    elif mine.pieces < 2 * trial.pairs:
        what = f"{trial.pairs} pairs are {2 * trial.pairs} pieces, and the wave has {mine.pieces}"
        yield Problem(WEEKEND, item, "pairs", what, "ask for fewer pairs or a larger wave")


def _recipe(item: str, trial: Trial, menu: Menu) -> Iterator[Problem]:
    cut = menu.cut(trial.cut)
    names = [recipe.name for recipe in cut.recipes]
    if trial.recipe is not None and trial.recipe not in names:
        what = f'{trial.cut} has no recipe "{trial.recipe}"'
        yield Problem(WEEKEND, item, "recipe", what, suggest(trial.recipe, names))
        return
    recipe = cut.recipes[0] if trial.recipe is None else cut.recipe(trial.recipe)
    for method in trial.methods:
        if not recipe.wrapped and method.wrap_kind not in (None, "none"):
            what = f"{recipe.name} is not wrapped, so it has no time at which {method.label} could be"
            yield Problem(WEEKEND, item, "wrap_kind", what, "name a wrapped recipe")
        if recipe.wrapped and all(other.wrap_kind == "none" for other in trial.methods):
            yield Problem(WEEKEND, item, "wrap_kind", "neither is wrapped", "name a recipe that is not wrapped")
            return
