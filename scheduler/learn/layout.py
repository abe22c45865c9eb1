"""A scenario laid out for its trials: each pair is one thing for the planner.

The trial's cut gets a kin of which one piece is a pair: twice the room, the hands, the portions and the cost, cooked by
one recipe on one rack. So the two pieces of a pair share smoker, rack, hour and wave by construction, and the solver
and the audit need to know nothing of trials. The pairs are taken out of the wave that the trial names.

Where the methods wrap differently, the pair's range covers both: early is the quicker one's, late the slower one's, by
the cook-time curve.
"""

from __future__ import annotations

from collections.abc import Iterable
from string import ascii_uppercase

from scheduler.model.menu import Cut, Recipe, WrapKind
from scheduler.model.scenario import Scenario
from scheduler.model.site import Rack, Site
from scheduler.model.trial import Trial
from scheduler.model.weekend import Wave, Weekend
from scheduler.trade.cooking import Conditions, estimate
from scheduler.trade.cut_heat import CutHeat
from scheduler.trade.known import heat_of

KEYED = "as the key says"
"""Recipe of pairs whose wraps differ: its name must not tell which."""
UNKNOWN_STRETCH: dict[WrapKind, float] = {"foil": 0.85, "paper": 1.0, "paper-and-tallow": 0.95, "none": 1.35}
"""Time from the wrap to done against paper, for cuts that the curve does not know. Common practice, no source."""


def laid_out(scenario: Scenario) -> Scenario:
    """The scenario with each of its trials laid out; those that are already are left alone."""
    for trial in scenario.weekend.trials:
        if all(cut.name != trial.pair_name for cut in scenario.menu.cuts):
            scenario = _with_pairs(scenario, trial)
    return scenario


def _with_pairs(scenario: Scenario, trial: Trial) -> Scenario:
    menu = scenario.menu
    pair = pair_cut(menu.cut(trial.cut), trial, {cut.code for cut in menu.cuts})
    return scenario.model_copy(
        update={
            "menu": menu.model_copy(update={"cuts": (*menu.cuts, pair)}),
            "site": _site(scenario.site, trial),
            "weekend": _weekend(scenario.weekend, trial),
        }
    )


def pair_cut(cut: Cut, trial: Trial, codes: Iterable[str]) -> Cut:
    """The kin of a cut of which one piece is a pair."""
    taken = set(codes)
    code = next(c for c in (cut.code[:2] + letter for letter in "PQTVW" + ascii_uppercase) if c not in taken)
    hands = cut.hands
    twice = {name: min(2 * getattr(hands, name), 120.0) for name in type(hands).model_fields}
    data = cut.model_dump(by_alias=True) | {
        "name": trial.pair_name,
        "code": code,
        "case_pieces": None,
        "spaces": round(2 * cut.spaces, 2),
        "rest_spaces": round(2 * cut.rest_spaces, 2),
        "hold_spaces": round(2 * cut.hold_spaces, 2),
        "hold_loss_cents_per_h": 2 * cut.hold_loss_cents_per_h,
        "move_cents": 2 * cut.move_cents,
        "portions": 2 * cut.portions,
        "cost_cents": 2 * cut.cost_cents,
        "hands": twice,
        "recipe": (pair_recipe(cut, trial).model_dump(by_alias=True),),
    }
    return Cut.model_validate(data)


def kinds_of(cut: Cut, trial: Trial) -> tuple[WrapKind, WrapKind]:
    """How each method wraps."""
    plain = _recipe(cut, trial).wrap_kind
    first, second = (method.wrap_kind or plain for method in trial.methods)
    return first, second


def _recipe(cut: Cut, trial: Trial) -> Recipe:
    return cut.recipes[0] if trial.recipe is None else cut.recipe(trial.recipe)


