"""Rules on fire: warmed up, lit as long as it cooks, cleaned out between burns, watched, lit and tended by the crew."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from itertools import pairwise

from scheduler.audit.breach import Breach
from scheduler.audit.sweep import Use, peaks
from scheduler.audit.view import FireView, TaskView, View
from scheduler.audit.words import counted
from scheduler.model.crew import TaskKind
from scheduler.model.site import Firebox
from scheduler.model.weekend import minutes_text


def warm_up(view: View) -> Iterator[Breach]:
    """A fire is ready exactly its warm-up after it is lit, and out after that."""
    for fire in view.fires:
        if fire.firebox is None:
            continue
        right = fire.lit_min + fire.firebox.warm_up_min
        if fire.ready_min != right:
            sentence = (
                f"{fire.firebox.name} is lit {view.words.at(fire.lit_min)} and warms up for "
                f"{minutes_text(fire.firebox.warm_up_min)}, so it is ready at {view.words.time(right)}, "
                f"not at {view.words.time(fire.ready_min)}."
            )
            yield view.breach("warm-up", sentence, at=fire.lit_min)
        if fire.out_min < fire.ready_min and (view.past is None or fire.out_min > view.from_min):
            sentence = f"{fire.firebox.name} goes out {view.words.at(fire.out_min)}, before it is warm."
            yield view.breach("warm-up", sentence, at=fire.out_min)


def fire_for_loads(view: View) -> Iterator[Breach]:
    """One warm fire burns under a load from its loading to its wrap, and from there to its late pull."""
    for load in view.loads:
        for stay in load.stays():
            if stay.spot.firebox is None:
                continue
            burns = view.burns_of(stay.spot.firebox.name)
            if not any(burn.ready_min <= stay.start and stay.end <= burn.out_min for burn in burns):
                sentence = (
                    f"Load {load.code} is on {stay.spot.text}, {view.words.day_span(stay.start, stay.end)}, "
                    f"but {stay.spot.firebox.name} is not lit and warm all that time."
                )
                yield view.breach("load-without-fire", sentence, [load.code], stay.start)


def clean_out(view: View) -> Iterator[Breach]:
    """Between two burns of a firebox lies at least its clean-out time."""
    for firebox, before, after in _next_burns(view):
        if after.lit_min < before.out_min + firebox.clean_out_min:
            sentence = (
                f"{firebox.name} is lit again {view.words.at(after.lit_min)}; it goes out at "
                f"{view.words.time(before.out_min)} and needs {minutes_text(firebox.clean_out_min)} to be cleaned out."
            )
            yield view.breach("clean-out-time", sentence, at=after.lit_min)


def _next_burns(view: View) -> Iterator[tuple[Firebox, FireView, FireView]]:
    for firebox in view.scenario.site.fireboxes:
        for before, after in pairwise(view.burns_of(firebox.name)):
            yield firebox, before, after


def fires_watched(view: View) -> Iterator[Breach]:
    """While fires are lit, enough people who can tend them are on shift; one person tends so many at once."""
    each = view.scenario.crew.fires_per_person
    since = view.manned_min
    lit = [Use(max(fire.lit_min, since), fire.out_min, 1, fire.fire.firebox) for fire in view.fires]
    watch = [Use(max(s.start_min, since), s.end_min, -each) for s in view.shifts if "fire" in s.skills]
    for peak in peaks([*lit, *watch], 0):
        names = ", ".join(peak.codes)
        sentence = (
            f"{counted(len(peak.codes), 'fire')} ({names}) lit {view.words.day_span(peak.start, peak.end)}, "
            f"with too few people on shift to tend; one person tends {each}."
        )
        yield view.breach("fire-unwatched", sentence, at=peak.start)


def lighting(view: View) -> Iterator[Breach]:
    """Each burn is lit by hands, inside the step that starts at its lighting."""
    for fire in view.fires:
        if fire.firebox is None:
            continue
        tasks = [t for t in _tasks(view, "light", fire) if t.within(fire.lit_min, fire.lit_min + view.step_min)]
        given = sum(task.minutes for task in tasks)
        if given < fire.firebox.light_min:
            sentence = (
                f"Lighting {fire.firebox.name} {view.words.at(fire.lit_min)} takes {fire.firebox.light_min} "
                f"hand-minutes, but tasks give it {given}."
            )
            yield view.breach("light-task", sentence, at=fire.lit_min)


def tending(view: View) -> Iterator[Breach]:
    """Each tending round that falls due is done within a step of its time."""
    for fire in view.fires:
        if fire.firebox is None or fire.firebox.tend_min == 0:
            continue
        tasks = _tasks(view, "tend", fire)
        starts = [task.start_min for task in tasks]
        every = fire.firebox.tend_every_min
        for due in range(fire.lit_min + every, fire.out_min, every):
            first, last = bisect_left(starts, due), bisect_left(starts, due + view.step_min)
            given = sum(task.minutes for task in tasks[first:last])
            if given < fire.firebox.tend_min and due >= view.manned_min:
                sentence = (
                    f"{fire.firebox.name} must be tended {view.words.at(due)} for {fire.firebox.tend_min} min, "
                    f"but tasks give it {given}."
                )
                yield view.breach("tend-task", sentence, at=due)


def cleaning(view: View) -> Iterator[Breach]:
    """A firebox is cleaned out by hands between two burns."""
    for firebox, before, after in _next_burns(view):
        tasks = [t for t in _tasks(view, "clean", after) if t.within(before.out_min, after.lit_min)]
        given = sum(task.minutes for task in tasks)
        if given < firebox.clean_out_min:
            sentence = (
                f"Cleaning out {firebox.name} before it is lit {view.words.at(after.lit_min)} takes "
                f"{firebox.clean_out_min} hand-minutes, but tasks give it {given}."
            )
            yield view.breach("clean-task", sentence, at=after.lit_min)


def _tasks(view: View, kind: TaskKind, fire: FireView) -> list[TaskView]:
    return [task for task in view.tasks_of(kind) if task.task.place == fire.fire.firebox]
