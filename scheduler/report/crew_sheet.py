"""One sheet for each crew shift: who is there, what they take over, what they do when, and what they tell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from scheduler.model.clock import add_min
from scheduler.model.plan import Shift, Task
from scheduler.report.desk import Desk
from scheduler.report.handoff import Handoff, coming_up, handoff
from scheduler.report.sentences import last_call, say
from scheduler.report.task_rows import Row, task_rows
from scheduler.report.words import (
    count_text,
    day_text,
    degrees_text,
    list_text,
    shift_title_text,
    unique,
)
from scheduler.trade.cautions import SHORT, TOPICS, topics_for_task

KIND_WORDS = {
    "light": "fires",
    "tend": "fires",
    "clean": "fires",
    "load": "pit",
    "pull": "pit",
    "move": "pit",
    "wrap": "wrapping",
    "slice": "slicing",
    "counter": "counter",
}


@dataclass(frozen=True, slots=True)
class CrewMember:
    """A person on a shift."""

    name: str
    work: str
    minor: bool


@dataclass(frozen=True, slots=True)
class TaskLine:
    """A row of the sheet."""

    when: str
    day: str
    """The day's name on the first row of a day, else empty."""
    who: str
    what: str
    detail: tuple[str, ...]
    kind: str
    urgent: bool


@dataclass(frozen=True, slots=True)
class Pull:
    """A load that this shift probes, with what to know when it is pulled."""

    code: str
    what: str
    place: str
    done: str
    likely: str
    late: str
    then: str


RELIEF = timedelta(hours=1)
"""A shift that comes so long before another ends, or later, takes over by the list on its own sheet."""


@dataclass(frozen=True, slots=True)
class Relief:
    """The shift that takes over, and since when its own sheet says what is on."""

    anchor: str
    title: str
    at: str


@dataclass(frozen=True, slots=True)
class CrewSheet:
    """Context of the sheet of one crew shift."""

    anchor: str
    title: str
    day: str
    hours: str
    people: tuple[CrewMember, ...]
    takes_over: Handoff
    lines: tuple[TaskLine, ...]
    pulls: tuple[Pull, ...]
    hands_over: Handoff
    relief: Relief | None
    """Who takes over by a list on their own sheet; None where this sheet must say what is on."""
    coming: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Entry:
    at: datetime
    order: int
    line: TaskLine


def crew_shifts(desk: Desk) -> tuple[tuple[Shift, ...], ...]:
    """Shifts of the same pattern and start together, by start."""
    together: dict[tuple[datetime, str], list[Shift]] = {}
    for shift in desk.plan.shifts:
        together.setdefault((shift.starts_at, shift.pattern), []).append(shift)
    return tuple(
        tuple(sorted(together[key], key=lambda s: s.person))
        for key in sorted(together, key=lambda k: (k[0], together[k][0].ends_at, k[1]))
    )


def shift_title(desk: Desk, shift: Shift) -> str:
    """A crew shift's name: "Fri night shift"."""
    return shift_title_text(desk.local(shift.starts_at), shift.pattern)


def _task_entry(desk: Desk, row: Row) -> _Entry:
    what, detail = say(desk, row)
    urgent = row.kind == "wrap" or (row.kind == "pull" and bool(last_call(desk, row)))
    line = TaskLine(desk.clock(row.at), "", list_text(row.people), what, detail, row.kind, urgent)
    return _Entry(row.at, 1, line)


def _fire_entries(desk: Desk, shifts: tuple[Shift, ...]) -> list[_Entry]:
    """What the fires do that is nobody's task of its own: ready, changes of setpoint, out."""
    starts, ends = shifts[0].starts_at, shifts[0].ends_at
    people = {shift.person for shift in shifts}
    due: list[tuple[datetime, str, str, tuple[str, ...]]] = []
    for fire in desk.plan.fires:
        name = desk.fire_words(fire.firebox)
        change = desk.scenario.site.firebox(fire.firebox).setpoint_change_min
        due.append((fire.ready_at, fire.firebox, f"The {name} is steady at {fire.setpoints[0].setpoint_f} °F", ()))
        for before, after in zip(fire.setpoints, fire.setpoints[1:], strict=False):
            begin = add_min(after.from_at, -change)
            words = f"Take the {name} from {before.setpoint_f} to {after.setpoint_f} °F"
            due.append((begin, fire.firebox, words, (f"There by {desk.clock(after.from_at)}.",)))
        due.append((fire.out_at, fire.firebox, f"Feed the {name} no more: it may go out", ()))
    found = []
    for at, firebox, what, detail in due:
        hand = desk.fire_hand(firebox, at - timedelta(minutes=1) if what.startswith("Feed") else at)
        if starts <= at <= ends and hand in people:
            found.append(_Entry(at, 0, TaskLine(desk.clock(at), "", hand, f"{what}.", detail, "fire", False)))
    return found


