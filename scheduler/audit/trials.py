"""Rules of trials: pairs are cooked as pairs, all of them, and nothing but the method tells the two pieces apart."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.audit.breach import Breach
from scheduler.audit.view import LoadView, View
from scheduler.model.base import hundredths
from scheduler.model.menu import Cut
from scheduler.model.trial import Trial

ROOM = ("spaces", "rest_spaces", "hold_spaces")
SAME = ("done_f", "rest_min", "hold_max_min", "hold_low_f", "hold_high_f", "raw_low_lb", "raw_high_lb", "family")


def _laid_out(view: View) -> Iterator[tuple[Trial, Cut, Cut]]:
    """Trials with their cut and the kin of which one piece is a pair."""
    cuts = {cut.name: cut for cut in view.scenario.menu.cuts}
    for trial in view.scenario.weekend.trials:
        if trial.pair_name in cuts and trial.cut in cuts:
            yield trial, cuts[trial.cut], cuts[trial.pair_name]


def pairs_whole(view: View) -> Iterator[Breach]:
    """Each pair of a trial is loaded for the trial's wave or told as short, and takes the room of two pieces."""
    for trial, cut, pair in _laid_out(view):
        wave = view.scenario.weekend.local(trial.at)
        loads = [load for load in view.loads if load.load.cut == pair.name]
        short = sum(short.pieces for short in view.plan.shorts if short.cut == pair.name)
        lost = sum(loss.pieces for loss in view.plan.losses if loss.cut == pair.name)
        count = sum(load.load.pieces for load in loads)
        codes = [load.code for load in loads]
        if count + short + lost != trial.pairs:
            sentence = f"Trial {trial.name} asks for {trial.pairs} pairs; {count} are loaded and {short} short."
            yield view.breach("trial-pairs", sentence, codes)
        for load in loads:
            if load.ready_min != view.minute(wave):
                sentence = f"Load {load.code} of trial {trial.name} is not for the trial's wave."
                yield view.breach("trial-pairs", sentence, [load.code], load.load_min)
        for name in ROOM:
            if hundredths(getattr(pair, name)) != 2 * hundredths(getattr(cut, name)):
                sentence = f"A {pair.name} must take twice the {name} of a {cut.name}."
                yield view.breach("trial-pairs", sentence, codes)


def pairs_alike(view: View) -> Iterator[Breach]:
    """Both pieces of a pair share smoker, rack and hour, before the wrap and after it, and are judged by one cut."""
    for trial, cut, pair in _laid_out(view):
        loads = [load for load in view.loads if load.load.cut == pair.name]
        for name in SAME:
            if getattr(pair, name) != getattr(cut, name):
                sentence = f"Trial {trial.name}: {name} of a {pair.name} is not that of a {cut.name}."
                yield view.breach("trial-alike", sentence, [load.code for load in loads])
        for load in loads:
            yield from _parted(view, trial, load)


def _parted(view: View, trial: Trial, load: LoadView) -> Iterator[Breach]:
    """A load is one rack and one hour; so a pair is only parted where its hands-on work is given out in halves."""
    for task in view.tasks_of("load"):
        if load.code in task.task.loads and task.start_min - load.load_min >= view.step_min:
            sentence = f"Trial {trial.name}: part of load {load.code} is loaded at another time than the rest."
            yield view.breach("trial-alike", sentence, [load.code], task.start_min)