def pair_recipe(cut: Cut, trial: Trial) -> Recipe:
    """One recipe whose range holds for both methods."""
    recipe = _recipe(cut, trial)
    kinds = kinds_of(cut, trial)
    if set(kinds) == {recipe.wrap_kind}:
        return recipe
    ratios = [wrap_ratio(cut, recipe, kind) for kind in kinds]
    finish = recipe.finish
    likely = round(finish.likely_min * sum(ratios) / 2)
    covers = {
        "early_min": max(1, int(finish.early_min * min(ratios))),
        "likely_min": likely,
        "late_min": round(finish.late_min * max(ratios) + 0.5),
    }
    oven_ok = recipe.oven_ok and "none" not in kinds
    name = KEYED if kinds[0] != kinds[1] else recipe.name
    kind = next((kind for kind in kinds if kind != "none"), recipe.wrap_kind)
    data = recipe.model_dump() | {
        "name": name,
        "wrap_kind": kind,
        "finish": covers,
        "oven_ok": oven_ok,
        "learned": None,
    }
    return Recipe.model_validate(data)


def wrap_ratio(cut: Cut, recipe: Recipe, kind: WrapKind) -> float:
    """Likely time from the wrap to done in one wrap over that in the recipe's own."""
    heat = heat_of(cut)
    if kind == recipe.wrap_kind:
        return 1.0
    if heat is not None:
        own, other = (_from_wrap_min(heat, cut, recipe, k) for k in (recipe.wrap_kind, kind))
        if own and other:
            return other / own
    return UNKNOWN_STRETCH[kind] / UNKNOWN_STRETCH[recipe.wrap_kind]


def _from_wrap_min(heat: CutHeat, cut: Cut, recipe: Recipe, kind: WrapKind) -> float:
    """Likely minutes from the middle of the wrap window to done; 0 where the curve cannot say."""
    middle = (recipe.wrap_from_min + recipe.wrap_to_min) / 2
    pit_f = min(max((recipe.low_f + recipe.high_f) / 2, 180.0), 400.0)
    wrap_min = None if kind == "none" else middle
    try:
        found = estimate(
            heat,
            Conditions(weight_lb=recipe.ref_weight_lb, pit_f=pit_f, wrap=kind, done_f=cut.done_f, wrap_min=wrap_min),
        )
    except ValueError:
        return 0.0
    return max(0.0, found.total.likely_min - middle)


def _site(site: Site, trial: Trial) -> Site:
    """Racks that take the cut take its pairs."""

    def rack(one: Rack) -> Rack:
        if trial.cut not in one.fits:
            return one
        return one.model_copy(update={"fits": (*one.fits, trial.pair_name)})

    smokers = tuple(s.model_copy(update={"racks": tuple(map(rack, s.racks))}) for s in site.smokers)
    return site.model_copy(update={"smokers": smokers})


def _weekend(weekend: Weekend, trial: Trial) -> Weekend:
    """The pairs are taken out of their wave; ends of serving stay as they were."""
    taken = 2 * trial.pairs
    waves: list[Wave] = []
    for wave in weekend.waves:
        if wave.cut != trial.cut:
            waves.append(wave)
            continue
        until = weekend.wave_until(wave)
        if wave.at != trial.at:
            waves.append(wave.model_copy(update={"until": until}))
            continue
        worth = wave.worth_cents
        pairs_worth = tuple(worth[2 * i] + worth[2 * i + 1] for i in range(trial.pairs)) if worth else ()
        waves.append(Wave(cut=trial.pair_name, at=wave.at, pieces=trial.pairs, until=until, worth_cents=pairs_worth))
        if wave.pieces > taken:
            left = {"pieces": wave.pieces - taken, "until": until, "worth_cents": worth[taken:]}
            waves.append(wave.model_copy(update=left))
    weights = dict(weekend.weights_lb)
    if trial.cut in weights:
        weights[trial.pair_name] = weights[trial.cut]
    return weekend.model_copy(update={"waves": tuple(waves), "weights_lb": weights})
