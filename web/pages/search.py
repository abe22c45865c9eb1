"""A search while it runs: where it stands, told as it happens; stop it and keep the best."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response, StreamingResponse
from starlette.concurrency import run_in_threadpool

from scheduler.report.words import money_text, percent_text
from web.door import Crew, NotForYouError, Number
from web.pages.night import ask_reshuffle
from web.show import kitchen_of, page
from web.store.jobs import OPEN, ask_job, job, jobs_in

router = APIRouter()

EVERY_S = 0.4
BEAT_S = 15.0

TITLES = {
    "plan": "Planning the weekend",
    "around": "Planning around the pins",
    "reshuffle": "Reshuffling",
    "forecast": "Working out the forecast",
}
STATES = {
    "waiting": "In line",
    "running": "Searching",
    "done": "Done",
    "failed": "No answer",
    "broken off": "Broken off",
    "dropped": "Dropped",
}


@dataclass(frozen=True, slots=True)
class Standing:
    """How a search stands, in words; the same as the stream tells."""

    state: str
    open: bool
    cost: str
    bound: str
    gap: str
    short: str
    seconds: str
    share: int
    """Of the time, in percent."""
    note: str
    first: int | None
    plan: int | None
    to: str
    """The page to go to when it is done."""


@dataclass(frozen=True, slots=True)
class SearchPage:
    """Context of the page."""

    number: int
    kind: str
    title: str
    asked: str
    standing: Standing
    line: tuple[tuple[int, str, str], ...]
    """Searches that run or wait: number, what, state."""


def _shown(raw: dict[str, Any]) -> Standing:
    told = raw["progress"]
    cost, bound, gap = told.get("cost_cents"), told.get("bound_cents"), told.get("gap")
    gone, asked = told.get("seconds"), told.get("seconds_asked")
    short, note = told.get("pieces_short"), raw["said"] or told.get("note", "")
    if raw["ahead"]:
        note = f"{raw['ahead']} ahead of it in line."
    elif told.get("stopping") and raw["open"]:
        note = "Stopping; the best so far is kept."
    return Standing(
        state=STATES[raw["state"]],
        open=raw["open"],
        cost="" if cost is None else money_text(cost),
        bound="" if bound is None else money_text(bound),
        gap="" if gap is None else percent_text(max(0.0, gap)),
        short="" if short is None else f"{short:,}",
        seconds="" if gone is None else f"{gone:.0f} s",
        share=_share(raw["state"], gone, asked),
        note=note,
        first=told.get("first"),
        plan=raw["plan"],
        to=_to(raw),
    )


def _share(state: str, gone: float | None, asked: float | None) -> int:
    if state == "done":
        return 100
    return min(100, round(100 * gone / asked)) if gone and asked else 0


def _to(raw: dict[str, Any]) -> str:
    if raw["kind"] == "forecast":
        return "/forecast" if raw["state"] == "done" else ""
    if raw["plan"] is None:
        return ""
    return f"/do-now/{raw['plan']}" if raw["kind"] == "reshuffle" else f"/plans/{raw['plan']}"


@router.get("/search/{number}")
def search(request: Request, who: Crew, number: Number) -> HTMLResponse:
    """The page."""
    kitchen = kitchen_of(request)
    found = job(kitchen.database, number)
    scenario = kitchen.weekend().scenario
    asked = f"Asked for {kitchen.moment(found.asked_at, scenario)}" + (f" by {found.asked_by}" * bool(found.asked_by))
    line = [(j.id, TITLES[j.kind], STATES[j.state]) for j in jobs_in(kitchen.database, *OPEN)]
    context = SearchPage(
        number, found.kind, TITLES[found.kind], asked, _shown(kitchen.line.standing(number)), tuple(line)
    )
    return page(request, who, TITLES[found.kind], "search.html", context)


@router.get("/search/{number}/stream")
async def stream(request: Request, who: Crew, number: Number) -> StreamingResponse:
    """Server-sent events, one whenever something changed, until the search has ended."""
    kitchen = kitchen_of(request)
    await run_in_threadpool(job, kitchen.database, number)

    async def told() -> AsyncIterator[str]:
        last, silent = "", 0.0
        while not await request.is_disconnected():
            standing = _shown(await run_in_threadpool(kitchen.line.standing, number))
            text = json.dumps({name: getattr(standing, name) for name in Standing.__dataclass_fields__})
            if text != last:
                yield f"event: standing\ndata: {text}\n\n"
                last, silent = text, 0.0
            elif silent > BEAT_S:
                yield ": still here\n\n"
                silent = 0.0
            if not standing.open:
                return
            await asyncio.sleep(EVERY_S)
            silent += EVERY_S

    return StreamingResponse(told(), media_type="text/event-stream", headers={"x-accel-buffering": "no"})


@router.post("/search/{number}/stop")
def stop(request: Request, who: Crew, number: Number) -> Response:
    """Stop it and keep the best."""
    kitchen_of(request).line.stop(number)
    return RedirectResponse(f"/search/{number}", 303)


@router.post("/search/{number}/again")
def again(request: Request, who: Crew, number: Number) -> Response:
    """Ask for the same once more, after a restart broke it off; what happens at the pit, from this moment on."""
    kitchen = kitchen_of(request)
    found = job(kitchen.database, number)
    now = kitchen.settings.now()
    if found.kind == "reshuffle":
        return RedirectResponse(f"/search/{ask_reshuffle(request, who, now)}", 303)
    if who.role != "lead":
        raise NotForYouError
    new = ask_job(kitchen.database, found.kind, found.task, by=who.name, at=now)
    kitchen.line.wake()
    return RedirectResponse(f"/search/{new}", 303)
