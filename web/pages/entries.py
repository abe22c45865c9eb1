"""What the crew sends: one entry or many that waited on a phone, each kept once, in their order."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from fastapi import APIRouter, Request
from fastapi.exceptions import HTTPException
from fastapi.responses import JSONResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from scheduler.books import event_of
from scheduler.errors import InputError
from scheduler.model.log import KINDS, AnyEvent
from web.door import Anyone, Who
from web.kitchen import Kitchen
from web.posted import posted_form, posted_json
from web.show import kitchen_of
from web.store.entries import WHATS, NewEntry, add_entries, event_kind
from web.store.plans import number_in_force

router = APIRouter()

KEY = re.compile(r"[A-Za-z0-9._-]{8,64}")
TASK = re.compile(r"[a-z0-9]{0,24}")
MOST_AT_ONCE = 500
OLDEST = timedelta(days=4)
COUNTER_KINDS = ("sold", "sliced")
"""What the counter may write down, and take back."""


@dataclass(frozen=True, slots=True)
class _Refused(Exception):  # noqa: N818 - an answer, not a failure
    sentence: str


def _text(data: dict[str, Any], name: str, most: int) -> str:
    value = data.get(name, "")
    if not isinstance(value, str):
        raise _Refused(f"{name} is not text.")
    return " ".join("".join(c for c in value if c.isprintable()).split())[:most]


def _new(kitchen: Kitchen, who: Who, data: Any, now: datetime) -> NewEntry:
    """An entry as sent. _Refused with a sentence where it cannot be kept."""
    if not isinstance(data, dict):
        raise _Refused("An entry is not an object.")
    key, what, task = _text(data, "key", 64), _text(data, "what", 20), _text(data, "task", 24)
    if not KEY.fullmatch(key):
        raise _Refused("An entry has no proper key.")
    if what not in WHATS or not TASK.fullmatch(task):
        raise _Refused(f'"{what}" is not something to note.')
    age = data.get("age_s", 0)
    if isinstance(age, bool) or not isinstance(age, int | float) or not 0 <= age <= OLDEST.total_seconds():
        raise _Refused("An entry is older than the weekend, or of the future.")
    at = now - timedelta(seconds=float(age))
    by = who.name or _text(data, "by", 40)
    undoes = data.get("undoes")
    if what == "undo" and (type(undoes) is not int or not 0 < undoes < 2**31):
        raise _Refused("An undo must say what it undoes.")
    event = _event(data.get("event"), at, by)
    if who.role == "counter":
        _check_counter(kitchen, what, task, event, undoes)
    return NewEntry(key, at, by, what, task, event, _text(data, "reason", 200), undoes if what == "undo" else None)


def _check_counter(kitchen: Kitchen, what: str, task: str, event: AnyEvent | None, undoes: Any) -> None:
    """_Refused for what is not the counter's to note, or to take back."""
    kinds: list[str] = [event.kind] if event is not None else []
    kinds += [event_kind(kitchen.database, undoes)] if what == "undo" else []
    if task or not kinds or not set(kinds) <= set(COUNTER_KINDS):
        raise _Refused("That is for the crew to note.")


def _event(data: Any, at: datetime, by: str) -> AnyEvent | None:
    if data is None:
        return None
    if not isinstance(data, dict):
        raise _Refused("An event is not an object.")
    try:
        return event_of({**data, "at": at.isoformat(), "by": by}, "The entry")
    except InputError as error:
        raise _Refused(error.problems[0].sentence()) from None


def keep_all(kitchen: Kitchen, who: Who, sent: list[Any]) -> tuple[dict[str, int], dict[str, str]]:
    """Keep what can be kept; what cannot is told by its key, and not asked for again."""
    now = kitchen.settings.now()
    good: list[NewEntry] = []
    refused: dict[str, str] = {}
    for data in sent:
        try:
            good.append(_new(kitchen, who, data, now))
        except _Refused as error:
            key = data.get("key") if isinstance(data, dict) else None
            refused[str(key)[:64]] = error.sentence
    kept = add_entries(kitchen.database, good, number_in_force(kitchen.database), now)
    return kept, refused


