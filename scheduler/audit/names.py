"""Rules on names, codes and dates: the plan speaks of this scenario and this weekend."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from scheduler.audit.breach import Breach
from scheduler.audit.view import LoadView, View
from scheduler.model.plan import Plan
from scheduler.model.site import Site

LATEST_AFTER_MIN = 24 * 60
"""Nothing in a plan of a weekend is later than this after its end; guards against a wrong date. Common practice."""


def unknown_names(view: View) -> Iterator[Breach]:
    """Every cut, recipe, place, firebox, person, pattern, shift and load that the plan names exists."""
    for load in view.loads:
        for what in _unknown_of_load(load, view.scenario.site):
            yield view.breach("unknown-name", f"Load {load.code} names {what}.", [load.code], load.load_min)
    for fire in view.fires:
        if fire.firebox is None:
            yield view.breach("unknown-name", f"A burn names {_nothing('firebox', fire.fire.firebox)}.")
    for shift in view.shifts:
        known = (("person", shift.shift.person, shift.person), ("shift pattern", shift.shift.pattern, shift.pattern))
        for kind, name, found in known:
            if found is None:
                yield view.breach("unknown-name", f"Shift {shift.shift.code} names {_nothing(kind, name)}.")
    yield from _unknown_of_tasks(view)


def _nothing(kind: str, name: str | None) -> str:
    return f"the {kind} {name!r}, which there is not"


def _unknown_of_load(load: LoadView, site: Site) -> Iterator[str]:
    said = load.load
    if load.cut is None:
        yield _nothing("cut", said.cut)
    elif load.recipe is None:
        yield _nothing("recipe", f"{said.recipe} of {said.cut}")
    if load.smoke is None:
        yield _nothing("rack", f"{said.rack} on {said.smoker}")
    if load.finish is None and not any(oven.name == said.finish_place for oven in site.ovens):
        yield _nothing("place to finish", f"{said.finish_rack or 'no rack'} on {said.finish_place}")
    if said.rest_place is not None and load.rest is None:
        yield _nothing("rest shelf", said.rest_place)
    if said.hold_place is not None and load.hold is None:
        yield _nothing("holding cabinet", said.hold_place)


def _unknown_of_tasks(view: View) -> Iterator[Breach]:
    fireboxes = {firebox.name for firebox in view.scenario.site.fireboxes}
    for task in view.tasks:
        said = task.task
        missing = [_nothing("load", code) for code in said.loads if code not in view.by_code]
        if said.shift not in view.shift_of:
            missing.append(_nothing("shift", said.shift))
        if said.kind in ("light", "tend", "clean") and said.place not in fireboxes:
            missing.append(_nothing("firebox", said.place))
        for what in missing:
            sentence = f"The {said.kind} task of {said.person} {view.words.at(task.start_min)} names {what}."
            yield view.breach("unknown-name", sentence, said.loads, task.start_min)


def load_codes(view: View) -> Iterator[Breach]:
    """A load's code starts with the letters of its cut."""
    for load in view.loads:
        if load.cut is not None and load.code.rstrip("0123456789") != load.cut.code:
            sentence = f"Load {load.code} is {load.cut.name}, so its code must start with {load.cut.code}."
            yield view.breach("load-code", sentence, [load.code], load.load_min)


def plan_head(view: View) -> Iterator[Breach]:
    """The plan's time zone, clock and mark of invention are those of the weekend."""
    plan, weekend = view.plan, view.scenario.weekend
    pairs = (
        ("time zone", plan.timezone, weekend.timezone),
        ("clock", plan.clock, weekend.clock),
        ("mark of invented data", plan.invented, weekend.invented),
    )
    for what, mine, theirs in pairs:
        if mine != theirs:
            yield Breach("plan-head", f"The plan's {what} is {mine}, but the weekend's is {theirs}.")


def _moments(plan: Plan) -> Iterator[tuple[str, tuple[str, ...], datetime]]:
    for load in plan.loads:
        times = (load.load_at, load.wrap_at, load.early_done_at, load.likely_done_at, load.late_done_at)
        more = (load.hold_from_at, load.ready_by_at, load.served_until_at)
        for moment in (*times, *more):
            if moment is not None:
                yield f"Load {load.code}", (load.code,), moment
    for fire in plan.fires:
        for moment in (fire.lit_at, fire.ready_at, fire.out_at, *(s.from_at for s in fire.setpoints)):
            yield f"The burn of {fire.firebox}", (), moment
    for shift in plan.shifts:
        for moment in (shift.starts_at, shift.ends_at):
            yield f"Shift {shift.code}", (), moment
    for task in plan.tasks:
        yield f"The {task.kind} task of {task.person}", task.loads, task.at


def outside_weekend(view: View) -> Iterator[Breach]:
    """Nothing is done before the start of planning, nor more than a day after the end of the weekend."""
    said: set[str] = set()
    for who, loads, moment in _moments(view.plan):
        minute = view.minute(moment)
        if minute < 0:
            limit = f"before planning starts {view.words.at(0)}"
        elif minute > view.end_min + LATEST_AFTER_MIN:
            limit = f"more than a day after the weekend ends {view.words.at(view.end_min)}"
        else:
            continue
        sentence = f"{who} has the time {moment:%Y-%m-%d %H:%M}, {limit}."
        if sentence not in said:
            said.add(sentence)
            yield view.breach("outside-weekend", sentence, loads, minute)


def part_minutes(view: View) -> Iterator[Breach]:
    """Every time is a whole minute."""
    for who, loads, moment in _moments(view.plan):
        if moment.second or moment.microsecond:
            sentence = f"{who} has the time {moment:%H:%M:%S}, which is not a whole minute."
            yield view.breach("part-minute", sentence, loads, view.minute(moment))
