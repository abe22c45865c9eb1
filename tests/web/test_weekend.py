"""The weekend's form: mistakes at their field, versions, two people at once."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from fastapi.responses import Response
from solve.corner import corner
from web_server import Served, copied, served, settings_of, values_in

from scheduler.books import read_scenario
from web.pages import weekend
from web.store.scenarios import latest_version


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Served]:
    with served(settings_of(copied(tmp_path)), plan=False) as found:
        yield found


@pytest.fixture
def client(server: Served) -> Iterator[httpx.Client]:
    with server.client() as found:
        yield found


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Served, httpx.Client]]:
    """Of one server for all that leaves it as it was."""
    with served(settings_of(copied(tmp_path_factory.mktemp("shared"))), plan=False) as found, found.client() as client:
        yield found, client


def filled(client: httpx.Client, **changes: str) -> dict[str, str]:
    values = values_in(client.get("/weekend").text)
    return values | {name.replace("_", "-"): value for name, value in changes.items()}


def at_field(html: str, name: str) -> str:
    """What is said at a field."""
    found = re.search(rf'id="{name}-said">([^<]*)<', html)
    return found[1] if found else ""


def test_saving_nothing_changes_nothing(server: Served, client: httpx.Client) -> None:
    before = latest_version(server.kitchen.database)
    answer = client.post("/weekend", data=filled(client))
    assert answer.status_code == 303
    assert latest_version(server.kitchen.database).number == before.number


def test_a_change_is_a_new_version_that_says_what_changed(server: Served, client: httpx.Client) -> None:
    answer = client.post("/weekend", data=filled(client, wave_0_pieces="4"), follow_redirects=True)
    assert "packer brisket Sat 11 am: pieces 3 to 4" in answer.text
    version = latest_version(server.kitchen.database)
    assert version.number == 2
    assert version.scenario.weekend.waves[0].pieces == 4
    assert read_scenario(server.kitchen.settings.folder) == corner(), "the folder's files are the user's own"


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("wave-0-pieces", "a few", "is not a whole number; write it such as 12."),
        ("wave-0-pieces", "", "Pieces is missing; fill it in."),
        ("wave-0-pieces", "999999", "5000"),
        ("wave-0-at", "soon", "is not a day and time"),
        ("wave-0-at", "9999-12-31T23:00", "is not a day and time"),
        ("wave-0-at", "2026-05-19T11:00", "service"),
        ("wave-0-cut", "goat", "is not one of the choices"),
        ("day-0-closes", "2026-05-16T10:00", "must be after opens"),
        ("order-0-broken_promise_cents", "lots", "is not an amount; write dollars such as 25 or 25.50."),
    ],
)
def test_a_mistake_is_told_at_its_field_and_nothing_is_saved(
    shared: tuple[Served, httpx.Client], name: str, value: str, said: str
) -> None:
    server, client = shared
    answer = client.post("/weekend", data=filled(client) | {name: value})
    assert answer.status_code == 422
    place = "day-0-opens" if name.startswith("day") else name
    assert said in at_field(answer.text, place)
    assert latest_version(server.kitchen.database).number == 1
    if value and name.endswith("pieces"):
        assert values_in(answer.text)[name] == value, "what was typed is gone"


def rows(html: str) -> dict[str, str]:
    """Rows by the name of their first field."""
    found = re.findall(r"<fieldset.*?</fieldset>", html, re.S)
    return {re.search(r'name="(\w+-\d+)-', row)[1]: row for row in found}  # type: ignore[index]


def folded(row: str) -> str:
    return row.partition("<details")[2]


def is_open(row: str) -> bool:
    return folded(row).partition(">")[0].endswith(" open")


def test_rows_are_folded_but_for_their_pieces_and_those_with_a_mistake(client: httpx.Client) -> None:
    plain = rows(client.get("/weekend").text)
    assert not any(is_open(row) for row in plain.values())
    assert 'name="wave-0-pieces"' not in folded(plain["wave-0"])
    assert 'name="wave-0-at"' in folded(plain["wave-0"])
    waves = sum(key.startswith("wave") for key in plain)
    new = f"wave-{waves - 1}"
    assert f'name="{new}-pieces"' in folded(plain[new])
    assert "11 am to 4 pm" in plain["day-0"]
    sent = filled(client) | {"wave-0-at": "soon", f"{new}-cut": "sausage"}
    wrong = rows(client.post("/weekend", data=sent).text)
    assert {key for key, row in wrong.items() if is_open(row)} == {"wave-0", new}


def test_what_is_typed_is_escaped(client: httpx.Client) -> None:
    answer = client.post("/weekend", data=filled(client) | {"wave-0-pieces": '"><script>alert(1)</script>'})
    assert answer.status_code == 422
    assert "<script>alert" not in answer.text


def test_entries_are_added_and_taken_out(server: Served, client: httpx.Client) -> None:
    waves = len(latest_version(server.kitchen.database).scenario.weekend.waves)
    new = f"wave-{waves}"
    added = {f"{new}-cut": "sausage", f"{new}-at": "2026-05-16T15:00", f"{new}-pieces": "6"}
    broken = {"out_of_use-0-place": "oven", "wave-1-remove": "1"}
    assert client.post("/weekend", data=filled(client) | added | broken).status_code == 303
    weekend = latest_version(server.kitchen.database).scenario.weekend
    assert len(weekend.waves) == waves
    assert weekend.waves[-1].pieces == 6
    assert [out.place for out in weekend.out_of_use] == ["oven"]


def test_what_was_to_be_taken_out_is_so_still_after_a_mistake_elsewhere(client: httpx.Client) -> None:
    sent = filled(client) | {"wave-0-at": "soon", "wave-1-remove": "1"}
    wrong = rows(client.post("/weekend", data=sent).text)
    assert is_open(wrong["wave-1"])
    assert {key for key, row in wrong.items() if 'value="1" checked' in row} == {"wave-1"}


def test_the_second_of_two_people_is_told_and_loses_nothing(server: Served) -> None:
    with server.client() as ana, server.client() as ben:
        mine, theirs = filled(ana, wave_0_pieces="5"), filled(ben, wave_1_pieces="4")
        assert ana.post("/weekend", data=mine).status_code == 303
        answer = ben.post("/weekend", data=theirs)
        assert answer.status_code == 409
        assert "saved another version while you were at it" in answer.text
        assert "packer brisket Sat 11 am: pieces 5 to 3" in answer.text
        assert values_in(answer.text)["wave-1-pieces"] == "4"
        assert latest_version(server.kitchen.database).number == 2
        again = values_in(answer.text) | {"wave-0-pieces": "5"}
        assert ben.post("/weekend", data=again).status_code == 303
    weekend = latest_version(server.kitchen.database).scenario.weekend
    assert [wave.pieces for wave in weekend.waves[:2]] == [5, 4]


def test_pages_are_answered_while_a_weekend_is_saved(client: httpx.Client, monkeypatch: pytest.MonkeyPatch) -> None:
    def beside_the_pages(*_: object) -> Response:
        with pytest.raises(RuntimeError, match="no running event loop"):
            asyncio.get_running_loop()
        return Response("saved")

    monkeypatch.setattr(weekend, "_save", beside_the_pages)
    assert client.post("/weekend", data=filled(client)).text == "saved"
