"""A whole copy of the data in one file, taken while they are in use; and the way back to it."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from datetime import datetime
from pathlib import Path
from tempfile import NamedTemporaryFile

from scheduler.errors import InputError, OutputError, Problem

OURS = {"scenarios", "plans", "entries", "deeds", "alembic_version"}
"""Tables by which a file is known as a kitchen's data."""
BUSY_S = 5


def take_copy(data: Path, file: Path) -> None:
    """Copy a kitchen's data to a file, under another name first. InputError if there are none, OutputError."""
    if not data.is_file():
        raise InputError([Problem(data.name, "", "", "there are no data yet", "serve the kitchen first")])
    part: str | None = None
    try:
        with NamedTemporaryFile(dir=file.parent, delete=False) as made:
            part = made.name
        with closing(sqlite3.connect(data)) as source, closing(sqlite3.connect(part)) as copy:
            source.backup(copy)
        os.replace(part, file)
        part = None
    except (OSError, sqlite3.Error) as error:
        raise OutputError(f"{file}: the copy could not be written: {error}") from error
    finally:
        if part is not None:
            Path(part).unlink(missing_ok=True)


def go_back(data: Path, file: Path, now: datetime) -> Path:
    """Put a copy in place of a kitchen's data, whole or not at all; the file that keeps what was there until now.

    InputError if the file is no copy, or if the data are in use. It goes through the database itself: what a program
    that was killed left beside its file (SQLite's write-ahead log) would else be played on top of the copy.
    """
    _check(file)
    before = data.with_name(f"{data.stem}-before-{now:%Y-%m-%d-%H%M%S}{data.suffix}")
    take_copy(data, before)
    try:
        with closing(sqlite3.connect(file)) as source, closing(sqlite3.connect(data, timeout=BUSY_S)) as target:
            source.backup(target)
            target.execute("PRAGMA journal_mode=WAL")
    except sqlite3.Error as error:
        raise InputError([Problem(data.name, "", "", f"it is in use ({error})", "end the program first")]) from error
    return before


def _check(file: Path) -> None:
    mend = "give a file that was written by the command copy or under Paper"
    if not file.is_file():
        raise InputError([Problem(file.name, "", "", "there is no such file", mend)])
    try:
        with closing(sqlite3.connect(f"{file.resolve().as_uri()}?mode=ro", uri=True)) as copy:
            tables = {name for (name,) in copy.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
            whole = copy.execute("PRAGMA quick_check").fetchone() == ("ok",)
    except sqlite3.Error:
        tables, whole = set(), False
    if not whole or not tables >= OURS:
        raise InputError([Problem(file.name, "", "", "it is not a whole copy of a kitchen's data", mend)])
