"""What the crew writes down, once each however often it is sent: every entry carries a key made on the phone."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import Row, func, select

from scheduler.books import event_of
from scheduler.books.plans import in_zone
from scheduler.errors import InputError
from scheduler.model.log import AnyEvent, Log, Sold
from web.store.database import Database
from web.store.tables import entries
from web.store.times import got, put

WHATS = ("done", "late", "skip", "note", "undo")


@dataclass(frozen=True, slots=True)
class NewEntry:
    """An entry as it comes in."""

    key: str
    at: datetime
    by: str
    what: str
    task: str = ""
    event: AnyEvent | None = None
    reason: str = ""
    undoes: int | None = None


@dataclass(frozen=True, slots=True)
class Entry:
    """An entry as it is kept."""

    id: int
    key: str
    at: datetime
    got_at: datetime
    by: str
    what: str
    task: str
    event: dict[str, Any] | None
    reason: str
    undoes: int | None
    undone: bool


def add_entries(database: Database, new: Sequence[NewEntry], plan: int | None, now: datetime) -> dict[str, int]:
    """Keep entries in their order; the number of each by its key. One that is there already stays as it was."""
    kept: dict[str, int] = {}
    with database.writing() as connection:
        for entry in new:
            there = connection.execute(select(entries.c.id).where(entries.c.key == entry.key)).scalar()
            if there is None:
                made = connection.execute(
                    entries.insert().values(
                        key=entry.key,
                        plan=plan,
                        at=put(entry.at),
                        got_at=put(now),
                        by=entry.by,
                        what=entry.what,
                        task=entry.task,
                        event=None if entry.event is None else entry.event.model_dump_json(),
                        reason=entry.reason,
                        undoes=entry.undoes,
                    )
                ).inserted_primary_key
                assert made is not None
                there = made[0]
            kept[entry.key] = int(there)
    return kept


def event_kind(database: Database, number: int) -> str:
    """The kind of event that an entry wrote into the log; empty if it wrote none."""
    with database.reading() as connection:
        event = connection.execute(select(entries.c.event).where(entries.c.id == number)).scalar()
    return "" if event is None else str(json.loads(event)["kind"])


def last_entry(database: Database) -> int:
    """The number of the latest entry; 0 if there is none."""
    with database.reading() as connection:
        return int(connection.execute(select(func.max(entries.c.id))).scalar() or 0)


def all_entries(database: Database) -> tuple[Entry, ...]:
    """Everything that was written down, in the order in which it came in; what was undone says so."""
    with database.reading() as connection:
        rows = connection.execute(select(entries).order_by(entries.c.id)).all()
    gone = {row.undoes for row in rows if row.undoes is not None}
    return tuple(_entry(row, row.id in gone) for row in rows)


def _entry(row: Row[Any], undone: bool) -> Entry:
    event = None if row.event is None else json.loads(row.event)
    values = (row.id, row.key, got(row.at), got(row.got_at), row.by, row.what, row.task)
    return Entry(*values, event, row.reason, row.undoes, undone)


def log_of(kept: Sequence[Entry], zone: ZoneInfo) -> Log:
    """The entries as the log that the scheduler reads; what was undone is not in it."""
    events: list[AnyEvent] = []
    notes: list[str] = []
    sold: Counter[tuple[str, date]] = Counter()
    for entry in sorted(kept, key=lambda entry: (entry.at, entry.id)):
        if entry.event is None or entry.undone:
            continue
        try:
            event = in_zone(event_of(entry.event, f"entry {entry.id}"), zone)
            if isinstance(event, Sold):  # phones count what is sold now, the log what was sold so far
                day = event.cut, event.at.date()
                sold[day] += event.portions
                event = event.model_copy(update={"portions": sold[day]})
            events.append(event)
        except InputError as error:
            notes += [problem.sentence() for problem in error.problems]
    return Log(tuple(sorted(events, key=lambda event: event.at.timestamp())), tuple(notes))
