"""The commands of the night: log, status, reshuffle, what-if; exit status, files, and that the old sheets say so."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from reshuffle_kitchen import at, corner, fire_fails, worst_hour
from typer.testing import CliRunner, Result

from scheduler.books import read_plan, scenario_dump, write_plan, write_text
from scheduler.cli import app
from scheduler.cli.moments import moment_of
from scheduler.errors import InputError
from scheduler.reshuffle.what_if import failures, loss_of


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
    assert made.stdout.count("Your local authority's rule comes first") == 1
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
