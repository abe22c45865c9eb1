"""Forecast and quantities: what it says, the history behind it, and a look at a new history before it is kept."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from fastapi import APIRouter, Request
from fastapi.datastructures import UploadFile as FastUploadFile
from fastapi.exceptions import HTTPException
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile

from scheduler.books import scenario_dump, scenario_hash
from scheduler.errors import InputError
from scheduler.report.words import clock_text, money_text, short_day, wave_text
from web.door import Lead, Number, Who
from web.foresee import read_texts
from web.posted import posted_form
from web.show import kitchen_of, page
from web.store.jobs import OPEN, ask_job, jobs_in
from web.store.scenarios import ChangedMeanwhileError, save_version
from web.store.uploads import Upload, add_upload, answer, keep_upload, kept_upload, upload
from web.uploaded import csv_text

router = APIRouter()

SHOWN_BAD, SHOWN_ROWS = 50, 8


@dataclass(frozen=True, slots=True)
class WantedRow:
    """How many of a cut are worth cooking on a day."""

    day: str
    cut: str
    planned: int
    wanted: int
    waves: str
    last: str
    more: str
    field: str


@dataclass(frozen=True, slots=True)
class ForecastPage:
    """Context of the page."""

    made: str
    stale: str
    days: tuple[dict[str, Any], ...]
    wanted: tuple[WantedRow, ...]
    sure: tuple[str, ...]
    cautions: tuple[str, ...]
    history: str
    running: int | None
    """The search that works it out now."""


@dataclass(frozen=True, slots=True)
class PreviewPage:
    """Context of the look at an uploaded history."""

    number: int | None
    name: str
    mistakes: tuple[str, ...]
    """Why it cannot be used at all."""
    bad: tuple[str, ...]
    bad_count: int
    sales: int
    days: int
    first: str
    last: str
    rows: tuple[tuple[str, str, str], ...]
    notes: tuple[str, ...]


@router.get("/forecast")
def forecast(request: Request, who: Lead) -> HTMLResponse:
    """The page."""
    kitchen = kitchen_of(request)
    scenario = kitchen.weekend().scenario
    told = answer(kitchen.database, "forecast")
    data: dict[str, Any] = told[1] if told else {}
    kept, current = kept_upload(kitchen.database), kitchen.in_force()
    stale = []
    if told and data["scenario"] != scenario_hash(current.scenario if current else scenario):
        stale.append("the weekend was changed since")
    if told and current and data["plan"] != current.number:
        stale.append(f"plan {current.number} is in force now")
    running = next((j.id for j in jobs_in(kitchen.database, *OPEN) if j.kind == "forecast"), None)
    context = ForecastPage(
        made=kitchen.moment(told[0], scenario) if told else "",
        stale="; ".join(stale),
        days=tuple(data.get("days", ())),
        wanted=tuple(_wanted(row, scenario.weekend.clock) for row in data.get("wanted", ())),
        sure=tuple(data.get("sure", ())),
        cautions=tuple(data.get("cautions", ())),
        history=f"uploaded as {kept.name}" if kept else _folder_words(kitchen.settings.folder),
        running=running,
    )
    return page(request, who, "Forecast", "forecast.html", context)


def _folder_words(folder: Path) -> str:
    if (folder / "sales.csv").exists():
        return "sales.csv of the scenario folder"
    return "none: the waves of the weekend are the guess, and the odds are wide"


def _wanted(row: dict[str, Any], clock: Any) -> WantedRow:
    waves = ", ".join(f"{wave_text(name, clock)[4:]} {count}" for name, count in row["waves"])
    return WantedRow(
        day=short_day(date.fromisoformat(row["day"])),
        cut=row["cut"],
        planned=row["planned"],
        wanted=row["wanted"],
        waves=waves,
        last=money_text(row["last_cents"]),
        more=money_text(row["next_cents"]),
        field=f"{row['day']}|{row['cut']}",
    )


@router.post("/forecast")
def work_out(request: Request, who: Lead) -> Response:
    """Work it out, from the history that is kept and the plan in force."""
    kitchen = kitchen_of(request)
    current, kept = kitchen.in_force(), kept_upload(kitchen.database)
    scenario = current.scenario if current else kitchen.weekend().scenario
    task: dict[str, Any] = {
        "scenario": scenario_dump(scenario),
        "plan": current.plan.model_dump_json() if current else None,
        "number": current.number if current else None,
        "folder": str(kitchen.settings.folder.resolve()),
    }
    if kept is not None:
        task |= {"sales": kept.sales, "days": kept.days}
    number = ask_job(kitchen.database, "forecast", task, by=who.name, at=kitchen.settings.now())
    kitchen.line.wake()
    return RedirectResponse(f"/search/{number}", 303)


@router.post("/forecast/take")
async def take(request: Request, who: Lead) -> Response:
    """Put the quantities that are worth cooking into the weekend."""
    posted = await posted_form(request)
    return await run_in_threadpool(_take, request, who, posted)


def _take(request: Request, who: Who, posted: dict[str, str]) -> Response:
    kitchen = kitchen_of(request)
    told = answer(kitchen.database, "forecast")
    if told is None:
        raise LookupError("there is no forecast yet")
    chosen = {name.removeprefix("take-") for name in posted if name.startswith("take-")}
    counts = {
        (row["cut"], row["day"], wave): count
        for row in told[1]["wanted"]
        if f"{row['day']}|{row['cut']}" in chosen
        for wave, count in row["waves"]
    }
    version = kitchen.weekend()
    weekend, changed, waves = version.scenario.weekend, [], []
    for wave in weekend.waves:
        count = counts.get((wave.cut, f"{wave.at.date()}", f"{wave.at:%a %H:%M}"))
        if count is not None and count != wave.pieces:
            changed.append(f"{wave.cut} {wave_text(f'{wave.at:%a %H:%M}', weekend.clock)}: {wave.pieces} to {count}")
            wave = wave.model_copy(update={"pieces": count, "worth_cents": ()})
        waves.append(wave)
    if not changed:
        raise HTTPException(422, "Nothing was chosen that differs from the weekend")
    scenario = version.scenario.model_copy(update={"weekend": weekend.model_copy(update={"waves": tuple(waves)})})
    what = f"quantities of the forecast: {'; '.join(changed)}"
    try:
        number = save_version(
            kitchen.database, scenario, seen=version.number, by=who.name, what=what, at=kitchen.settings.now()
        )
    except ChangedMeanwhileError as error:
        raise HTTPException(409, "Somebody changed the weekend just now; try again") from error
    return RedirectResponse(f"/weekend?saved={number}", 303)


@router.get("/forecast/print")
def printed(request: Request, who: Lead) -> HTMLResponse:
    """The whole forecast with its charts, as a page of its own with the policy that it carries."""
    told = answer(kitchen_of(request).database, "forecast")
    if told is None:
        raise LookupError("there is no forecast yet")
    html: str = told[1]["html"]
    own = html.partition('http-equiv="Content-Security-Policy" content="')[2].partition('"')[0].replace("&#39;", "'")
    return HTMLResponse(html, headers={"content-security-policy": own})


@router.get("/forecast/forecast.csv")
def rows(request: Request, who: Lead) -> Response:
    """The forecast for a spreadsheet."""
    told = answer(kitchen_of(request).database, "forecast")
    if told is None:
        raise LookupError("there is no forecast yet")
    headers = {"content-disposition": 'attachment; filename="forecast.csv"'}
    return Response(told[1]["csv"], media_type="text/csv; charset=utf-8", headers=headers)


@router.post("/forecast/history")
async def look(request: Request, who: Lead) -> Response:
    """Read an uploaded history and show what is in it. Nothing is used before somebody says so."""
    async with request.form(max_files=2, max_fields=4) as form:
        files = {name: await _body(form.get(name)) for name in ("sales", "days")}
    return await run_in_threadpool(_look, request, who, files)


async def _body(part: object) -> tuple[str, bytes]:
    if not isinstance(part, UploadFile | FastUploadFile):
        return "", b""
    return (part.filename or "")[:120], await part.read()


def _look(request: Request, who: Who, files: dict[str, tuple[str, bytes]]) -> Response:
    kitchen = kitchen_of(request)
    name = files["sales"][0]
    try:
        if not files["sales"][1]:
            raise HTTPException(422, "Choose a file with sales first")
        texts = {part: csv_text(called, body) if body else "" for part, (called, body) in files.items()}
        read_texts(texts["sales"], texts["days"], kitchen.weekend().scenario)
    except InputError as error:
        mistakes = tuple(problem.sentence() for problem in error.problems)[:SHOWN_BAD]
        context = PreviewPage(None, name, mistakes, (), 0, 0, 0, "", "", (), ())
        return page(request, who, "History", "preview.html", context, 422)
    at = kitchen.settings.now()
    number = add_upload(kitchen.database, name, texts["sales"], texts["days"], by=who.name, at=at)
    return RedirectResponse(f"/forecast/history/{number}", 303)


@router.get("/forecast/history/{number}")
def preview(request: Request, who: Lead, number: Number) -> HTMLResponse:
    """What is in an uploaded history."""
    kitchen = kitchen_of(request)
    return page(request, who, "History", "preview.html", _preview(request, upload(kitchen.database, number)))


def _preview(request: Request, found: Upload) -> PreviewPage:
    scenario = kitchen_of(request).weekend().scenario
    history = read_texts(found.sales, found.days, scenario)
    days, clock = history.days, scenario.weekend.clock
    return PreviewPage(
        number=found.id,
        name=found.name,
        mistakes=(),
        bad=tuple(problem.sentence() for problem in history.bad[:SHOWN_BAD]),
        bad_count=len(history.bad),
        sales=len(history.sales),
        days=len(days),
        first=f"{days[0].date:%b %-d, %Y}" if days else "",
        last=f"{days[-1].date:%b %-d, %Y}" if days else "",
        rows=tuple(
            (f"{s.at:%b %-d, %Y}, {clock_text(s.at, clock)}", s.cut, f"{s.portions:g}")
            for s in history.sales[:SHOWN_ROWS]
        ),
        notes=history.notes,
    )


@router.post("/forecast/history/{number}/keep")
def keep(request: Request, who: Lead, number: Number) -> Response:
    """Use an uploaded history from now on, without its bad rows."""
    kitchen = kitchen_of(request)
    upload(kitchen.database, number)
    keep_upload(kitchen.database, number, by=who.name, at=kitchen.settings.now())
    return work_out(request, who)
