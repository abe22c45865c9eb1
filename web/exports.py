"""Sheets to print, a workbook, a calendar for one person."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from io import BytesIO, StringIO
from typing import Any

from icalendar import Calendar
from markupsafe import Markup
from openpyxl import Workbook

from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.report.buying_csv import buying_csv
from scheduler.report.desk import Desk
from scheduler.report.loads_csv import COLUMNS
from scheduler.report.page import TEMPLATES, page_html, plan_css, policy, render, sheets
from scheduler.report.shifts_ics import shifts_ics
from scheduler.trade.orders import orders_of
from web.show import environment, values_of
from web.store.plans import KeptPlan


@dataclass(frozen=True, slots=True)
class OnePrint:
    """Context of a page with a single sheet."""

    title: str
    policy: str
    css: Markup
    sheet: Markup
    foot: str


def printed(desk: Desk, anchor: str = "") -> tuple[str, str]:
    """The crew plan, or the sheet of an anchor, and its policy. LookupError if there is no such sheet."""
    css = plan_css(desk)
    if not anchor:
        return page_html(desk), policy(css)
    found = next((sheet for sheet in sheets(desk) if sheet.anchor == anchor), None)
    if found is None:
        raise LookupError(f"the plan has no sheet {anchor!r}")
    foot = f"Plan {desk.plan.number} of {desk.scenario.weekend.name}, {desk.scenario.site.name}"
    context = OnePrint(found.title, policy(css), css, render(TEMPLATES[type(found)], found), foot)
    return environment().get_template("print_one.html").render(values_of(context)), policy(css)


def buying_text(plan: Plan, scenario: Scenario) -> str:
    """The buying list as CSV."""
    return buying_csv(orders_of(plan, scenario))


def workbook(desk: Desk, kept: KeptPlan) -> bytes:
    """The plan as a workbook. Every cell is text or a number, never a formula."""
    book = Workbook()
    book.remove(book.worksheets[0])
    loads = sorted(desk.plan.loads, key=lambda load: (load.load_at, load.code))
    _sheet(book, "Loads", COLUMNS, ([say(desk, load) for say in COLUMNS.values()] for load in loads))
    shifts = ([s.person, s.pattern, desk.moment(s.starts_at), desk.moment(s.ends_at)] for s in desk.plan.shifts)
    _sheet(book, "Shifts", ("person", "shift", "from", "to"), shifts)
    tasks = (
        [desk.moment(t.at), t.minutes, t.kind, t.person, ", ".join(t.loads), t.pieces, t.place]
        for t in sorted(desk.plan.tasks, key=lambda t: (t.at, t.person))
    )
    _sheet(book, "Work", ("at", "minutes", "kind", "person", "loads", "pieces", "place"), tasks)
    bought = list(csv.reader(StringIO(buying_text(kept.plan, kept.scenario))))
    if bought:
        _sheet(book, "Buying", bought[0], bought[1:])
    out = BytesIO()
    book.save(out)
    return out.getvalue()


def _sheet(book: Workbook, title: str, heads: Iterable[str], rows: Iterable[list[Any]]) -> None:
    sheet = book.create_sheet(title)
    for number, row in enumerate([list(heads), *rows], 1):
        for column, value in enumerate(row, 1):
            cell = sheet.cell(number, column, value)
            if isinstance(value, str):
                cell.data_type = "s"  # whatever it starts with, it is text


def calendar_of(desk: Desk, person: str) -> str:
    """One person's shifts, and the wraps of which they do some; empty where the plan does not call them in."""
    shifts = {shift.code for shift in desk.plan.shifts if shift.person == person}
    wraps = {code for t in desk.plan.tasks if t.kind == "wrap" and t.person == person for code in t.loads}
    calendar = Calendar.from_ical(shifts_ics(desk))
    keep = [
        part
        for part in calendar.subcomponents
        if str(part.get("uid")).partition("@")[0].rpartition("-")[2] in shifts | wraps
    ]
    calendar.subcomponents = keep
    text: bytes = calendar.to_ical()
    return text.decode("utf-8")
