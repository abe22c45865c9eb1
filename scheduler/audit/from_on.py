"""Rules of a plan that was changed on the way: the past is as logged, and nothing that was begun is lost."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from math import ceil

from scheduler.audit.breach import Breach
from scheduler.audit.view import LoadView, View
from scheduler.model.past import Begun, Past, Spot

TINY = 1e-6

Rule = Callable[[View, Past], Iterator[Breach]]


def past_loads(view: View, past: Past) -> Iterator[Breach]:
    """Each load that was begun is on since when and where it was; no other load is put on before the change."""
    for load in view.loads:
        begun = past.of(load.code, load.load.part_of)
        if begun is None:
            if load.load_min < past.from_min:
                sentence = f"Load {load.code} is put on {view.words.at(load.load_min)}, but nobody did that."
                yield view.breach("past-load", sentence, [load.code], load.load_min)
        elif _of_past(view, load, past.from_min) != _as_logged(begun):
            sentence = f"Load {load.code} is not where, or since when, the log has it before the change."
            yield view.breach("past-load", sentence, [load.code], begun.load_min)


def _as_logged(begun: Begun) -> tuple[object, ...]:
    stops = tuple((stop.at_min, stop.spot) for stop in begun.stops)
    wrap = None if begun.wrap_min is None else (begun.wrap_min, begun.finish)
    return begun.cut, begun.recipe, begun.load_min, begun.first, wrap, stops


def _of_past(view: View, load: LoadView, from_min: int) -> tuple[object, ...]:
    said = load.load
    stops = tuple(
        (view.minute(stop.at), Spot(place=stop.place, rack=stop.rack))
        for stop in said.stops
        if view.minute(stop.at) < from_min
    )
    wrap = None
    if load.wrap_min is not None and load.wrap_min < from_min:
        wrap = load.wrap_min, Spot(place=said.finish_place, rack=said.finish_rack)
    first = Spot(place=said.smoker, rack=said.rack)
    return said.cut, said.recipe, load.load_min, first, wrap, stops


def piece_lost(view: View, past: Past) -> Iterator[Breach]:
    """Every piece that was begun is in a load of the plan, or written off or left with a reason."""
    found: Counter[str] = Counter()
    for load in view.loads:
        begun_as = past.of(load.code, load.load.part_of)
        found[load.code if begun_as is None else begun_as.code] += load.load.pieces
    before = Counter[str]()
    for loss in past.losses:
        before[loss.load] += loss.pieces
    lost: Counter[str] = Counter()
    for loss in view.plan.losses:
        lost[loss.load] += loss.pieces
        if not loss.why.strip():
            yield view.breach("piece-lost", f"{loss.pieces} pieces of {loss.load} are lost without a reason.")
    for begun in past.begun:
        gone = lost[begun.code] - before[begun.code]
        if found[begun.code] + gone != begun.pieces:
            on = found[begun.code]
            sentence = f"Load {begun.code} has {begun.pieces} pieces, but {on} go on and {gone} are written off."
            yield view.breach("piece-lost", sentence, [begun.code], past.from_min)


def past_fires(view: View, past: Past) -> Iterator[Breach]:
    """Fires lit before the change are those that were lit; what they held before it, they held."""
    logged = {(fire.firebox, fire.lit_min): fire for fire in past.fires}
    told = {(f.fire.firebox, f.lit_min) for f in view.fires if f.lit_min < past.from_min}
    for firebox, lit in sorted(told ^ logged.keys()):
        sentence = f"Whether {firebox} was lit {view.words.at(lit)} is not as logged."
        yield view.breach("past-fire", sentence, at=lit)
    for fire in view.fires:
        was = logged.get((fire.fire.firebox, fire.lit_min))
        if was is None:
            continue
        held = tuple(setpoint for setpoint in fire.setpoints if setpoint[0] < past.from_min) or fire.setpoints[:1]
        out_same = fire.out_min == was.out_min if was.out_min is not None else fire.out_min >= past.from_min
        if held != was.setpoints or not out_same:
            since = view.words.at(fire.lit_min)
            sentence = f"What {fire.fire.firebox} burnt before the change, lit {since}, is not as logged."
            yield view.breach("past-fire", sentence, at=fire.lit_min)


def past_shifts(view: View, past: Past) -> Iterator[Breach]:
    """Shifts that began before the change are those that began."""
    logged = {(s.person, s.pattern, s.start_min, s.end_min) for s in past.shifts}
    told = {
        (s.shift.person, s.shift.pattern, s.start_min, s.end_min) for s in view.shifts if s.start_min < past.from_min
    }
    for person, pattern, start, _ in sorted(told ^ logged):
        sentence = f"The {pattern} shift of {person} {view.words.at(start)} is not as it was."
        yield view.breach("past-shift", sentence, at=start)


def past_tasks(view: View, past: Past) -> Iterator[Breach]:
    """Work before the change is what was done."""
    done = Counter((view.minute(t.at), t.minutes, t.kind, t.person) for t in past.tasks)
    told = Counter(
        (t.start_min, t.minutes, t.task.kind, t.task.person) for t in view.tasks if t.start_min < past.from_min
    )
    for at, minutes, kind, person in sorted(((done - told) + (told - done)).keys()):
        sentence = f"The {kind} task of {person} {view.words.at(at)} ({minutes} min) is not as it was."
        yield view.breach("past-task", sentence, at=at)


def cold_smoker(view: View, past: Past) -> Iterator[Breach]:
    """What is in a dead smoker leaves it, or is written off, by the minute that the food code allows."""
    for load in view.loads:
        begun = past.of(load.code, load.load.part_of)
        if begun is None or begun.leave_by_min is None or begun.done:
            continue
        outs = [at for at, _ in load.stops if at >= past.from_min]
        goes_to = Spot(place=load.load.finish_place, rack=load.load.finish_rack)
        if load.wrap_min is not None and load.wrap_min >= past.from_min and goes_to != begun.spot:
            outs.append(load.wrap_min)
        if not outs or min(outs) > begun.leave_by_min:
            sentence = (
                f"Load {load.code} is in {begun.spot.place}, whose fire is out, and must leave it by "
                f"{view.words.time(begun.leave_by_min)} or be written off ({begun.rule})."
            )
            yield view.breach("cold-smoker", sentence, [load.code], begun.leave_by_min)


def moving(view: View, past: Past) -> Iterator[Breach]:
    """Handing a load over takes hands, inside the step that starts at its time."""
    for load in view.loads:
        for at, spot in load.stops if load.cut is not None else ():
            tasks = [t for t in view.tasks_of("move") if load.code in t.task.loads and t.within(at, at + view.step_min)]
            needed = ceil(move_minutes(load) - TINY)
            given = sum(task.minutes for task in tasks)
            if at >= past.from_min and given < needed:
                sentence = f"Moving {load.code} to {spot.text} takes {needed} hand-minutes, but tasks give it {given}."
                yield view.breach("move-task", sentence, [load.code], at)


def move_minutes(load: LoadView) -> float:
    """Hand-minutes to take a load off and put it on elsewhere: those of two loadings (common practice, no source)."""
    return 0.0 if load.cut is None else 2 * load.load.pieces * load.cut.hands.load_min


FROM_ON: dict[str, Rule] = {
    "past-load": past_loads,
    "piece-lost": piece_lost,
    "past-fire": past_fires,
    "past-shift": past_shifts,
    "past-task": past_tasks,
    "cold-smoker": cold_smoker,
    "move-task": moving,
}
"""Rules beside those of `rules.RULES`, for a plan that was changed on the way."""