ENTRY = {
    "type": "object",
    "required": ["key", "what"],
    "properties": {
        "key": {"type": "string", "pattern": f"^{KEY.pattern}$"},
        "what": {"enum": list(WHATS)},
        "task": {"type": "string", "pattern": f"^{TASK.pattern}$"},
        "age_s": {"type": "number", "minimum": 0, "maximum": OLDEST.total_seconds()},
        "event": {"type": "object", "required": ["kind"], "properties": {"kind": {"enum": list(KINDS)}}},
        "reason": {"type": "string"},
        "by": {"type": "string"},
        "undoes": {"type": "integer", "minimum": 1, "maximum": 2**31 - 1},
    },
}
ASKED = {
    "type": "object",
    "required": ["entries"],
    "properties": {"entries": {"type": "array", "maxItems": MOST_AT_ONCE, "items": {"anyOf": [ENTRY, {}]}}},
}
TOLD = {
    "type": "object",
    "required": ["kept", "refused"],
    "additionalProperties": False,
    "properties": {
        "kept": {"type": "object", "additionalProperties": {"type": "integer"}},
        "refused": {"type": "object", "additionalProperties": {"type": "string"}},
    },
}
"""What comes and goes: an entry that cannot be kept is refused alone, so whatever stands in the list is taken."""


@router.post(
    "/entries",
    response_class=JSONResponse,
    openapi_extra={"requestBody": {"required": True, "content": {"application/json": {"schema": ASKED}}}},
    responses={
        200: {"description": "All that can be kept is on the disk.", "content": {"application/json": {"schema": TOLD}}},
        400: {"description": "That is no list of entries.", "content": {"text/html": {}}},
        401: {"description": "Nobody is signed in.", "content": {"text/plain": {}}},
        403: {"description": "Another page sent it, or it is for somebody else.", "content": {"text/plain": {}}},
        413: {"description": "Too much.", "content": {"text/plain": {}}},
    },
)
async def entries(request: Request, who: Anyone) -> Response:
    """Many at once, from a script. Answers when they are on the disk."""
    data = await posted_json(request)
    sent = data.get("entries")
    if not isinstance(sent, list) or len(sent) > MOST_AT_ONCE:
        raise HTTPException(400, f"Send a list of at most {MOST_AT_ONCE} entries")
    kept, refused = await run_in_threadpool(keep_all, kitchen_of(request), who, sent)
    return JSONResponse({"kept": kept, "refused": refused})


@router.post("/note")
async def note(request: Request, who: Anyone) -> Response:
    """One entry from a plain form, where no script runs."""
    posted = await posted_form(request)
    data: dict[str, Any] = {name: posted.get(name, "") for name in ("key", "what", "task", "reason", "by")}
    data |= {"undoes": int(posted["undoes"][:12])} if posted.get("undoes", "").isdecimal() else {}
    sent = [data | {"key": f"{data['key']}-{i}", "event": event} for i, event in enumerate(_events(posted))]
    _, refused = await run_in_threadpool(keep_all, kitchen_of(request), who, sent or [data])
    if refused:
        raise HTTPException(422, next(iter(refused.values())).rstrip("."))
    back = posted.get("back", "/now")
    return RedirectResponse(back if back in ("/now", "/service") else "/now", 303)


def _events(posted: dict[str, str]) -> list[Any]:
    """The events of a form: as JSON, or a reading typed into it."""
    found = []
    for name in sorted(posted):
        if name.startswith("event") and posted[name]:
            try:
                found.append(json.loads(posted[name]))
            except ValueError:
                raise HTTPException(400, "That is not an event") from None
    if posted.get("probe") and posted.get("temp_f"):
        try:
            found.append({"kind": "probe", "load": posted["probe"], "temp_f": float(posted["temp_f"])})
        except ValueError:
            raise HTTPException(422, "That is not a temperature") from None
    return found
