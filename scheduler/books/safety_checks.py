"""Safety: a menu or a cabinet by which no safe plan could be made is refused before anything is planned.

The figures are repeated here, each with its source, so that reading a folder needs no other part of the program; a
test holds them equal to those of the audit. The local health authority may ask for more.
"""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.books.parts import Parts
from scheduler.errors import Problem
from scheduler.model.menu import Cut
from scheduler.model.site import Site

LEAST_HOLD_F = 135
"""Hot holding, F (FDA Food Code 3-501.16(A)(1))."""
LONGEST_UNHELD_MIN = 240
"""From the pull to the end of serving where meat is not held hot (FDA Food Code 3-501.19(B))."""
LEAST_DONE_F = {
    "beef": (145, "FDA Food Code 3-401.11(A)(1)"),
    "pork": (145, "FDA Food Code 3-401.11(A)(1)"),
    "poultry": (165, "FDA Food Code 3-401.11(A)(3)"),
    "sausage": (155, "FDA Food Code 3-401.11(A)(2), without poultry in it"),
    "fat": (170, "9 CFR 315.1"),
}
"""Least temperature at which a cut may be called done, F, by its family, with the source."""
LEAST_RENDER_MIN = 30
"""At 170 F or above, for fat (9 CFR 315.1)."""


def safety_problems(parts: Parts) -> Iterator[Problem]:
    """Cabinets too cold, cuts called done too early, cuts that stand too long without heat."""
    if parts.site is not None:
        yield from _cold_cabinets(parts.site)
    for cut in parts.menu.cuts if parts.menu is not None else ():
        yield from (Problem("menu.toml", f'cut "{cut.name}"', *said) for said in _unsafe(cut))


def _cold_cabinets(site: Site) -> Iterator[Problem]:
    for cabinet in site.hold_cabinets:
        if cabinet.hold_f < LEAST_HOLD_F:
            what = f"{cabinet.hold_f} F is too cold for hot holding (FDA Food Code 3-501.16: {LEAST_HOLD_F} F or above)"
            yield Problem("site.toml", f'hold_cabinet "{cabinet.name}"', "hold_f", what, f"set {LEAST_HOLD_F} or more")


def _unsafe(cut: Cut) -> Iterator[tuple[str, str, str]]:
    """Field, what is wrong, mend."""
    comminuted = not cut.intact and cut.family in ("beef", "pork")
    least, source = LEAST_DONE_F["sausage" if comminuted else cut.family]
    if cut.done_f < least:
        yield "done_f", f"{cut.done_f} F is not done for {cut.family} ({source}: {least} F)", f"set {least} or more"
    if cut.family == "fat":
        if min(recipe.finish.early_min for recipe in cut.recipes) < LEAST_RENDER_MIN:
            what = f"fat stays at 170 F or above for {LEAST_RENDER_MIN} min (9 CFR 315.1)"
            yield "recipe", what, f"give finish.early_min {LEAST_RENDER_MIN} or more"
    elif not cut.hold_spaces and cut.rest_min + cut.hold_max_min > LONGEST_UNHELD_MIN:
        what = (
            "it takes no hold_spaces, so it is not held hot, and rest_min + hold_max_min is "
            f"{cut.rest_min + cut.hold_max_min} (FDA Food Code 3-501.19(B): {LONGEST_UNHELD_MIN} min at most)"
        )
        yield "hold_max_min", what, "give it hold_spaces or shorten hold_max_min"
