"""Now: what to do, what is where, what was noted; and the way into a reshuffle with three questions at most."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from fastapi import APIRouter, Request
from fastapi.exceptions import HTTPException
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from scheduler.books import scenario_dump
from web.broke import Question, answer_event, question_of, summary_of
from web.do_now import DoNow, do_now
from web.door import Crew, Number, Who
from web.now_board import NowBoard, now_board, state_now
from web.pages.entries import keep_all
from web.posted import posted_form
from web.show import fragment, kitchen_of, page
from web.store.entries import all_entries, log_of
from web.store.jobs import ask_job
from web.store.plans import plan_lines, put_in_force

router = APIRouter()

RESHUFFLE_S = 8


@dataclass(frozen=True, slots=True)
class NowPage:
    """Context of the page around the board."""

    board: NowBoard | None


@dataclass(frozen=True, slots=True)
class BrokePage:
    """Context of one question."""

    question: Question
    so_far: str
    seed: str


@dataclass(frozen=True, slots=True)
class DoNowPage:
    """Context of the answer."""

    answer: DoNow


def _board(request: Request, person: str) -> NowBoard | None:
    kitchen = kitchen_of(request)
    kept = kitchen.in_force()
    if kept is None:
        return None
    newest = next((line for line in plan_lines(kitchen.database) if not line.breaches), None)
    newer = newest.number if newest and newest.number > kept.number and newest.kind == "reshuffled" else None
    known = {shift.person for shift in kept.plan.shifts}
    return now_board(kitchen, kept, person if person in known else "", newer)


@router.get("/now")
def now(request: Request, who: Crew, person: str | None = None) -> HTMLResponse:
    """The page: whoever signed in sees their own work first, and may look at everybody's."""
    return page(request, who, "Now", "now.html", NowPage(_board(request, who.name if person is None else person)))


@router.get("/now/board")
def board(request: Request, who: Crew, person: str = "") -> HTMLResponse:
    """The board alone, for the page's script."""
    found = _board(request, person)
    if found is None:
        raise LookupError("there is no plan in force")
    return fragment("now_board.html", NowPage(found))


@router.get("/broke")
def broke(request: Request, who: Crew, what: str = "", which: str = "") -> HTMLResponse:
    """The next question."""
    kitchen = kitchen_of(request)
    kept = kitchen.in_force()
    if kept is None:
        raise LookupError("there is no plan in force, so there is nothing to reshuffle")
    state, _ = state_now(kitchen, kept)
    asked = question_of(state, what, which)
    context = BrokePage(asked, summary_of(state, what, which), secrets.token_hex(12))
    return page(request, who, "Something changed", "broke.html", context)


@router.post("/broke")
async def reshuffle(request: Request, who: Crew) -> Response:
    """Write down what happened, and have the rest of the plan worked out anew."""
    posted = await posted_form(request)
    return await run_in_threadpool(_reshuffle, request, who, posted)


def _reshuffle(request: Request, who: Who, posted: dict[str, str]) -> Response:
    kitchen = kitchen_of(request)
    kept = kitchen.in_force()
    if kept is None:
        raise LookupError("there is no plan in force, so there is nothing to reshuffle")
    state, _ = state_now(kitchen, kept)
    now = kitchen.settings.now()
    event = answer_event(state, posted, now)
    if event is not None:
        data: dict[str, Any] = {"key": posted.get("key", ""), "what": "note", "event": event, "by": who.name}
        _, refused = keep_all(kitchen, who, [data])
        if refused:
            raise HTTPException(422, next(iter(refused.values())).rstrip("."))
    number = ask_reshuffle(request, who, now)
    return RedirectResponse(f"/search/{number}", 303)


def ask_reshuffle(request: Request, who: Who, now: datetime) -> int:
    """Put a reshuffle from this moment in line; its number."""
    kitchen = kitchen_of(request)
    kept = kitchen.in_force()
    assert kept is not None
    entries = all_entries(kitchen.database)
    log = log_of(entries, kept.scenario.weekend.zone)
    task = {
        "scenario": scenario_dump(kept.scenario),
        "plan": kept.plan.model_dump_json(),
        "past": None if kept.past is None else kept.past.model_dump_json(),
        "log": [event.model_dump_json() for event in log.events],
        "at": (now + timedelta(seconds=1)).isoformat(),
        "seconds": RESHUFFLE_S,
        "parent": kept.number,
        "note": f"from {kitchen.moment(now, kept.scenario)} on",
    }
    number = ask_job(kitchen.database, "reshuffle", task, by=who.name, at=now)
    kitchen.line.wake(urgent=True)
    return number


@router.get("/do-now/{number}")
def answer(request: Request, who: Crew, number: Number) -> HTMLResponse:
    """What to do now by a plan that was reshuffled."""
    kitchen = kitchen_of(request)
    return page(request, who, "Do now", "do_now.html", DoNowPage(do_now(kitchen, kitchen.plan(number))))


@router.post("/plans/{number}/use")
def use(request: Request, who: Crew, number: Number) -> Response:
    """Work by this plan from now on. Crew may take up a reshuffle; any other plan is the lead's to choose."""
    kitchen = kitchen_of(request)
    kept = kitchen.plan(number)
    if kept.breaches:
        raise HTTPException(422, "It breaks rules, so nobody may cook by it")
    if who.role != "lead" and kept.kind != "reshuffled":
        raise HTTPException(403, "Only the lead chooses another plan")
    with kitchen.database.writing() as connection:
        put_in_force(connection, number, by=who.name, at=kitchen.settings.now())
    return RedirectResponse("/now" if kept.kind == "reshuffled" else f"/plans/{number}", 303)
