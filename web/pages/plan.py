"""One plan: look at it, move or pin a load, plan around the pins."""

from __future__ import annotations

from datetime import datetime

from fastapi import APIRouter, Request
from fastapi.exceptions import HTTPException
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from scheduler.books import scenario_dump
from scheduler.errors import InputError, Problem
from scheduler.model.clock import check_year
from scheduler.solve.around import MovedLoad, move_load
from web.door import Crew, Lead, Number, Who
from web.fields import TIME
from web.pages.plans import KINDS
from web.plan_view import plan_page
from web.posted import posted_form
from web.show import kitchen_of, page
from web.store.jobs import ask_job
from web.store.plans import KeptPlan

router = APIRouter()

AROUND_S = 30


def _page(
    request: Request,
    who: Who,
    kept: KeptPlan,
    chosen: str = "",
    mistakes: tuple[tuple[str, str], ...] = (),
    status: int = 200,
) -> HTMLResponse:
    how = ", ".join(part for part in (KINDS[kept.kind], kept.note) if part)
    context = plan_page(kitchen_of(request), kept, who.role == "lead", how, chosen=chosen, mistakes=mistakes)
    return page(request, who, f"Plan {kept.number}", "plan.html", context, status)


@router.get("/plans/{number}")
def plan(request: Request, who: Crew, number: Number, load: str = "") -> HTMLResponse:
    """The page."""
    return _page(request, who, kitchen_of(request).plan(number), chosen=load[:8])


@router.post("/plans/{number}/move")
async def move(request: Request, who: Lead, number: Number) -> Response:
    """Move a load: another plan with a number of its own, and what it breaks."""
    posted = await posted_form(request)
    return await run_in_threadpool(_move, request, who, number, posted)


def _move(request: Request, who: Who, number: Number, posted: dict[str, str]) -> Response:
    kitchen = kitchen_of(request)
    kept = kitchen.plan(number)
    if kept.past is not None:
        raise HTTPException(422, "A plan that was reshuffled on the way is changed by saying what happened")
    code = posted.get("load", "")[:8]
    pins = set(kept.pins)
    if posted.get("press") in ("pin", "unpin"):
        pins = pins | {code} if posted["press"] == "pin" else pins - {code}
        return _again(request, who, kept, code, pins, posted["press"])
    try:
        asked = _asked(kept, code, posted)
        moved = move_load(kept.plan, kept.scenario, asked)
    except InputError as error:
        mistakes = tuple((p.field, f"{p.what[:1].upper()}{p.what[1:]}; {p.mend}.") for p in error.problems)
        return _page(request, who, kept, code, mistakes, 422)
    note = f"{code} moved, from plan {number}"
    new = kitchen.keep(
        moved,
        kept.scenario,
        kind="moved",
        by=who.name,
        note=note,
        parent=number,
        pins=tuple(pins | {code}),
        first=False,
    )
    return RedirectResponse(f"/plans/{new}?load={code}", 303)


def _again(request: Request, who: Who, kept: KeptPlan, code: str, pins: set[str], press: str) -> Response:
    """The same plan with other pins, under a number of its own: what is kept is never changed."""
    if code not in {load.code for load in kept.plan.loads}:
        return _page(request, who, kept, code, (("load", "Choose a load first."),), 422)
    new = kitchen_of(request).keep(
        kept.plan,
        kept.scenario,
        kind="moved",
        by=who.name,
        note=f"{code} {press}ned, from plan {kept.number}",
        parent=kept.number,
        pins=tuple(pins),
        first=False,
    )
    return RedirectResponse(f"/plans/{new}?load={code}", 303)


def _asked(kept: KeptPlan, code: str, posted: dict[str, str]) -> MovedLoad:
    clock = kept.scenario.weekend.timeline
    times: dict[str, int | None] = {}
    for field in ("load_at", "wrap_at"):
        text, name = posted.get(field, "").strip(), field.removesuffix("_at")
        try:
            at = None if not text else kept.scenario.weekend.local(check_year(datetime.strptime(text[:16], TIME)))
        except ValueError as error:
            raise _wrong(code, name, f'"{text[:20]}" is not a time of the weekend', "choose another") from error
        times[name] = None if at is None else clock.minute(at)
    if times["load"] is None:
        raise _wrong(code, "load", "it has no time", "say when it goes on")
    smoker, _, rack = posted.get("smoke", "").partition("|")
    place, _, finish = (posted.get("finish") or posted.get("smoke", "")).partition("|")
    if times["wrap"] is None:
        place, finish = smoker, rack
    return MovedLoad(code, smoker, rack, times["load"], times["wrap"], place, finish or None)


def _wrong(code: str, field: str, what: str, mend: str) -> InputError:
    return InputError([Problem("the plan", f"load {code}", field, what, mend)])


@router.post("/plans/{number}/around")
def around(request: Request, who: Lead, number: Number) -> Response:
    """Plan everything else anew around the pins."""
    kitchen = kitchen_of(request)
    kept = kitchen.plan(number)
    if not kept.pins:
        raise HTTPException(422, "Pin a load first")
    task = {
        "scenario": scenario_dump(kept.scenario),
        "plan": kept.plan.model_dump_json(),
        "pins": list(kept.pins),
        "seconds": AROUND_S,
        "parent": number,
        "note": f"around {', '.join(kept.pins)}, from plan {number}",
    }
    job = ask_job(kitchen.database, "around", task, by=who.name, at=kitchen.settings.now())
    kitchen.line.wake()
    return RedirectResponse(f"/search/{job}", 303)
