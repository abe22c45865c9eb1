"""Histories that were uploaded, and the answers that were worked out from them."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import delete, select, update

from web.store.database import Database
from web.store.deeds import note_deed
from web.store.tables import answers, uploads
from web.store.times import got, put


@dataclass(frozen=True, slots=True)
class Upload:
    """One history: the text of both files."""

    id: int
    at: datetime
    by: str
    name: str
    sales: str
    days: str
    kept: bool


def add_upload(database: Database, name: str, sales: str, days: str, *, by: str, at: datetime) -> int:
    """Set a history aside until somebody has looked at it; its number."""
    with database.writing() as connection:
        values = {"at": put(at), "by": by, "name": name[:120], "sales": sales, "days": days, "kept": False}
        made = connection.execute(uploads.insert().values(**values)).inserted_primary_key
        assert made is not None
        return int(made[0])


def upload(database: Database, number: int) -> Upload:
    """One history. LookupError if there is none of that number."""
    with database.reading() as connection:
        row = connection.execute(select(uploads).where(uploads.c.id == number)).first()
    if row is None:
        raise LookupError(f"there is no upload {number}")
    return Upload(row.id, got(row.at), row.by, row.name, row.sales, row.days, row.kept)


def kept_upload(database: Database) -> Upload | None:
    """The history in use; None if none was ever uploaded."""
    with database.reading() as connection:
        found = connection.execute(
            select(uploads.c.id).where(uploads.c.kept).order_by(uploads.c.id.desc()).limit(1)
        ).scalar()
    return None if found is None else upload(database, int(found))


def keep_upload(database: Database, number: int, *, by: str, at: datetime) -> None:
    """Use it from now on."""
    with database.writing() as connection:
        connection.execute(update(uploads).where(uploads.c.id == number).values(kept=True))
        note_deed(connection, at, by, "history kept", f"upload {number}")


def do_now_key(number: int) -> str:
    """Under which the words of a plan that was made on the way are kept."""
    return f"do-now-{number}"


def answer(database: Database, key: str) -> tuple[datetime, dict[str, Any]] | None:
    """What was worked out under a key, and when."""
    with database.reading() as connection:
        row = connection.execute(select(answers).where(answers.c.key == key)).first()
    return None if row is None else (got(row.at), json.loads(row.data))


def keep_answer(database: Database, key: str, data: dict[str, Any], at: datetime) -> None:
    """Keep an answer; a newer one takes its place."""
    with database.writing() as connection:
        connection.execute(delete(answers).where(answers.c.key == key))
        connection.execute(answers.insert().values(key=key, at=put(at), data=json.dumps(data)))


def first_answer(database: Database, key: str, data: dict[str, Any], at: datetime) -> dict[str, Any]:
    """Keep an answer unless there is one; the one that stands."""
    with database.writing() as connection:
        there = connection.execute(select(answers.c.data).where(answers.c.key == key)).scalar()
        if there is None:
            connection.execute(answers.insert().values(key=key, at=put(at), data=json.dumps(data)))
            return data
    found: dict[str, Any] = json.loads(there)
    return found
