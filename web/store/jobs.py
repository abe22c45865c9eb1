"""Searches that were asked for: they wait in line, one runs at a time, and a restart is not forgotten."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Row, select, update

from web.store.database import Database
from web.store.deeds import note_deed
from web.store.tables import jobs
from web.store.times import got, put

OPEN = ("waiting", "running")
"""States of a search that is still in line."""


@dataclass(frozen=True, slots=True)
class Job:
    """One search."""

    id: int
    kind: str
    state: str
    """ "waiting", "running", "done", "failed", "broken off" by a restart, or "dropped" by a person."""
    asked_at: datetime
    asked_by: str
    task: dict[str, Any]
    progress: dict[str, Any]
    plan: int | None
    said: str


def _job(row: Row[Any]) -> Job:
    values = (row.id, row.kind, row.state, got(row.asked_at), row.asked_by)
    return Job(*values, json.loads(row.task), json.loads(row.progress), row.plan, row.said)


def ask_job(database: Database, kind: str, task: dict[str, Any], *, by: str, at: datetime) -> int:
    """Put a search in line; its number."""
    with database.writing() as connection:
        values = {"kind": kind, "state": "waiting", "asked_at": put(at), "asked_by": by, "progress": "{}", "said": ""}
        made = connection.execute(jobs.insert().values(**values, task=json.dumps(task))).inserted_primary_key
        assert made is not None
        note_deed(connection, at, by, f"{kind} asked for", f"search {made[0]}")
        return int(made[0])


def job(database: Database, number: int) -> Job:
    """One search. LookupError if there is none of that number."""
    with database.reading() as connection:
        row = connection.execute(select(jobs).where(jobs.c.id == number)).first()
    if row is None:
        raise LookupError(f"there is no search {number}")
    return _job(row)


def jobs_in(database: Database, *states: str) -> tuple[Job, ...]:
    """Searches in some states, first asked first."""
    with database.reading() as connection:
        rows = connection.execute(select(jobs).where(jobs.c.state.in_(states)).order_by(jobs.c.id)).all()
    return tuple(_job(row) for row in rows)


def change_job(database: Database, number: int, **values: Any) -> None:
    """Set some of its columns; documents as they are, not yet as text."""
    for name in ("task", "progress"):
        if name in values:
            values[name] = json.dumps(values[name])
    with database.writing() as connection:
        connection.execute(update(jobs).where(jobs.c.id == number).values(**values))


def take_up(database: Database, number: int) -> bool:
    """Begin a search that waits. False if somebody dropped it just now."""
    return _from_waiting(database, number, state="running")


def drop(database: Database, number: int) -> bool:
    """Take a search that waits out of the line. False if it does not wait."""
    return _from_waiting(database, number, state="dropped", said="Dropped before it began.")


def _from_waiting(database: Database, number: int, **values: str) -> bool:
    with database.writing() as connection:
        mine = update(jobs).where(jobs.c.id == number, jobs.c.state == "waiting")
        return connection.execute(mine.values(**values)).rowcount == 1


def own_up(database: Database) -> None:
    """Whatever was running when the program ended has been broken off."""
    with database.writing() as connection:
        said = "The program was started anew while this ran. Only what stands among the plans was kept; ask again."
        connection.execute(update(jobs).where(jobs.c.state == "running").values(state="broken off", said=said))
