"""A plan with pairs of a trial told in pieces of the trial's cut: for what counts meat, such as buying and sales."""

from __future__ import annotations

from datetime import datetime

from scheduler.model.plan import Load, Loss, Plan, Short
from scheduler.model.scenario import Scenario
from scheduler.model.weekend import Wave


def folded(plan: Plan, scenario: Scenario) -> tuple[Plan, Scenario]:
    """The same plan and scenario without pairs. Not for the audit: codes and rooms are no longer those of the cut."""
    trials = {trial.pair_name: trial for trial in scenario.weekend.trials if _laid_out(scenario, trial.pair_name)}
    if not trials:
        return plan, scenario

    def load(one: Load) -> Load:
        if one.cut not in trials:
            return one
        cut = scenario.menu.cut(trials[one.cut].cut)
        recipe = trials[one.cut].recipe or cut.recipes[0].name
        return one.model_copy(update={"cut": cut.name, "recipe": recipe, "pieces": 2 * one.pieces})

    def part(one: Short | Loss) -> Short | Loss:
        if one.cut not in trials:
            return one
        return one.model_copy(update={"cut": trials[one.cut].cut, "pieces": 2 * one.pieces})

    weekend, menu = scenario.weekend, scenario.menu
    waves: dict[tuple[str, datetime], Wave] = {}
    for wave in weekend.waves:
        if wave.cut in trials:
            plain_cut = {"cut": trials[wave.cut].cut, "pieces": 2 * wave.pieces, "worth_cents": ()}
            wave = wave.model_copy(update=plain_cut)
        there = waves.get((wave.cut, wave.at))
        if there is not None:  # what the trial left of its wave: it is one again
            wave = there.model_copy(update={"pieces": there.pieces + wave.pieces, "worth_cents": ()})
        waves[wave.cut, wave.at] = wave
    plain = plan.model_copy(
        update={
            "loads": tuple(map(load, plan.loads)),
            "shorts": tuple(map(part, plan.shorts)),
            "losses": tuple(map(part, plan.losses)),
        }
    )
    cuts = tuple(cut for cut in menu.cuts if cut.name not in trials)
    return plain, scenario.model_copy(
        update={
            "menu": menu.model_copy(update={"cuts": cuts}),
            "weekend": weekend.model_copy(update={"waves": tuple(waves.values()), "trials": ()}),
        }
    )


def _laid_out(scenario: Scenario, name: str) -> bool:
    return any(cut.name == name for cut in scenario.menu.cuts)
