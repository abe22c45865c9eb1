"""What is printed, exported and fed to calendars is that of the plan in force."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from io import BytesIO, StringIO
from pathlib import Path

import httpx
import pytest
from icalendar import Calendar
from openpyxl import load_workbook
from web_server import Served, copied, corner_plan, served, settings_of

from web.store.people import set_account
from web.store.plans import put_in_force


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Served]:
    with served(settings_of(copied(tmp_path), host="0.0.0.0")) as found:
        yield found


@pytest.fixture
def inside(server: Served) -> Iterator[httpx.Client]:
    """Signed in by a link."""

    word = set_account(server.kitchen.database, "Ben", "crew", "471100", by="", at=server.kitchen.settings.now())
    with server.client() as client:
        client.post(f"/link/{word}")
        yield client


def feeds(client: httpx.Client) -> dict[str, str]:
    return {name: path for path, name in re.findall(r'href="(/feed/[^"]+)">([^<]+)<', client.get("/paper").text)}


def uids(body: str) -> set[str]:
    return {str(event["uid"]) for event in Calendar.from_ical(body).walk("VEVENT")}


def test_each_sheet_prints_alone_with_a_policy_that_lets_its_style_through(inside: httpx.Client) -> None:
    links = re.findall(r"/paper/1/print\?sheet=([\w-]+)", inside.get("/paper").text)
    assert len(links) > 8
    for anchor in links:
        answer = inside.get(f"/paper/1/print?sheet={anchor}")
        assert answer.text.count('<section class="sheet') == 1
        assert "sha256-" in answer.headers["content-security-policy"]
    assert inside.get("/paper/1/print").text.count('<section class="sheet') == len(links)


def test_a_calendar_is_read_by_its_address_alone_and_follows_the_plan(server: Served, inside: httpx.Client) -> None:
    found = feeds(inside)
    people = {shift.person for shift in corner_plan().shifts}
    assert set(found) == {"everybody", *people}
    with httpx.Client(base_url=server.url) as program:
        everybody = uids(program.get(found["everybody"]).text)
        own = {name: uids(program.get(found[name]).text) for name in people}
        assert set().union(*own.values()) == everybody
        assert all(own.values())
        wrong = found[min(people)].replace(min(people), max(people))
        assert program.get(wrong).status_code == 404
        again = server.kitchen.keep(corner_plan(), server.kitchen.plan(1).scenario, kind="searched", by="")
        with server.kitchen.database.writing() as connection:
            put_in_force(connection, again, by="", at=server.kitchen.settings.now())
        [first, *_] = Calendar.from_ical(program.get(found["everybody"]).text).walk("VEVENT")
        assert int(first["sequence"]) == again
        assert uids(program.get(found["everybody"]).text) == everybody


def test_exports_hold_every_load(inside: httpx.Client) -> None:
    codes = {load.code for load in corner_plan().loads}
    assert {row["code"] for row in csv.DictReader(StringIO(inside.get("/paper/1/loads.csv").text))} == codes
    book = load_workbook(BytesIO(inside.get("/paper/1/plan.xlsx").content))
    assert book.sheetnames == ["Loads", "Shifts", "Work", "Buying"]
    assert {cell.value for cell in book["Loads"]["A"]} - {"code"} == codes


def test_only_the_lead_takes_a_copy(inside: httpx.Client) -> None:
    assert inside.get("/copy.sqlite3").status_code == 403
    assert "Take a copy" not in inside.get("/paper").text
