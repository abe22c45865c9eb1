"""What the crew sends is kept once, in order, and can be undone; what cannot be used is told by its key."""

from __future__ import annotations

import json
import re
import threading
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import httpx
import pytest
from web_server import Served, copied, served, settings_of

from web.now_board import state_now
from web.now_tasks import due_text
from web.store.entries import all_entries, log_of
from web.store.tables import entries


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Served]:
    with served(settings_of(copied(tmp_path))) as found:
        yield found


@pytest.fixture
def client(server: Served) -> Iterator[httpx.Client]:
    with server.client() as found:
        yield found


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[httpx.Client]:
    """Of one server for all that leaves it as it was."""
    with served(settings_of(copied(tmp_path_factory.mktemp("shared")))) as found, found.client() as client:
        yield client


def entry(key: str, **more: Any) -> dict[str, Any]:
    return {"key": key, "what": "done", "task": "", "age_s": 0} | more


def send(client: httpx.Client, *sent: Any) -> Any:
    answer = client.post("/entries", json={"entries": list(sent)})
    assert answer.status_code == 200, answer.text
    return answer.json()


PROBE = {"kind": "probe", "load": "BR01", "temp_f": 165}
DOWN = {"kind": "down", "place": "north"}


def test_the_same_entry_sent_twice_is_kept_once(server: Served, client: httpx.Client) -> None:
    first = send(client, entry("key-00000001", event=PROBE))
    again = send(client, entry("key-00000001", event=PROBE), entry("key-00000002", event=PROBE))
    assert again["kept"]["key-00000001"] == first["kept"]["key-00000001"]
    assert [e.key for e in all_entries(server.kitchen.database)] == ["key-00000001", "key-00000002"]


