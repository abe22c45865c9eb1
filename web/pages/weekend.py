"""The weekend: quantities, hours, who cannot come, what is broken; and the press of the button that plans it."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from scheduler.books import scenario_dump
from scheduler.model.scenario import Scenario
from web.differences import differences
from web.door import Lead, Who, who_is
from web.fields import Section
from web.posted import posted_form
from web.show import kitchen_of, page
from web.store.jobs import OPEN, ask_job, jobs_in
from web.store.scenarios import ChangedMeanwhileError, Version, save_version
from web.weekend_form import read_form, sections_of

router = APIRouter()

SECONDS = (15, 60, 180, 600)
USUAL_S = 60


@dataclass(frozen=True, slots=True)
class WeekendPage:
    """Context of the page."""

    version: int
    saved: str
    sections: tuple[Section, ...]
    mistakes: int
    general: tuple[str, ...]
    meanwhile: tuple[str, ...]
    """What somebody else changed since the form was opened; empty where nobody did."""
    meanwhile_by: str
    done: str
    """What has just been saved."""
    seconds: tuple[int, ...]
    usual_s: int
    waiting: int
    """Searches in line."""


def _saved(request: Request, version: Version) -> str:
    kitchen = kitchen_of(request)
    by = f" by {version.saved_by}" if version.saved_by else ""
    return f"Version {version.number}, {kitchen.moment(version.saved_at, version.scenario)}{by}: {version.what}"


def _page(
    request: Request,
    who: Who,
    version: Version,
    sections: tuple[Section, ...],
    *,
    general: tuple[str, ...] = (),
    meanwhile: tuple[str, ...] = (),
    done: str = "",
    status: int = 200,
) -> HTMLResponse:
    mistakes = len(general) + sum(bool(f.mistake) for s in sections for row in s.rows for f in row.fields)
    context = WeekendPage(
        version=version.number,
        saved=_saved(request, version),
        sections=sections,
        mistakes=mistakes,
        general=general,
        meanwhile=meanwhile,
        meanwhile_by=version.saved_by or "Somebody",
        done=done,
        seconds=SECONDS,
        usual_s=USUAL_S,
        waiting=len(jobs_in(kitchen_of(request).database, *OPEN)),
    )
    return page(request, who, "The weekend", "weekend.html", context, status)


@router.get("/")
def home(request: Request) -> Response:
    """To the page that its reader most likely wants."""
    who = who_is(request)
    if who.role == "counter":
        return RedirectResponse("/service", 303)
    return RedirectResponse("/weekend" if who.role == "lead" else "/now", 303)


@router.get("/weekend")
def weekend(request: Request, who: Lead, saved: int = 0) -> HTMLResponse:
    """The form."""
    version = kitchen_of(request).weekend()
    done = f"Saved: {version.what}." if saved == version.number else ""
    return _page(request, who, version, sections_of(version.scenario), done=done)


@router.post("/weekend")
async def save(request: Request, who: Lead) -> Response:
    """Save it, and plan it if that was pressed; or say at each field what is wrong."""
    posted = await posted_form(request)
    return await run_in_threadpool(_save, request, who, posted)


def _save(request: Request, who: Who, posted: dict[str, str]) -> Response:
    kitchen = kitchen_of(request)
    latest = kitchen.weekend()
    found = read_form(latest.scenario, posted)
    if found.scenario is None:
        return _page(request, who, latest, found.sections, general=found.general, status=422)
    seen = int(posted["version"]) if posted.get("version", "").isdecimal() else 0
    changes = differences(latest.scenario, found.scenario)
    number = latest.number
    if seen != latest.number:
        return _page(request, who, latest, found.sections, meanwhile=changes or ("nothing that differs",), status=409)
    if changes:
        try:
            number = save_version(
                kitchen.database,
                found.scenario,
                seen=seen,
                by=who.name,
                what="; ".join(changes)[:2000],
                at=kitchen.settings.now(),
            )
        except ChangedMeanwhileError as error:
            return _page(request, who, error.latest, found.sections, meanwhile=changes, status=409)
    if posted.get("press") == "plan":
        seconds = posted.get("seconds", "")
        return _ask(request, who, found.scenario, int(seconds) if seconds.isdecimal() else USUAL_S)
    return RedirectResponse(f"/weekend?saved={number}", 303)


def _ask(request: Request, who: Who, scenario: Scenario, seconds: int) -> Response:
    kitchen = kitchen_of(request)
    seconds = min(max(1, seconds), max(SECONDS))
    task = {"scenario": scenario_dump(scenario), "seconds": seconds, "seed": 0}
    number = ask_job(kitchen.database, "plan", task, by=who.name, at=kitchen.settings.now())
    kitchen.line.wake()
    return RedirectResponse(f"/search/{number}", 303)
