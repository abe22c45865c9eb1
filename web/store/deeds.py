"""Who changed what and when: a log that only grows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, select

from web.store.database import Database
from web.store.tables import deeds
from web.store.times import got, put


@dataclass(frozen=True, slots=True)
class Deed:
    """One change."""

    at: datetime
    by: str
    what: str
    detail: str


def note_deed(connection: Connection, at: datetime, by: str, what: str, detail: str = "") -> None:
    """Write one down, in the transaction of the change itself."""
    connection.execute(deeds.insert().values(at=put(at), by=by, what=what, detail=detail))


def last_deeds(database: Database, count: int) -> tuple[Deed, ...]:
    """The latest ones, newest first."""
    with database.reading() as connection:
        rows = connection.execute(select(deeds).order_by(deeds.c.id.desc()).limit(count)).all()
    return tuple(Deed(got(row.at), row.by, row.what, row.detail) for row in rows)
