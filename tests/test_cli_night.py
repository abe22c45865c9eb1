"""The commands of the night: log, status, reshuffle, what-if; exit status, files, and that the old sheets say so."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import pytest
from reshuffle_kitchen import at, corner, fire_fails, worst_hour
from typer.testing import CliRunner, Result

from scheduler.books import read_log, read_plan, scenario_dump, write_plan, write_text
from scheduler.cli import app
from scheduler.cli.moments import moment_of
from scheduler.errors import InputError
from scheduler.model.log import KINDS
from scheduler.reshuffle.what_if import failures, loss_of
from scheduler.trade.food_safety import DEFERS_SHORT


def run(*words: object) -> Result:
    return CliRunner().invoke(app, [str(word) for word in words])


@pytest.fixture
def planned(tmp_path: Path) -> Path:
    folder = tmp_path / "corner"
    plan, scenario = corner()
    write_plan(plan, folder / "plan.json")
    write_text(folder / "scenario.json", scenario_dump(scenario))
    return folder


def test_a_night_from_the_first_entry_to_the_new_plan(planned: Path) -> None:
    box, clock = worst_hour()
    hour = clock.split(":")[0]
    on = next(b for b in fire_fails().past.begun if b.dead_min is not None)
    assert run("log", planned, "add", "probe", f"load={on.code}", "temp_f=150", "--at", f"sat {clock}").exit_code == 0
    result = run("log", planned, "add", "down", f"place={box}", "--at", f"sat {hour} am", "--by", "Sol")
    assert result.exit_code == 0, result.stderr
    lines = (planned / "log.jsonl").read_text(encoding="utf-8").splitlines()
    assert [json.loads(line)["kind"] for line in lines] == ["probe", "down"]

    status = run("status", planned)
    assert status.exit_code == 0, status.stderr
    assert f"{box}: OUT OF USE since {hour} am" in status.stdout
    assert "No fire under it." in status.stdout
    assert f"{on.code}: " in status.stdout

    made = run("reshuffle", planned, "--seconds", "0")
    assert made.exit_code == 0, made.stderr
    assert f"DO NOW, until {hour}:30 am" in made.stdout
    assert "\nAgainst plan 1: $" in made.stdout
    assert made.stdout.count(DEFERS_SHORT) == 1
    new = planned.parent / "corner-plan-2"
    names = {file.name for file in new.iterdir()}
    assert {"do-now.html", "past.json", "plan.json", "crew-plan.html", "log.jsonl"} <= names
    assert read_plan(new / "plan.json").number == 2
    assert "OLD. Plan 1 no longer holds" in (planned / "crew-plan.html").read_text(encoding="utf-8")
    assert "OLD." not in (new / "crew-plan.html").read_text(encoding="utf-8")
    page = (new / "do-now.html").read_text(encoding="utf-8")
    assert "Do now" in page
    assert "<script" not in page
    assert "style=" not in page

    audited = run("audit", new)
    assert audited.exit_code == 0, audited.stdout
    assert run("show", new).exit_code == 0
    again = run("reshuffle", new, "--at", f"sat {clock}", "--seconds", "0")
    assert again.exit_code == 0, again.stderr


ENTRIES = {
    "loaded": ("load=BR01", "place=north", "rack=2"),
    "wrapped": ("load=BR01",),
    "done": ("load=BR01",),
    "pulled": ("load=BR01",),
    "moved": ("load=BR01", "place=oven"),
    "held": ("load=BR01", "place=7"),
    "probe": ("load=BR01", "temp_f=165", "position=12"),
    "sliced": ("load=BR01", "pieces=2"),
    "discarded": ("load=BR01", "pieces=1", "why=7"),
    "lit": ("place=oak box",),
    "down": ("place=north", "until=sat 5 am"),
    "up": ("place=north",),
    "missing": ("person=Ana", "until=sat 5:00"),
    "arrived": ("person=Ana",),
    "delivered": ("cut=brisket", "missing=2"),
    "ordered": ("name=12", "cut=brisket", "pieces=1", "pickup=sat 1 pm", "broken_promise_cents=500"),
    "wood": ("lb=300.5",),
    "weather": ("night=cold and windy",),
    "sold": ("cut=brisket", "portions=0"),
    "worked": ("person=Ana", "task=wrap", "minutes=12", "cut=brisket", "pieces=4", "place=oak box"),
    "piece": ("code=012", "raw_lb=11", "cooked_lb=7.5", "done=sat 14:00"),
}


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_is_written_down_as_typed(kind: str, planned: Path) -> None:
    result = run("log", planned, "add", kind, *ENTRIES[kind], "--at", "sat 3:00")
    assert result.exit_code == 0, result.stderr
    [event] = read_log(planned / "log.jsonl", corner()[1].weekend.zone).events
    for name, _, typed in (word.partition("=") for word in ENTRIES[kind]):
        found = getattr(event, name)
        if isinstance(found, datetime):
            assert found == moment_of(typed, corner()[1].weekend)
        else:
            assert found == type(found)(typed)


def test_a_new_plan_is_told_even_if_the_old_sheets_cannot_be_marked(planned: Path) -> None:
    box, clock = worst_hour()
    log = planned / "the night.jsonl"
    assert run("log", planned, "add", "down", f"place={box}", "--at", f"sat {clock}", "--log", log).exit_code == 0
    (planned / "crew-plan.html").mkdir()
    made = run("reshuffle", planned, "--seconds", "0", "--log", log)
    assert made.exit_code == 0, made.stderr
    assert "DO NOW" in made.stdout
    assert "crew-plan.html cannot be written" in made.stderr
    assert (planned.parent / "corner-plan-2" / "log.jsonl").read_bytes() == log.read_bytes()


def test_a_new_plan_lies_beside_the_old_one_wherever_the_command_is_given(
    planned: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    box, clock = worst_hour()
    (planned / "plan.json").rename(planned / "saturday.json")
    monkeypatch.chdir(planned)
    assert run("log", "saturday.json", "add", "down", f"place={box}", "--at", f"sat {clock}").exit_code == 0
    made = run("reshuffle", "saturday.json", "--seconds", "0")
    assert made.exit_code == 0, made.stderr
    assert (planned.parent / "corner-plan-2" / "plan.json").exists()
    assert "OLD. Plan 1 no longer holds" in (planned / "crew-plan.html").read_text(encoding="utf-8")


def test_a_folder_that_cannot_be_written_is_told_before_the_search(planned: Path) -> None:
    box, clock = worst_hour()
    assert run("log", planned, "add", "down", f"place={box}", "--at", f"sat {clock}").exit_code == 0
    (planned.parent / "corner-plan-2").write_text("a file", encoding="utf-8")
    made = run("reshuffle", planned, "--seconds", "0")
    assert made.exit_code == 2
    assert "A first plan" not in made.stderr
    assert "corner-plan-2 cannot be written" in made.stderr


def test_nothing_happened(planned: Path) -> None:
    result = run("reshuffle", planned, "--at", "sat 3:00")
    assert result.exit_code == 0
    assert result.stdout == "Plan 1 still holds: everything the log tells went as planned.\n"
    assert not (planned.parent / "corner-plan-2").exists()


def test_status_without_any_time_is_told(planned: Path) -> None:
    result = run("status", planned)
    assert result.exit_code == 2
    assert result.stderr.startswith("log.jsonl: nothing says at what time; give --at")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("write", "probe"), 'write "add"'),
        (("add", "eaten"), "is no kind of event; use one of lit, loaded"),
        (("add", "probe", "load"), "write it as field=value"),
        (("add", "probe", "load=BR01"), "temp_f"),
        (("add", "up", "place=x", "--at", "noonish"), "is not a time of the weekend"),
    ],
)
def test_a_wrong_entry_writes_nothing(words: tuple[str, ...], said: str, planned: Path) -> None:
    result = run("log", planned, *words)
    assert result.exit_code == 2
    assert said in result.stderr
    assert not (planned / "log.jsonl").exists()


@pytest.mark.parametrize("text", ["sat 3:00", "Sat 3 am", "saturday 3:00 am", "2026-05-16T03:00"])
def test_times_as_people_type_them(text: str) -> None:
    assert moment_of(text, corner()[1].weekend) == at("3:00")


@pytest.mark.parametrize("text", ["sat 13 pm", "sat 25:00", "xyz 3:00", "3:00", "9999-12-31T23:00"])
def test_times_that_are_none(text: str) -> None:
    with pytest.raises(InputError):
        moment_of(text, corner()[1].weekend)


def test_each_single_failure_has_its_loss() -> None:
    plan, scenario = corner()
    found = failures(plan, scenario, 8)
    assert {failure.kind for failure in found} >= {"firebox", "cabinet", "person"}
    assert [failure.at for failure in found] == sorted(failure.at for failure in found)
    worst = [loss_of(plan, scenario, failure, 0, moves=1) for failure in found[::4]]
    for loss in worst:
        assert loss.lost_cents is not None
        assert loss.idle_cents is not None
