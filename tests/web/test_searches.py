"""Searches run off the request, one at a time, in a line that a person can see; a restart is owned up to."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NoReturn

import httpx
import pytest
from solve.corner import corner, without
from web_server import Served, copied, corner_plan, served, settings_of, values_in

from scheduler.audit import audit
from scheduler.books import scenario_dump
from web import live
from web.kitchen import Kitchen
from web.store.jobs import ask_job, change_job, job, jobs_in

ROOT = Path(__file__).parents[2]
LONGEST_S = 90


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


def ended(client: httpx.Client, path: str) -> list[dict[str, Any]]:
    """All that the stream of a search says until it is over."""
    told = []
    with client.stream("GET", f"{path}/stream", timeout=LONGEST_S) as answer:
        assert answer.headers["content-type"].startswith("text/event-stream")
        for line in answer.iter_lines():
            if line.startswith("data: "):
                told.append(json.loads(line.removeprefix("data: ")))
    return told


def press_plan(client: httpx.Client, seconds: int) -> str:
    values = values_in(client.get("/weekend").text) | {"press": "plan", "seconds": str(seconds)}
    return client.post("/weekend", data=values).headers["location"]


TRIAL = """
[[trial]]
name = "which side"
cut = "packer brisket"
at = 2026-05-16T11:00:00
pairs = 1

[[trial.method]]
label = "fat up"

