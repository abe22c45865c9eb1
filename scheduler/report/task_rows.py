"""From single tasks to the rows of a crew sheet: what is done together is read together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from scheduler.model.crew import TaskKind
from scheduler.model.plan import Task
from scheduler.report.desk import Desk
from scheduler.report.words import unique

ORDER: tuple[TaskKind, ...] = ("clean", "light", "tend", "load", "wrap", "pull", "move", "slice", "counter")
BLOCKS: frozenset[TaskKind] = frozenset({"slice", "counter"})
"""Kinds that go on for hours in small bits and are read as one block."""
ROUNDS: frozenset[TaskKind] = frozenset({"tend", "pull"})
"""Kinds that one person does on one walk past several fires or loads."""
MOST_GAP = timedelta(minutes=30)
"""A longer pause between two bits of such work splits the block."""
STEADY_SHARE = 0.8
"""A block with less work than this share of its length is done on and off."""


@dataclass(frozen=True, slots=True)
class Row:
    """Tasks that the crew reads as one thing to do."""

    at: datetime
    ends_at: datetime
    kind: TaskKind
    people: tuple[str, ...]
    loads: tuple[str, ...]
    places: tuple[str, ...]
    pieces: int
    minutes: int

    @property
    def steady(self) -> bool:
        """True if the work fills the time from start to end."""
        length = (self.ends_at - self.at) / timedelta(minutes=1)
        return self.minutes >= STEADY_SHARE * length * max(1, len(self.people))


def task_end(task: Task) -> datetime:
    """When a task ends."""
    return task.at + timedelta(minutes=task.minutes)


def _merged(tasks: Iterable[Task]) -> Row:
    parts = sorted(tasks, key=lambda t: (t.at, t.person))
    first = parts[0]
    return Row(
        at=first.at,
        ends_at=max(task_end(t) for t in parts),
        kind=first.kind,
        people=unique(t.person for t in parts),
        loads=unique(code for t in parts for code in t.loads),
        places=unique(t.place for t in parts if t.place),
        pieces=sum(t.pieces for t in parts),
        minutes=sum(t.minutes for t in parts),
    )


def _runs(tasks: Iterable[Task], most_gap: timedelta) -> list[list[Task]]:
    """One person's bits of one block, split where the pause is longer than `most_gap`."""
    runs: list[list[Task]] = []
    for task in sorted(tasks, key=lambda t: t.at):
        if runs and task.at - max(task_end(t) for t in runs[-1]) <= most_gap:
            runs[-1].append(task)
        else:
            runs.append([task])
    return runs


def _block_rows(tasks: Iterable[Task], most_gap: timedelta) -> list[Row]:
    """Slicing and counter work: bits of a person make a block, and blocks of the same hours one row."""
    bits: dict[tuple[TaskKind, str, tuple[str, ...]], list[Task]] = {}
    for task in tasks:
        bits.setdefault((task.kind, task.person, task.loads), []).append(task)
    blocks: dict[tuple[TaskKind, tuple[str, ...], datetime, datetime], list[Task]] = {}
    for (kind, _, loads), own in bits.items():
        for run in _runs(own, most_gap):
            ends = max(task_end(t) for t in run)
            blocks.setdefault((kind, loads, run[0].at, ends), []).extend(run)
    return [_merged(block) for block in blocks.values()]


def _key(desk: Desk, task: Task) -> tuple[object, ...]:
    step = desk.step(task.at)
    if task.kind in ROUNDS:
        return task.kind, task.person, step
    return task.kind, task.loads, task.place, step


def task_rows(desk: Desk, tasks: Iterable[Task]) -> tuple[Row, ...]:
    """Rows in order of time. Parts of one job in one grid step share a row, as do a person's stops of one round."""
    together: dict[tuple[object, ...], list[Task]] = {}
    blocks: list[Task] = []
    for task in tasks:
        if task.kind in BLOCKS:
            blocks.append(task)
        else:
            together.setdefault(_key(desk, task), []).append(task)
    rows = [_merged(group) for group in together.values()]
    rows += _block_rows(blocks, MOST_GAP)
    return tuple(sorted(rows, key=lambda row: (row.at, ORDER.index(row.kind), row.places, row.loads)))
