"""Rules on the work of hands: each load is loaded, wrapped, watched and sliced by somebody, in time."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import pairwise
from math import ceil

from scheduler.audit.breach import Breach
from scheduler.audit.sweep import Use, first_gap, peaks
from scheduler.audit.view import DayView, LoadView, TaskView, View, WaveKey
from scheduler.audit.words import counted, joined
from scheduler.model.crew import TaskKind

PULL_GAP_MIN = 60
"""A load that may be done any moment is probed at least so often. Common practice, no source."""
TINY = 1e-6
"""Minutes per piece are decimal fractions, so their sums are compared with this slack."""


def one_load_per_task(view: View) -> Iterator[Breach]:
    """A loading or wrapping task handles exactly one load; pull and slice tasks name the loads they are for."""
    for task in view.tasks:
        said = task.task
        single = said.kind in ("load", "wrap")
        if len(said.loads) == 1 or (said.loads and not single) or said.kind not in ("load", "wrap", "pull", "slice"):
            continue
        wanted = "exactly one load" if single else "the loads it is for"
        sentence = f"The {said.kind} task of {said.person} {view.words.at(task.start_min)} must name {wanted}."
        yield view.breach("task-loads", sentence, said.loads, task.start_min)


def loading(view: View) -> Iterator[Breach]:
    """Loading takes its hand-minutes, for every piece, inside the step that starts at the load time."""
    for load in view.loads:
        if load.cut is not None:
            yield from _handled(view, load, "load", load.load_min, load.cut.hands.load_min)


def wrapping(view: View) -> Iterator[Breach]:
    """Wrapping takes its hand-minutes, for every piece, inside the step that starts at the wrap time."""
    for load in view.loads:
        if load.cut is not None and load.wrap_min is not None:
            yield from _handled(view, load, "wrap", load.wrap_min, load.cut.hands.wrap_min)


def _handled(view: View, load: LoadView, kind: TaskKind, start: int, each_min: float) -> Iterator[Breach]:
    word = {"load": "Loading", "wrap": "Wrapping"}[kind]
    tasks = [task for task in view.tasks_of(kind) if task.task.loads == (load.code,)]
    outside = [task for task in tasks if not task.within(start, start + view.step_min)]
    for task in outside:
        sentence = (
            f"{word} {load.code} is given to {task.task.person} "
            f"{view.words.day_span(task.start_min, task.end_min)}, but must be done "
            f"{view.words.day_span(start, start + view.step_min)}."
        )
        yield view.breach(f"{kind}-task", sentence, [load.code], task.start_min)
    if outside:
        return
    needed = ceil(load.load.pieces * each_min - TINY)
    given = sum(task.minutes for task in tasks)
    pieces = sum(task.task.pieces for task in tasks)
    if given < needed:
        sentence = f"{word} {load.code} takes {needed} hand-minutes, but tasks give it {given} in its step."
        yield view.breach(f"{kind}-task", sentence, [load.code], start)
    if pieces != load.load.pieces:
        sentence = f"{word} {load.code}: tasks handle {pieces} pieces in its step, but it has {load.load.pieces}."
        yield view.breach(f"{kind}-task", sentence, [load.code], start)


def wrap_tables(view: View) -> Iterator[Breach]:
    """No more people wrap at once than there are wrap tables."""
    yield from _crowded(view, "wrap", "wrap-tables", "wrap table", view.scenario.site.wrap_tables)


def cutting_boards(view: View) -> Iterator[Breach]:
    """No more people slice at once than there are cutting boards."""
    yield from _crowded(view, "slice", "cutting-boards", "cutting board", view.scenario.site.cutting_boards)


def _crowded(view: View, kind: TaskKind, code: str, what: str, places: int) -> Iterator[Breach]:
    tasks = view.tasks_of(kind)
    uses = [Use(task.start_min, task.end_min, 1, str(i)) for i, task in enumerate(tasks)]
    for peak in peaks(uses, places):
        busy = [tasks[int(i)] for i in peak.codes]
        people = joined([task.task.person for task in busy])
        sentence = (
            f"{people} are to {kind} at once {view.words.day_span(peak.start, peak.end)}, "
            f"but the kitchen has {counted(places, what)}."
        )
        loads = dict.fromkeys(code for task in busy for code in task.task.loads)
        yield view.breach(code, sentence, loads, peak.start)


def pull_rounds(view: View) -> Iterator[Breach]:
    """While a load may be done it is probed in rounds, no more than an hour apart, from its early to its late pull."""
    rounds: dict[str, list[TaskView]] = defaultdict(list)
    for task in view.tasks_of("pull"):
        for code in dict.fromkeys(task.task.loads):
            rounds[code].append(task)
    for load in view.loads:
        yield from _probed(view, load, [task.start_min for task in rounds.get(load.code, ())])


def _probed(view: View, load: LoadView, starts: list[int]) -> Iterator[Breach]:
    window = f"{view.words.day_span(load.early_min, load.late_min)}"
    if not starts and not _too_soon(view, load):
        sentence = f"Load {load.code} may be done {window}, but nobody is told to probe and pull it."
        yield view.breach("pull-rounds", sentence, [load.code], load.early_min)
        return
    for start in starts:
        if not load.early_min - view.step_min <= start <= load.late_min + view.step_min:
            sentence = f"Load {load.code} is probed {view.words.at(start)}, but may be done only {window}."
            yield view.breach("pull-rounds", sentence, [load.code], start)
    # The ends of the window stand in for rounds, so that the first and the last gap are checked like the others.
    for before, after in pairwise(sorted([load.early_min, *starts, load.late_min])):
        if after - max(before, view.manned_min) > PULL_GAP_MIN:
            sentence = (
                f"Load {load.code} may be done {window}, but is not probed "
                f"{view.words.day_span(before, after)}; an hour is the longest gap."
            )
            yield view.breach("pull-rounds", sentence, [load.code], before)


def _too_soon(view: View, load: LoadView) -> bool:
    """True if those who should probe it are missing, and it is late within an hour of when others can be there."""
    return view.from_min < view.manned_min and load.late_min - view.manned_min <= PULL_GAP_MIN


def pull_cover(view: View) -> Iterator[Breach]:
    """Somebody who can work the pit is on shift at every moment at which a load may be done."""
    cover = view.cover("pit")
    for load in view.loads:
        early, late = load.pull_span()
        early = max(early, view.manned_min)
        gap = first_gap(early, late, cover)
        if gap is not None and early <= late:
            sentence = (
                f"Load {load.code} may be done {view.words.day_span(load.early_min, load.late_min)}, "
                f"but {view.words.at(gap)} nobody on shift can pull it."
            )
            yield view.breach("pull-cover", sentence, [load.code], gap)


def slicing(view: View) -> Iterator[Breach]:
    """Each wave of a cut is sliced between its ready time and the end of serving, for the minutes it takes."""
    given: dict[WaveKey, int] = defaultdict(int)
    for task in view.tasks_of("slice"):
        who = f"The slice task of {task.task.person} {view.words.at(task.start_min)}"
        keys = {view.by_code[code].key for code in task.task.loads if code in view.by_code}
        if len(keys) > 1:
            yield view.breach("slice-task", f"{who} names loads of several waves.", task.task.loads, task.start_min)
            continue
        for key in keys & view.demands.keys():
            ready, served = (view.minute(m) for m in (view.demands[key].ready_by_at, view.demands[key].served_until_at))
            if task.within(ready, served):
                given[key] += task.minutes
            else:
                sentence = f"{who} is outside the serving of {' '.join(key)}, {view.words.day_span(ready, served)}."
                yield view.breach("slice-task", sentence, task.task.loads, task.start_min)
    yield from _unsliced(view, given)


def _unsliced(view: View, given: dict[WaveKey, int]) -> Iterator[Breach]:
    for key, loads in view.waves.items():
        cut = loads[0].cut
        if cut is None or cut.hands.slice_min == 0 or key not in view.demands:
            continue
        needed = sum(load.load.pieces for load in loads) * cut.hands.slice_min * _still_to_slice(view, loads[0])
        if given[key] < needed - 1 - TINY:
            sentence = (
                f"Slicing {cut.name} for {key[1]} takes {ceil(needed - TINY)} hand-minutes, "
                f"but tasks give it {given[key]}."
            )
            yield view.breach("slice-task", sentence, [load.code for load in loads], loads[0].ready_min)


def _at_counter(view: View, day: DayView) -> Iterator[Use]:
    """How many are wanted at the counter when; fewer where no more can come."""
    start = max(day.opens_min, view.from_min)
    yield Use(start, day.closes_min, day.counter_hands, "counter")
    for span in () if view.past is None else view.past.counter:
        first, last = max(start, span.from_min), min(day.closes_min, span.until_min)
        if first < last and span.most < day.counter_hands:
            yield Use(first, last, span.most - day.counter_hands)


def _still_to_slice(view: View, load: LoadView) -> float:
    """Share of a wave's serving that is left once somebody can be there; all of it in a plan made beforehand."""
    gone = view.manned_min - load.ready_min
    return 1.0 if gone <= 0 else max(0.0, 1 - gone / max(1, load.served_min - load.ready_min))


def counter(view: View) -> Iterator[Breach]:
    """From opening to closing enough people stand at the counter."""
    tasks = [Use(task.start_min, task.end_min, -1) for task in view.tasks_of("counter")]
    for day in view.days:
        for peak in peaks([*_at_counter(view, day), *tasks], 0):
            asked = counted(day.counter_hands, "person", "people")
            gap = view.words.day_span(peak.start, peak.end)
            sentence = f"The counter needs {asked} from opening to closing, but has fewer {gap}."
            yield view.breach("counter-hands", sentence, at=peak.start)
