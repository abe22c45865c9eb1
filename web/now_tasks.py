"""What is to be done about now, and what each tick writes into the log."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from hashlib import sha256

from scheduler.model.weekend import minutes_text
from scheduler.report.desk import Desk
from scheduler.report.sentences import say
from scheduler.report.task_rows import BLOCKS, ROUNDS, Row, task_rows
from scheduler.report.words import list_text
from web.store.entries import Entry

AHEAD = timedelta(minutes=30)
BEHIND = timedelta(minutes=90)
"""What nobody ticked is asked for so long; after that it is taken to have gone as planned."""

LOG_KIND = {"light": "lit", "load": "loaded", "wrap": "wrapped", "move": "moved"}


@dataclass(frozen=True, slots=True)
class PullChoice:
    """One load of a probe round: it may be pulled."""

    code: str
    event: str


@dataclass(frozen=True, slots=True)
class TaskCard:
    """Something to do."""

    key: str
    when: str
    due: str
    """ "in 12 min", "now" or "8 min late"."""
    who: str
    what: str
    detail: tuple[str, ...]
    kind: str
    late: bool
    said: str
    """What somebody noted on it already, such as a delay."""
    events: tuple[str, ...]
    """Log events that a tick writes, as JSON without time and name."""
    pulls: tuple[PullChoice, ...]
    block: bool
    """True for work that goes on for hours and is not ticked."""


def task_key(row: Row) -> str:
    """A name for a task that stays the same from plan to plan as long as the task does."""
    text = "|".join([row.kind, row.at.isoformat(), *row.people, *row.loads, *row.places])
    return sha256(text.encode()).hexdigest()[:16]


def events_of(desk: Desk, row: Row) -> tuple[str, ...]:
    """What the tick of a row writes into the log."""
    kind = LOG_KIND.get(row.kind)
    if kind is None:
        return ()
    if kind == "lit":
        return tuple(json.dumps({"kind": kind, "place": place}) for place in row.places)
    found = []
    for code in row.loads:
        data: dict[str, str | None] = {"kind": kind, "load": code}
        if kind == "moved":
            stop = min(desk.by_code[code].stops, key=lambda stop: abs(stop.at - row.at), default=None)
            if stop is None:
                continue
            data |= {"place": stop.place, "rack": stop.rack}
        found.append(json.dumps(data))
    return tuple(found)


def due_text(at: datetime, now: datetime) -> str:
    """How far off a time is."""
    minutes = round((at - now) / timedelta(minutes=1))
    if abs(minutes) < 2:
        return "now"
    span = minutes_text(abs(minutes))
    return f"in {span}" if minutes > 0 else f"{span} ago"


def cards(desk: Desk, entries: Sequence[Entry], now: datetime, person: str = "") -> tuple[TaskCard, ...]:
    """What is open from a while ago to half an hour ahead, for one person or for all."""
    ticked = {e.task for e in entries if e.what in ("done", "skip") and not e.undone and e.task}
    noted = {e.task: e.reason or "running late" for e in entries if e.what == "late" and not e.undone and e.task}
    pulled = _pulled(entries)
    return tuple(_cards(desk, now.astimezone(UTC), person, ticked, noted, pulled))


def overtaken(row: Row, rows: Sequence[Row], now: datetime) -> bool:
    """True for a round of tending or probing after which the next one of the same fires or loads is due already."""
    if row.kind not in ROUNDS or row.at > now:
        return False
    left = set(row.places) | set(row.loads)
    for other in rows:
        if other.kind == row.kind and row.at < other.at <= now:
            left -= {*other.places, *other.loads}
    return not left


def _pulled(entries: Sequence[Entry]) -> set[str]:
    return {
        str(e.event.get("load"))
        for e in entries
        if e.event and not e.undone and e.event.get("kind") in ("pulled", "done")
    }


def _cards(
    desk: Desk, now: datetime, person: str, ticked: set[str], noted: dict[str, str], pulled: set[str]
) -> Iterator[TaskCard]:
    rows = task_rows(desk, desk.plan.tasks)
    for row in rows:
        block = row.kind in BLOCKS
        running = row.at <= now < row.ends_at
        in_view = running if block else now - BEHIND <= row.at <= now + AHEAD
        if block and not running and now < row.at <= now + AHEAD:
            in_view = True
        if not in_view or (person and person not in row.people) or overtaken(row, rows, now):
            continue
        key = task_key(row)
        if key in ticked or (row.kind == "pull" and set(row.loads) <= pulled):
            continue
        what, detail = say(desk, row)
        yield TaskCard(
            key=key,
            when=desk.clock(row.at),
            due=due_text(row.at, now),
            who=list_text(row.people),
            what=what,
            detail=detail,
            kind=row.kind,
            late=not block and row.at < now - timedelta(minutes=desk.plan.certificate.grid_min),
            said=noted.get(key, ""),
            events=events_of(desk, row),
            pulls=tuple(
                PullChoice(code, json.dumps({"kind": "pulled", "load": code}))
                for code in sorted(set(row.loads) - pulled)
            )
            if row.kind == "pull"
            else (),
            block=block,
        )