[[trial.method]]
label = "fat down"
"""


def test_a_weekend_with_a_trial_is_planned_while_pages_go_on(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    with (folder / "weekend.toml").open("a", encoding="utf-8") as file:
        file.write(TRIAL)
    with served(settings_of(folder), plan=False) as server, server.client() as client:
        path = press_plan(client, 3)
        begun = time.monotonic()
        assert client.get("/weekend").status_code == 200
        assert time.monotonic() - begun < LONGEST_S
        told = ended(client, path)
        assert told[-1]["state"] == "Done"
        assert any(standing["cost"].startswith("$") for standing in told)
        assert told[-1]["to"] == f"/plans/{told[-1]['plan']}"
        kept = server.kitchen.plan(told[-1]["plan"])
        assert audit(kept.plan, kept.scenario) == ()
        [trial] = kept.scenario.weekend.trials
        assert sum(load.pieces for load in kept.plan.loads if load.cut == trial.pair_name) == 1
        counter = client.get("/service").text
        assert "packer brisket" in counter
        assert "pair of" not in counter, "the counter sells no pairs"
        assert client.get("/after").status_code == 200


def test_the_second_waits_in_line_and_can_be_dropped_and_the_first_gives_way_to_the_night(
    server: Served, client: httpx.Client
) -> None:
    first, second = press_plan(client, 600), press_plan(client, 600)
    assert "1 ahead of it in line" in client.get(second).text
    assert "In line" in client.get(first).text
    client.post(f"{second}/stop")
    assert ended(client, second)[-1]["state"] == "Dropped"
    while "$" not in client.get(first).text.partition('data-part="cost"')[2][:20]:
        time.sleep(0.2)
    third = press_plan(client, 600)
    night = client.post("/broke", data={"what": "anew", "answer": "yes"}).headers["location"]
    last = ended(client, first)[-1]
    assert last["state"] == "Done"
    kept = server.kitchen.plan(last["plan"])
    assert kept.plan.certificate.stopped_by in ("person", "proven")
    told = ended(client, night)[-1]
    assert (told["state"], "go on as planned" in told["note"]) == ("Done", True)
    client.post(f"{third}/stop")
    assert ended(client, third)[-1]["state"] in ("Done", "Dropped", "No answer")


def test_what_cannot_be_planned_is_told_in_sentences(server: Served, client: httpx.Client) -> None:
    task = {"scenario": scenario_dump(without(corner(), "Sol", "Bea")), "seconds": 2}
    number = ask_job(server.kitchen.database, "plan", task, by="", at=server.kitchen.settings.now())
    last = ended(client, f"/search/{number}")[-1]
    assert last["state"] == "No answer"
    assert "counter" in last["note"]


def test_a_load_is_moved_and_the_rest_planned_around_it(server: Served, client: httpx.Client) -> None:
    page = client.get("/plans/1").text
    load = next(load for load in corner_plan().loads if load.code.startswith("SR"))
    assert f'value="{load.code}"' in page
    form = {
        "load": load.code,
        "press": "move",
        "smoke": f"{load.smoker}|{load.rack}",
        "finish": f"{load.finish_place}|{load.finish_rack or ''}",
        "load_at": f"{load.load_at:%Y-%m-%dT%H:%M}",
        "wrap_at": f"{load.wrap_at:%Y-%m-%dT%H:%M}" if load.wrap_at else "",
    }
    moved = client.post("/plans/1/move", data=form).headers["location"]
    assert moved == f"/plans/2?load={load.code}"
    assert server.kitchen.plan(2).pins == (load.code,)
    task = client.post("/plans/2/around").headers["location"]
    while "Searching" not in client.get(task).text:
        time.sleep(0.05)
    client.post(f"{task}/stop")
    last = ended(client, task)[-1]
    kept = server.kitchen.plan(last["plan"])
    assert (kept.kind, kept.breaches, kept.pins) == ("replanned", 0, (load.code,))
    assert kept.plan.load(load.code) == server.kitchen.plan(2).plan.load(load.code)


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("load_at", "2026-05-15T22:07", "grid of 15 minutes"),
        ("load_at", "", "it has no time"),
        ("load_at", "9999-12-31T23:00", "is not a time of the weekend"),
        ("smoke", "attic|7", "There is no attic"),
        ("load", "ZZ99", "no such load"),
    ],
)
def test_a_move_that_makes_no_sense_is_told_on_the_form(
    shared: httpx.Client, field: str, value: str, said: str
) -> None:
    load = next(load for load in corner_plan().loads if load.code.startswith("BR"))
    form = {
        "load": load.code,
        "press": "move",
        "smoke": f"{load.smoker}|{load.rack}",
        "finish": f"{load.finish_place}|{load.finish_rack or ''}",
        "load_at": f"{load.load_at:%Y-%m-%dT%H:%M}",
        "wrap_at": f"{load.wrap_at:%Y-%m-%dT%H:%M}" if load.wrap_at else "",
    }
    answer = shared.post("/plans/1/move", data=form | {field: value})
    assert answer.status_code == 422
    assert said.lower() in answer.text.lower()


def test_a_restart_in_the_middle_is_owned_up_to_and_can_go_on(tmp_path: Path) -> None:
    settings = settings_of(copied(tmp_path))
    kitchen = Kitchen(settings)
    task = {"scenario": scenario_dump(corner()), "seconds": 2, "seed": 0}
    number = ask_job(kitchen.database, "plan", task, by="Ana", at=settings.now())
    change_job(kitchen.database, number, state="running")
    kitchen.database.close()  # as if it had been killed: nobody closed the search
    with served(settings, plan=False) as again, again.client() as client:
        text = client.get(f"/search/{number}").text
        assert "The program was started anew while this ran" in text
        new = client.post(f"/search/{number}/again").headers["location"]
        assert ended(client, new)[-1]["state"] == "Done"


def test_the_line_outlives_an_answer_that_cannot_be_kept(
    server: Served, client: httpx.Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    finish = server.kitchen.line.finish

    def broken(*_: object) -> NoReturn:
        raise OSError("the disk is full")

    task = {"scenario": scenario_dump(corner()), "seconds": 1}
    at = server.kitchen.settings.now()
    monkeypatch.setattr(server.kitchen.line, "finish", broken)
    first = ask_job(server.kitchen.database, "plan", task, by="", at=at)
    last = ended(client, f"/search/{first}")[-1]
    assert (last["state"], last["note"]) == ("No answer", "The answer could not be kept: the disk is full")
    monkeypatch.setattr(server.kitchen.line, "finish", finish)
    second = client.post(f"/search/{first}/again").headers["location"]
    client.post(f"{second}/stop")
    assert ended(client, second)[-1]["state"] in ("Done", "Dropped")


def test_the_line_outlives_a_disk_on_which_nothing_can_be_written(
    server: Served, client: httpx.Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object, **__: object) -> NoReturn:
        raise OSError("the disk is full")

    task = {"scenario": scenario_dump(corner()), "seconds": 1}
    at = server.kitchen.settings.now()
    with monkeypatch.context() as patched:
        for name in ("jobs_in", "change_job"):
            patched.setattr(live, name, full)
        patched.setattr(live, "TROUBLE_S", live.POLL_S)
        patched.setattr(server.kitchen.line, "_do", full)
        time.sleep(2 * live.POLL_S)
        patched.setattr(live, "jobs_in", jobs_in)
        first = ask_job(server.kitchen.database, "plan", task, by="", at=at)
        server.kitchen.line.wake()
        time.sleep(2 * live.POLL_S)
        assert job(server.kitchen.database, first).state == "waiting"
    assert server.kitchen.line._thread.is_alive(), "its page would wait for ever"
    last = ended(client, f"/search/{first}")[-1]
    assert (last["state"], last["note"]) == ("No answer", "The answer could not be kept: the disk is full")


def test_a_worker_does_not_outlive_its_server() -> None:
    child = subprocess.Popen(
        [sys.executable, "-m", "web.worker"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
    )
    assert child.stdin is not None
    assert child.stdout is not None
    child.stdin.write(json.dumps({"kind": "plan", "scenario": scenario_dump(corner()), "seconds": 600}) + "\n")
    child.stdin.flush()
    assert "progress" in child.stdout.readline()
    child.stdin.close()
    assert child.wait(timeout=30) == 0
    child.stdout.close()
