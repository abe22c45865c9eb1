"""The next half hour by person, in as few words as it takes: what is done in one go is told in one line."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from scheduler.model.plan import Load
from scheduler.report.desk import Desk
from scheduler.report.sentences import moved_to, say, stop_of
from scheduler.report.task_rows import Row, task_rows
from scheduler.report.words import (
    bare_clock,
    codes_text,
    cut_text,
    list_text,
    pieces_text,
    rack_text,
    sentence,
    unique,
)

SOON, QUARTER = timedelta(minutes=30), timedelta(minutes=15)


@dataclass(frozen=True, slots=True)
class Person:
    """One person's next half hour."""

    name: str
    todo: tuple[str, ...]


class HalfHour:
    """What is to be done by a new plan until then; `old` is what everybody was told."""

    def __init__(self, desk: Desk, old: Desk, since: datetime) -> None:
        self.desk = desk
        self.old = old
        self.since = since

    def people(self) -> Iterator[Person]:
        """Whoever has something to do; those with the same to do together."""
        soon = [t for t in self.desk.plan.tasks if self.since <= t.at < self.since + SOON]
        alike: dict[tuple[str, ...], list[str]] = {}
        for name in sorted({task.person for task in soon}):
            rows = task_rows(self.desk, [task for task in soon if task.person == name])
            alike.setdefault(tuple(self.todo(rows)), []).append(name)
        for todo, names in alike.items():
            yield Person(list_text(names), todo)

    def todo(self, rows: Sequence[Row]) -> Iterator[str]:
        """One person's rows; all slicing of the half hour, which goes on to and fro, in one, and so all moves to one
        place, all wraps in one way and what of a cut is loaded in a quarter of an hour. One thing follows another: a
        time is told with the first of each quarter."""
        together: dict[Hashable, list[Row]] = {}
        for row in rows:
            together.setdefault(self.one_breath(row), []).append(row)
        told = -1
        for alike in together.values():
            quarter = self.quarter(alike[0])
            clock = bare_clock(self.desk.local(alike[0].at), self.desk.plan.clock) if quarter > told else ""
            told = max(told, quarter)
            yield f"{clock} {self.said(alike)}".strip()

    def quarter(self, row: Row) -> int:
        """In which quarter of an hour from now a row begins."""
        return (row.at - self.since) // QUARTER

    def one_breath(self, row: Row) -> Hashable:
        """What rows that are told as one have in common."""
        if row.kind == "move":
            stop = stop_of(self.desk, row)
            return row.kind, stop.place if stop is not None else ""
        if row.kind in ("wrap", "load") and len(row.loads) == 1:
            load = self.desk.by_code[row.loads[0]]
            if row.kind == "load":
                return row.kind, load.cut, self.quarter(row)
            return row.kind, self.desk.wrap_words(load)
        return row.kind if row.kind == "slice" else row

    def said(self, alike: list[Row]) -> str:
        """One line for rows that are told as one."""
        first = alike[0]
        if first.kind == "slice":
            cuts = unique(cut_text(self.desk.by_code[code].cut, 2) for row in alike for code in row.loads)
            return sentence(f"slice and cut up {list_text(cuts)}")
        if first.kind == "tend" and not self.other_setpoint(first):
            return sentence(f"tend the {list_text([self.desk.fire_words(place) for place in first.places])}")
        if first.kind == "wrap" and len(first.loads) == 1:
            load = self.desk.by_code[first.loads[0]]
            whole = len(alike) == 1 and first.pieces == load.pieces
            return sentence(f"wrap {load.code if whole else self.moved(alike)} {self.desk.wrap_words(load)}")
        if len(alike) == 1:
            return say(self.desk, first)[0]
        return self.loaded(alike) if first.kind == "load" else self.moves(alike)

    def loaded(self, rows: list[Row]) -> str:
        """Loads of one cut, rack by rack."""
        racks: dict[str, list[Load]] = {}
        for row in rows:
            load = self.desk.by_code[row.loads[0]]
            racks.setdefault(self.desk.smoker_place(load), []).append(load)
        parts = [f"{codes_text(sorted(x.code for x in some))} on the {rack}" for rack, some in racks.items()]
        cut = self.desk.by_code[rows[0].loads[0]].cut
        return sentence(f"load {pieces_text(sum(row.pieces for row in rows), cut)}: {'; '.join(parts)}")

    def other_setpoint(self, row: Row) -> bool:
        """True if a fire that is tended is to be at another setpoint than everybody knows."""
        return any(
            self.desk.setpoint_then(place, row.at) != self.old.setpoint_then(place, self.since) for place in row.places
        )

    def moves(self, rows: list[Row]) -> str:
        """All that goes to one smoker or oven, rack by rack."""
        racks: dict[str | None, list[Row]] = {}
        for row in rows:
            stop = stop_of(self.desk, row)
            racks.setdefault(None if stop is None else stop.rack, []).append(row)
        if len(racks) == 1:
            return sentence(f"move {self.moved(rows)}{moved_to(self.desk, rows[0])}")
        stop = stop_of(self.desk, rows[0])
        assert stop is not None
        parts = [f"{self.moved(some)}, {rack_text(rack or '').removesuffix(' rack')}" for rack, some in racks.items()]
        return sentence(f"move to the {self.desk.smoker_words(stop.place)}: {'; '.join(parts)}")

    def moved(self, rows: list[Row]) -> str:
        """What is moved or wrapped, by cut."""
        by_cut: dict[str, list[Row]] = {}
        for row in rows:
            by_cut.setdefault(self.desk.by_code[row.loads[0]].cut, []).append(row)
        parts = []
        for cut, some in by_cut.items():
            codes = codes_text(sorted(row.loads[0] for row in some))
            parts.append(f"{pieces_text(sum(row.pieces for row in some), cut)} ({codes})")
        return list_text(parts)
