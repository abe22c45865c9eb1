"""Opens the database: one writer at a time, on the disk before anybody hears that it is kept."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.util import CommandError
from sqlalchemy import Connection, Engine, create_engine, event, make_url
from sqlalchemy.engine.interfaces import DBAPIConnection
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.pool import ConnectionPoolEntry

from scheduler.errors import InputError, Problem
from web.store.copies import take_copy

MIGRATIONS = Path(__file__).parent / "migrations"
WAIT_S = 20
NOT_OPENED = (SQLAlchemyError, CommandError, ImportError, OSError, TypeError, ValueError)
"""What a wrong address raises: each part of it is read by another library, with errors of its own."""


class Database:
    """A database with its tables brought up to date. InputError if it cannot be opened."""

    def __init__(self, address: str) -> None:
        self.address = address
        self._one_writer = threading.RLock()
        try:
            self.engine = _engine(address)
            self._bring_up_to_date()
        except NOT_OPENED as error:
            raise _refused(address, error) from error

    def _bring_up_to_date(self) -> None:
        config = Config()
        config.set_main_option("script_location", str(MIGRATIONS))
        with self._one_writer, self.engine.connect() as connection:
            config.attributes["connection"] = connection
            command.upgrade(config, "head")

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection that only reads; it sees one moment."""
        with self.engine.connect() as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction that no other writer is beside. It is on the disk when this ends, or nothing of it is."""
        open_connection = self.engine.connect().execution_options(writes=True)
        with self._one_writer, open_connection as connection, connection.begin():
            yield connection

    def backup(self, path: Path) -> None:
        """A whole copy of an SQLite database, taken while it is in use. InputError for another kind."""
        if self.engine.url.get_backend_name() != "sqlite" or self.engine.url.database is None:
            what, mend = "it cannot be copied in one file", "use the tools that this kind of database has for that"
            raise InputError([Problem("the database", "", "", what, mend)])
        take_copy(Path(self.engine.url.database), path)

    def close(self) -> None:
        """Let go of all connections."""
        self.engine.dispose()


def _engine(address: str) -> Engine:
    lite = address.startswith("sqlite")
    waits = {"timeout": WAIT_S} if lite else {}
    engine = create_engine(address, connect_args=waits, pool_size=20, max_overflow=40)
    if lite:
        event.listen(engine, "connect", _set_up)
        event.listen(engine, "begin", _begin)
    return engine


def _refused(address: str, error: Exception) -> InputError:
    """What is wrong, without the password that an address may hold."""
    try:
        shown = make_url(address).render_as_string()
    except (SQLAlchemyError, ValueError):
        shown = "that address"
    why = str(getattr(error, "orig", None) or error).partition("\n")[0]
    mend = "give the address of one that can be reached, or put a copy of the data in its place"
    return InputError([Problem("the database", "", "", f"{shown} cannot be opened ({why})", mend)])


def _set_up(connection: DBAPIConnection, _: ConnectionPoolEntry) -> None:
    connection.isolation_level = None  # BEGIN is ours, see _begin
    cursor = connection.cursor()
    for setting in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON"):
        cursor.execute(f"PRAGMA {setting}")
    cursor.close()


def _begin(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
