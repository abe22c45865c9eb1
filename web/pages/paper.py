"""What is printed, fed to calendars and spreadsheets, and the copy of all data."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from scheduler.report.desk import Desk
from scheduler.report.loads_csv import loads_csv
from scheduler.report.page import sheets
from scheduler.report.shifts_ics import shifts_ics
from web.door import Crew, Lead, Number
from web.exports import buying_text, calendar_of, printed, workbook
from web.feeds import feed_word, is_word
from web.show import kitchen_of, page
from web.store.plans import number_in_force

router = APIRouter()

EVERYBODY = "everybody"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@dataclass(frozen=True, slots=True)
class PaperPage:
    """Context of the page."""

    number: int | None
    sheets: tuple[tuple[str, str], ...]
    """Anchor and title of each sheet."""
    people: tuple[tuple[str, str], ...]
    """Name, and the path of a calendar that keeps itself up to date."""
    can_copy: bool


def _desk(request: Request, number: Number) -> Desk:
    return kitchen_of(request).desk(number)


def _download(body: str | bytes, name: str, kind: str) -> Response:
    disposition = f'attachment; filename="{name}"'
    return Response(body, media_type=kind, headers={"content-disposition": disposition})


@router.get("/paper")
def paper(request: Request, who: Crew) -> HTMLResponse:
    """Everything that the plan in force gives to print."""
    kitchen = kitchen_of(request)
    number = number_in_force(kitchen.database)
    found: tuple[tuple[str, str], ...] = ()
    people: tuple[tuple[str, str], ...] = ()
    if number is not None:
        desk = kitchen.desk(number)
        found = tuple((sheet.anchor, sheet.title) for sheet in sheets(desk))
        names = sorted({shift.person for shift in desk.plan.shifts})
        people = tuple((name, f"/feed/{quote(name)}/{feed_word(kitchen, name)}.ics") for name in (EVERYBODY, *names))
    can_copy = who.role == "lead" and kitchen.settings.address.startswith("sqlite")
    return page(request, who, "Paper", "paper.html", PaperPage(number, found, people, can_copy))


@router.get("/paper/{number}/print")
def print_all(request: Request, who: Crew, number: Number, sheet: str = "") -> HTMLResponse:
    """The crew plan, or one sheet of it, as a page of its own with a policy of its own."""
    text, policy = printed(_desk(request, number), sheet)
    return HTMLResponse(text, headers={"content-security-policy": policy})


@router.get("/paper/{number}/loads.csv")
def loads(request: Request, who: Crew, number: Number) -> Response:
    """One row for each load."""
    return _download(loads_csv(_desk(request, number)), f"loads-plan-{number}.csv", "text/csv; charset=utf-8")


@router.get("/paper/{number}/buying.csv")
def buying(request: Request, who: Crew, number: Number) -> Response:
    """The buying list."""
    kept = kitchen_of(request).plan(number)
    return _download(buying_text(kept.plan, kept.scenario), f"buying-plan-{number}.csv", "text/csv; charset=utf-8")


@router.get("/paper/{number}/plan.xlsx")
def spreadsheet(request: Request, who: Crew, number: Number) -> Response:
    """Loads, shifts, tasks and the buying list as a workbook."""
    kept = kitchen_of(request).plan(number)
    return _download(workbook(_desk(request, number), kept), f"plan-{number}.xlsx", XLSX)


@router.get("/feed/{person}/{word}.ics")
def feed(request: Request, person: str, word: str) -> Response:
    """A person's shifts and wraps by the plan in force, for calendar programs: the word in the address lets them in."""
    kitchen = kitchen_of(request)
    kept = kitchen.in_force()
    if kept is None or not is_word(kitchen, person, word):
        return Response("There is no such calendar.", 404, media_type="text/plain")
    desk = kitchen.desk(kept.number)
    text = shifts_ics(desk) if person == EVERYBODY else calendar_of(desk, person)
    return Response(text, media_type="text/calendar; charset=utf-8")


@router.get("/copy.sqlite3")
def copy(request: Request, who: Lead) -> Response:
    """A whole copy of the data, taken while they are in use."""
    kitchen = kitchen_of(request)
    with TemporaryDirectory() as folder:
        path = Path(folder) / "copy.sqlite3"
        kitchen.database.backup(path)
        body = path.read_bytes()
    name = f"kitchen-{kitchen.settings.now():%Y-%m-%d-%H%M}.sqlite3"
    return _download(body, name, "application/vnd.sqlite3")