def _with_days(desk: Desk, entries: list[_Entry], starts_at: datetime) -> tuple[TaskLine, ...]:
    """Lines in order, the day's name on the first one after each midnight."""
    day = desk.local(starts_at).date()
    lines = []
    for entry in sorted(entries, key=lambda e: (e.at, e.order, e.line.what)):
        today = desk.local(entry.at).date()
        line = entry.line
        if today != day:
            line = TaskLine(line.when, day_text(today), line.who, line.what, line.detail, line.kind, line.urgent)
            day = today
        lines.append(line)
    return tuple(lines)


def _member(desk: Desk, shift: Shift, tasks: list[Task]) -> CrewMember:
    own = unique(KIND_WORDS[t.kind] for t in tasks if t.shift == shift.code)
    return CrewMember(shift.person, list_text(own) or "helps where needed", desk.minor(shift))


def _pulls(desk: Desk, tasks: list[Task], starts_at: datetime) -> tuple[Pull, ...]:
    """All loads that a shift probes, by likely time."""
    codes = unique(code for task in tasks if task.kind == "pull" for code in task.loads)
    loads = sorted((desk.by_code[code] for code in codes), key=lambda x: (x.likely_done_at, x.code))
    return tuple(
        Pull(
            code=load.code,
            what=desk.pieces(load),
            place=desk.last_place(load).removesuffix(" rack").replace(" smoker, ", ", "),
            done=f"{desk.cut(load).done_f} °F",
            likely=desk.near(load.likely_done_at, starts_at),
            late=desk.near(load.late_done_at, load.likely_done_at),
            then=desk.then_words(load),
        )
        for load in loads
    )


def _cautions(desk: Desk, tasks: list[Task], minors: bool) -> tuple[str, ...]:
    """Each topic that this shift's work touches, in a breath; the opening sheet has the cautions in full."""
    topics = {topic for task in tasks for topic in topics_for_task(task.kind)}
    if minors:
        topics.add("minors")
    return tuple(degrees_text(SHORT[topic]) for topic in TOPICS if topic in topics)


def _anchor(number: int) -> str:
    return f"shift-{number}"


def _relief(desk: Desk, own: Shift, every: Sequence[tuple[Shift, ...]]) -> Relief | None:
    """The last crew shift that has just come when a shift ends, and stays."""
    found = None
    for number, (first, *_) in enumerate(every, 1):
        stays = first.ends_at > own.ends_at and first.starts_at > own.starts_at
        if stays and own.ends_at - RELIEF <= first.starts_at <= own.ends_at:
            found = Relief(_anchor(number), shift_title(desk, first), desk.moment(first.starts_at))
    return found


def _crew_sheet(desk: Desk, number: int, every: Sequence[tuple[Shift, ...]]) -> CrewSheet:
    shifts = every[number - 1]
    codes = {shift.code for shift in shifts}
    first = shifts[0]
    tasks = [task for task in desk.plan.tasks if task.shift in codes]
    entries = [_task_entry(desk, row) for row in task_rows(desk, tasks)] + _fire_entries(desk, shifts)
    people = tuple(_member(desk, shift, tasks) for shift in shifts)
    relief = _relief(desk, first, every)
    minors = any(person.minor for person in people)
    return CrewSheet(
        anchor=_anchor(number),
        title=shift_title(desk, first),
        day=day_text(desk.local(first.starts_at)),
        hours=f"{desk.day_span(first.starts_at, first.ends_at)}, {count_text(len(shifts), 'person')}",
        people=people,
        takes_over=handoff(desk, first.starts_at),
        lines=_with_days(desk, entries, first.starts_at),
        pulls=_pulls(desk, tasks, first.starts_at),
        hands_over=handoff(desk, first.ends_at),
        relief=relief,
        coming=() if relief else coming_up(desk, first.ends_at),
        cautions=_cautions(desk, tasks, minors),
    )


def crew_sheets(desk: Desk) -> tuple[CrewSheet, ...]:
    """A sheet for each crew shift, by start."""
    every = crew_shifts(desk)
    return tuple(_crew_sheet(desk, number, every) for number in range(1, len(every) + 1))
