"""Trials: pairs are whole, all there, and alike."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from audit_kitchen import Kitchen, kitchen, naive, t

from scheduler.model.plan import Short
from scheduler.model.trial import Method, Trial

TRIAL = Trial(
    name="sides",
    cut="chicken",
    at=naive("11:00"),
    pairs=2,
    methods=(Method(label="skin up"), Method(label="skin down")),
)


def trial_kitchen(**changes: object) -> Kitchen:
    """The kitchen whose four half chickens are two pairs."""
    plain = kitchen()
    chicken = plain.scenario.menu.cut("chicken")
    twice = {
        "name": TRIAL.pair_name,
        "spaces": 2 * chicken.spaces,
        "rest_spaces": 2 * chicken.rest_spaces,
        "hold_spaces": 2 * chicken.hold_spaces,
    }
    pair = chicken.model_copy(update=twice | changes)
    menu = plain.scenario.menu
    cuts = (*(cut for cut in menu.cuts if cut.name != "chicken"), pair, chicken.model_copy(update={"code": "CK"}))
    waves = tuple(
        wave.model_copy(update={"cut": pair.name, "pieces": wave.pieces // 2}) if wave.cut == "chicken" else wave
        for wave in plain.scenario.weekend.waves
    )
    scenario = plain.scenario.model_copy(
        update={
            "menu": menu.model_copy(update={"cuts": cuts}),
            "weekend": plain.scenario.weekend.model_copy(update={"waves": waves, "trials": (TRIAL,)}),
        }
    )
    loads = tuple(
        load.model_copy(update={"cut": pair.name, "pieces": 2}) if load.code == "CH01" else load
        for load in plain.plan.loads
    )
    tasks = tuple(
        task.model_copy(update={"pieces": task.pieces // 2}) if task.loads == ("CH01",) else task
        for task in plain.plan.tasks
    )
    return replace(plain, scenario=scenario, plan=plain.plan.model_copy(update={"loads": loads, "tasks": tasks}))


def test_trial_pairs_forbidden() -> None:
    assert "trial-pairs" in trial_kitchen().load("CH01", pieces=1).codes()
    told = trial_kitchen(spaces=0.5).the("trial-pairs").sentence
    assert told == "A pair of chickens must take twice the spaces of a chicken."
    assert "trial-pairs" in trial_kitchen().load("CH01", ready_by_at=t("11:30")).codes()


def test_trial_pairs_allowed() -> None:
    assert not {"trial-pairs", "trial-alike"} & trial_kitchen().codes()
    short = Short(cut=TRIAL.pair_name, wave="Sat 11:00", pieces=1, why="rack")
    kept = trial_kitchen()
    one = kept.load("CH01", pieces=1).with_plan(shorts=(*kept.plan.shorts, short))
    assert "trial-pairs" not in one.codes()


def test_trial_alike_forbidden() -> None:
    assert trial_kitchen(done_f=170).the("trial-alike").sentence.startswith("Trial sides: done_f")
    kept = trial_kitchen()
    later = tuple(
        task.model_copy(update={"at": task.at + timedelta(minutes=30)})
        if task.kind == "load" and task.loads == ("CH01",)
        else task
        for task in kept.plan.tasks
    )
    assert "trial-alike" in kept.with_plan(tasks=later).codes()


def test_trial_alike_allowed() -> None:
    # A trial that is not laid out asks nothing of the plan.
    plain = kitchen()
    assert plain.weekend(trials=(TRIAL,)).codes() == plain.codes()
