"""The log of a weekend as a file of JSON Lines: read with what is wrong with it told, and appended to safely."""

from __future__ import annotations

import codecs
import fcntl
import json
import os
from itertools import pairwise
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from pydantic import ValidationError

from scheduler.books.files import read_bytes, refuse
from scheduler.books.plans import in_zone
from scheduler.books.sentences import problems_of, show
from scheduler.errors import InputError, OutputError
from scheduler.model.log import EVENT, KINDS, AnyEvent, Log


def read_log(path: Path, zone: ZoneInfo) -> Log:
    """The events of a file in order of time, their times in a zone. A file that is not there is an empty log.

    A line that is no whole JSON was torn while it was written: it is set aside and told. Events out of order are sorted
    and told. InputError where a line is whole but says nothing that can be used.
    """
    if not path.exists():
        return Log()
    whole = read_bytes(path).removeprefix(codecs.BOM_UTF8)
    notes: list[str] = []
    found: list[AnyEvent] = []
    for number, line in enumerate(whole.split(b"\n"), 1):
        if not line.strip():
            continue
        try:
            data = json.loads(line.decode())  # line by line, as a line may end within a letter
        except (ValueError, RecursionError):
            seen = line.decode(errors="replace")[:60]
            notes.append(f"{path.name}, line {number} was torn while it was written and is set aside: {seen!r}.")
            continue
        found.append(event_of(data, f"{path.name}, line {number}"))
    late = sum(after.at < before.at for before, after in pairwise(found))
    if late:
        notes.append(f"{path.name}: {late} {'event stands' if late == 1 else 'events stand'} out of order; sorted.")
    events = sorted((in_zone(event, zone) for event in found), key=lambda event: event.at.timestamp())
    return Log(tuple(events), tuple(notes))


def event_of(data: Any, where: str) -> AnyEvent:
    """One event from the object of its line. InputError if it is none."""
    kind = data.get("kind") if isinstance(data, dict) else data
    if not isinstance(data, dict) or not isinstance(kind, str) or kind not in KINDS:
        raise refuse(where, f"{show(kind)} is no kind of event", f"use one of {', '.join(KINDS)}")
    try:
        found: AnyEvent = EVENT.validate_json(json.dumps(data))
    except ValidationError:
        pass
    else:
        return found
    model = KINDS[kind]
    try:
        model.model_validate_json(json.dumps(data))
    except ValidationError as error:
        raise InputError(problems_of(where, data, model, error)) from None
    raise refuse(where, "is no event", "correct the line")


def append_event(path: Path, event: AnyEvent) -> None:
    """Write one event at the end of a file, whole and on the disk before this returns. OutputError if it cannot be.

    A torn last line is closed first, so that it spoils nothing but itself. Writers wait for each other.
    """
    line = event.model_dump_json() + "\n"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_APPEND, 0o644)
        try:
            fcntl.flock(handle, fcntl.LOCK_EX)
            size = os.fstat(handle).st_size
            torn = size > 0 and os.pread(handle, 1, size - 1) != b"\n"
            _write_all(handle, ("\n" if torn else "").encode() + line.encode())
            os.fsync(handle)
        finally:
            os.close(handle)
    except OSError as error:
        raise OutputError(f"{path} cannot be written: {error.strerror or error}") from error


def _write_all(handle: int, data: bytes) -> None:
    while data:
        data = data[os.write(handle, data) :]
