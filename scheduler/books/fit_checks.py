"""Fit: each cut can be cooked, rested and held somewhere in this kitchen."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.books.parts import Parts
from scheduler.errors import Problem
from scheduler.model.base import hundredths
from scheduler.model.menu import Cut, Menu, Recipe
from scheduler.model.site import Rack, Site


def fit_problems(parts: Parts) -> Iterator[Problem]:
    """Cuts with no rack, shelf or cabinet."""
    if parts.site is None:
        return
    # An unsound entry of the site may be the very rack that a cut needs, so say nothing until it is mended.
    if parts.menu is not None and _complete(parts, parts.site):
        yield from _homeless(parts.site, parts.menu)


def _complete(parts: Parts, site: Site) -> bool:
    counted = {
        "firebox": len(site.fireboxes),
        "smoker": len(site.smokers),
        "oven": len(site.ovens),
        "rest_shelf": len(site.rest_shelves),
        "hold_cabinet": len(site.hold_cabinets),
    }
    known = {firebox.name for firebox in site.fireboxes}
    return all(len(parts.raw["site"].get(table, ())) == count for table, count in counted.items()) and all(
        smoker.firebox in known for smoker in site.smokers
    )


def _homeless(site: Site, menu: Menu) -> Iterator[Problem]:
    for cut in menu.cuts:
        item = f'cut "{cut.name}"'
        yield from (Problem("menu.toml", item, field, what, mend) for field, what, mend in _rack_reasons(site, cut))
        yield from (Problem("menu.toml", item, field, what, mend) for field, what, mend in _after_reasons(site, cut))


def _racks(site: Site) -> list[tuple[Rack, tuple[int, ...]]]:
    """Every rack with the temperatures that it can have, F."""
    return [
        (rack, tuple(setpoint + rack.offset_f for setpoint in site.firebox(smoker.firebox).setpoints_f))
        for smoker in site.smokers
        for rack in smoker.racks
    ]


def _rack_reasons(site: Site, cut: Cut) -> Iterator[tuple[str, str, str]]:
    allowed = [(rack, heats) for rack, heats in _racks(site) if not rack.fits or cut.name in rack.fits]
    if not allowed:
        yield "name", "no rack takes it", 'add it to the "fits" of a rack in site.toml'
        return
    large = [(rack, heats) for rack, heats in allowed if hundredths(rack.spaces) >= hundredths(cut.spaces)]
    if not large:
        most = max(rack.spaces for rack, _ in allowed)
        what = f"one piece takes {cut.spaces:g} spaces and the largest rack that takes it has {most:g}"
        yield "spaces", what, "correct the spaces or give it a larger rack in site.toml"
        return
    heats = sorted({heat for _, rack_heats in large for heat in rack_heats})
    if not any(_cooks(site, recipe, heats) for recipe in cut.recipes):
        what = f"no rack that takes it gets to a temperature of any of its recipes (racks have {_listed(heats)} F)"
        yield "recipe", what, "widen low_f to high_f of a recipe, or add a setpoint in site.toml"


def _cooks(site: Site, recipe: Recipe, heats: list[int]) -> bool:
    if not any(recipe.low_f <= heat <= recipe.high_f for heat in heats):
        return False
    low, high = recipe.finish_band_f
    finish = heats + ([oven.oven_f for oven in site.ovens] if recipe.oven_ok else [])
    return not recipe.wrapped or any(low <= heat <= high for heat in finish)


def _after_reasons(site: Site, cut: Cut) -> Iterator[tuple[str, str, str]]:
    shelf = max((shelf.spaces for shelf in site.rest_shelves), default=0)
    if hundredths(cut.rest_spaces) > hundredths(shelf):
        what = f"one piece takes {cut.rest_spaces:g} and the largest rest shelf has {shelf:g}"
        yield "rest_spaces", what, "correct it, or add a larger [[rest_shelf]] in site.toml"
    held = [c for c in site.hold_cabinets if cut.hold_low_f <= c.hold_f <= cut.hold_high_f]
    if cut.hold_spaces and not held:
        what = f"no holding cabinet is set between {cut.hold_low_f} and {cut.hold_high_f} F"
        yield "hold_low_f", what, "widen hold_low_f to hold_high_f, or add such a [[hold_cabinet]] in site.toml"
    elif hundredths(cut.hold_spaces) > hundredths(max((c.spaces for c in held), default=0)):
        most = max(c.spaces for c in held)
        what = f"one piece takes {cut.hold_spaces:g} and the largest holding cabinet at its temperature has {most:g}"
        yield "hold_spaces", what, "correct it, or add a larger [[hold_cabinet]] in site.toml"


def _listed(numbers: list[int]) -> str:
    return ", ".join(map(str, numbers))