def test_sent_twice_at_the_same_moment_it_is_still_kept_once(server: Served) -> None:
    answers: list[Any] = []

    def post() -> None:
        with server.client() as client:
            answers.append(send(client, *(entry(f"key-{i:08d}") for i in range(20))))

    threads = [threading.Thread(target=post) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(answers) == 6
    assert all(answer == answers[0] for answer in answers)
    assert len(all_entries(server.kitchen.database)) == 20


def test_what_waited_on_a_phone_keeps_its_time_and_its_order(server: Served, client: httpx.Client) -> None:
    sent = [entry(f"key-{i:08d}", event=PROBE | {"temp_f": 150 + i}, age_s=3600 - 600 * i) for i in range(5)]
    send(client, *sent)
    kept = all_entries(server.kitchen.database)
    assert [e.event["temp_f"] for e in kept if e.event] == [150, 151, 152, 153, 154]
    now = server.kitchen.settings.now()
    assert abs((now - kept[0].at) - timedelta(hours=1)) < timedelta(seconds=30)
    log = log_of(kept, server.kitchen.weekend().scenario.weekend.zone)
    assert [event.at for event in log.events] == sorted(event.at for event in log.events)


def test_a_reading_moves_the_state_and_undo_takes_it_back(server: Served, client: httpx.Client) -> None:
    kept = server.kitchen.in_force()
    assert kept is not None
    [number] = send(client, entry("key-00000001", event=PROBE, what="note"))["kept"].values()
    state, _ = state_now(server.kitchen, kept)
    assert [seen.temp_f for seen in state.facts.load("BR01").readings] == [165]
    send(client, entry("key-00000002", what="undo", undoes=number))
    state, _ = state_now(server.kitchen, kept)
    assert state.facts.load("BR01").readings == []
    assert len(all_entries(server.kitchen.database)) == 2, "nothing is ever taken out of the log"


def test_sales_of_two_phones_add_up(server: Served, client: httpx.Client) -> None:
    sold = {"kind": "sold", "cut": "sausage", "portions": 2}
    send(client, *(entry(f"key-{i:08d}", what="note", event=sold) for i in range(3)))
    log = log_of(all_entries(server.kitchen.database), server.kitchen.weekend().scenario.weekend.zone)
    assert [event.portions for event in log.events if event.kind == "sold"] == [2, 4, 6]


@pytest.mark.parametrize(
    ("broken", "said"),
    [
        (entry("short"), "no proper key"),
        (entry("key-00000001", what="dance"), "not something to note"),
        (entry("key-00000001", age_s=-5), "of the future"),
        (entry("key-00000001", age_s=1e12), "older than the weekend"),
        (entry("key-00000001", event={"kind": "probe", "load": "BR01", "temp_f": 9000}), "400"),
        (entry("key-00000001", event={"kind": "flood"}), "no kind of event"),
        (entry("key-00000001", event=DOWN | {"until": "0001-01-01T00:00:00Z"}), "until: 0001-01-01T00:00:00+00:00"),
        (entry("key-00000001", event=DOWN | {"until": "9999-12-31T23:59:59-05:00"}), "give a year from 2000 to 2099"),
        (entry("key-00000001", what="undo"), "what it undoes"),
        (entry("key-00000001", reason=7), "not text"),
        ("no entry at all", "not an object"),
    ],
)
def test_one_that_cannot_be_kept_is_told_and_the_others_are_kept(shared: httpx.Client, broken: Any, said: str) -> None:
    answer = send(shared, broken, entry("key-good-0001"))
    assert list(answer["kept"]) == ["key-good-0001"]
    assert said in " ".join(answer["refused"].values())


def test_one_kept_of_old_that_cannot_be_reckoned_with_is_told_and_stops_no_page(
    server: Served, client: httpx.Client
) -> None:
    [number] = send(client, entry("key-00000001", event=DOWN))["kept"].values()
    with server.kitchen.database.writing() as connection:
        far = json.dumps(DOWN | {"at": "2026-05-16T09:30:00Z", "until": "0001-01-01T00:00:00Z"})
        connection.execute(entries.update().where(entries.c.id == number).values(event=far))
    assert f"entry {number}: until: 0001-01-01T00:00:00+00:00 is not in a year" in client.get("/now").text
    assert [client.get(path).status_code for path in ("/now", "/service", "/after")] == [200] * 3


@pytest.mark.parametrize("body", ["", "[]", "{", '{"entries": 7}', '{"entries": [' + "{}," * 600 + "{}]}", "[" * 9000])
def test_a_body_that_is_no_list_of_entries_is_refused(shared: httpx.Client, body: str) -> None:
    answer = shared.post("/entries", content=body, headers={"content-type": "application/json"})
    assert answer.status_code == 400


def test_without_a_script_a_form_does_the_same(server: Served, client: httpx.Client) -> None:
    form = {"key": "key-form-0001", "what": "done", "task": "", "event1": json.dumps(PROBE), "back": "/now"}
    assert client.post("/note", data=form).headers["location"] == "/now"
    assert client.post("/note", data=form | {"back": "//elsewhere.example"}).headers["location"] == "/now"
    assert len(all_entries(server.kitchen.database)) == 1


def test_a_tick_takes_its_task_off_the_board(server: Served, client: httpx.Client) -> None:
    before = re.findall(r'data-task="(\w+)"', client.get("/now/board").text)
    assert before
    send(
        client, entry("key-00000001", task=before[0]), entry("key-00000002", task=before[1], what="late", reason="rain")
    )
    after = client.get("/now/board").text
    assert before[0] not in after
    assert "Noted: rain" in after


def test_all_is_kept_with_who_and_when(server: Served, client: httpx.Client) -> None:
    send(client, entry("key-00000001", by="Lupe", reason="  a  <b>\u0007line </b>"))
    [kept] = all_entries(server.kitchen.database)
    assert (kept.by, kept.reason) == ("Lupe", "a <b>line </b>")
    assert kept.got_at <= datetime.now(UTC) + timedelta(days=365 * 100)
    assert "<b>" not in client.get("/now/board").text


def test_what_is_off_says_how_long_it_rests_at_least_and_how_hot_it_is_held(
    server: Served, client: httpx.Client
) -> None:
    send(client, entry("key-done-0001", event={"kind": "done", "load": "BR01"}))
    told = client.get("/now").text.partition("Resting or held")[2].partition("</section>")[0].replace("\xa0", " ")
    assert "BR01: 3 packer briskets, for Sat 11 am; rest at least 1 h on rest shelf, then cabinet at 150 °F" in told


def test_whole_hours_are_told_without_minutes() -> None:
    now = datetime(2026, 5, 16, 4, 30, tzinfo=UTC)
    told = [due_text(now + timedelta(minutes=minutes), now) for minutes in (0, 12, -60, 60, -75)]
    assert told == ["now", "in 12 min", "1 h ago", "in 1 h", "1 h 15 ago"]
