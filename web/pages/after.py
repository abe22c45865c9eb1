"""After: planned against real, and what was learned taken over with one click and a reason."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.exceptions import HTTPException
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from scheduler.learn.ranges import learn
from web.after import after_page, cooks_behind, with_lesson
from web.door import Lead, Who
from web.posted import posted_form
from web.show import kitchen_of, page
from web.store.entries import all_entries, log_of
from web.store.plans import in_pieces
from web.store.scenarios import ChangedMeanwhileError, save_version

router = APIRouter()


@router.get("/after")
def after(request: Request, who: Lead, taken: str = "") -> HTMLResponse:
    """The page."""
    done = f"Taken into the next weekend: {taken[:80]}." if taken else ""
    return page(request, who, "After", "after.html", after_page(kitchen_of(request), done))


@router.post("/after/take")
async def take(request: Request, who: Lead) -> Response:
    """Take what was learned of a recipe into the menu, with a reason."""
    posted = await posted_form(request)
    return await run_in_threadpool(_take, request, who, posted)


def _take(request: Request, who: Who, posted: dict[str, str]) -> Response:
    kitchen = kitchen_of(request)
    kept = kitchen.in_force()
    reason = " ".join(posted.get("reason", "").split())[:200]
    cut, _, recipe = posted.get("recipe", "").partition("|")
    if kept is None:
        raise LookupError("there is no plan in force")
    if not reason:
        raise HTTPException(422, "Say in a few words why; whoever wonders next month will ask")
    log = log_of(all_entries(kitchen.database), kept.scenario.weekend.zone)
    lessons = learn(in_pieces(kept).scenario.menu, cooks_behind(kitchen, kept, log)[0])
    version, at = kitchen.weekend(), kitchen.settings.now()
    changed = with_lesson(version.scenario, lessons, cut, recipe, at)
    what = f"range of {cut}, {recipe}, as learned: {reason}"
    try:
        save_version(kitchen.database, changed, seen=version.number, by=who.name, what=what, at=at)
    except ChangedMeanwhileError as error:
        raise HTTPException(409, "Somebody changed the weekend just now; try again") from error
    return RedirectResponse(f"/after?taken={cut}, {recipe}", 303)
