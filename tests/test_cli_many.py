"""The command that plans a folder of weekends: all or nothing, and what it says."""

from __future__ import annotations

import json
import shutil
from concurrent.futures import Executor, Future
from concurrent.futures.process import BrokenProcessPool
from contextlib import nullcontext
from pathlib import Path
from typing import Any

import pytest
from audit_kitchen import kitchen
from books.mistakes import MISTAKES, SCENARIOS
from typer.testing import CliRunner, Result

import scheduler.books
import scheduler.cli.many
import scheduler.solve.search
from scheduler.books import read_plan, scenario_hash
from scheduler.cli import app
from scheduler.model.plan import Plan

FILES = {"crew-plan.html", "loads.csv", "plan.json", "scenario.json", "shifts.ics"}


def run(*words: object) -> Result:
    """What a command does."""
    return CliRunner().invoke(app, [str(word) for word in words])


@pytest.fixture
def sites(tmp_path: Path) -> Path:
    """A folder with two weekends, and with what is no weekend of it."""
    folder = tmp_path / "sites"
    for name in ("east side", "west side"):
        shutil.copytree(SCENARIOS / "corner-saturday", folder / name)
    (folder / ".hidden").mkdir()
    (folder / "notes.txt").write_text("call Wade", encoding="utf-8")
    return folder


class Here(Executor):
    """An executor of nothing but this thread."""

    def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
        future: Future[Any] = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except Exception as error:
            future.set_exception(error)
        return future


@pytest.fixture
def solver(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """A ready plan in the solver's place, on this thread; how it was called."""
    sound = kitchen()
    called: dict[str, Any] = {"plan": sound.with_plan(scenario_hash=scenario_hash(sound.scenario)).plan}

    def plan_weekend(scenario: object, **options: Any) -> Plan:
        called.update(options)
        if "error" in called:
            raise called["error"]
        plan: Plan = called["plan"]
        return plan

    def here(cluster: str | None, workers: int) -> Any:
        called.update(cluster=cluster, workers=workers)
        return nullcontext(Here())

    monkeypatch.setattr(scheduler.solve.search, "plan_weekend", plan_weekend)
    monkeypatch.setattr(scheduler.books, "read_scenario", lambda folder: sound.scenario)
    monkeypatch.setattr(scheduler.cli.many, "executor_at", here)
    return called


def test_each_weekend_gets_its_folder(solver: dict[str, Any], sites: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    result = run("plan-many", sites, "--out", out, "--moves", "3", "--seed", "4", "--workers", "5")
    assert result.exit_code == 0, result.stderr
    assert (solver["work"], solver["seed"], solver["workers"], solver["cluster"]) == (3, 4, 5, None)
    assert {folder.name for folder in out.iterdir()} == {"east side", "west side"}
    for folder in out.iterdir():
        assert {file.name for file in folder.iterdir()} == FILES
        assert read_plan(folder / "plan.json") == solver["plan"]
    east, west, wrote = result.stdout.splitlines()
    assert east.startswith("east side: 8 pieces in ")
    assert west.startswith("west side: 8 pieces in ")
    assert wrote == f"Wrote 2 plans into {out}"


def test_the_result_as_json(solver: dict[str, Any], sites: Path, tmp_path: Path) -> None:
    result = run("plan-many", sites, "--out", tmp_path / "out", "--seconds", "7", "--json")
    assert result.exit_code == 0, result.stderr
    assert (solver["work"], solver["seconds"]) == (None, 7.0)
    data = json.loads(result.stdout)
    assert list(data) == ["east side", "west side"]
    assert data["east side"]["breaches"] == 0


def test_all_mistakes_of_all_weekends_are_told_and_nothing_is_written(sites: Path, tmp_path: Path) -> None:
    for name, site in zip(("toml typo", "time as a number"), ("east side", "west side"), strict=True):
        MISTAKES[name].make(sites / site)
    out = tmp_path / "out"
    result = run("plan-many", sites, "--out", out, "--moves", "0")
    assert result.exit_code == 2
    assert result.stderr.splitlines() == [
        f"east side/{MISTAKES['toml typo'].sentence}",
        f"west side/{MISTAKES['time as a number'].sentence}",
    ]
    assert not out.exists()


def test_a_plan_that_breaks_a_rule_writes_nothing(solver: dict[str, Any], sites: Path, tmp_path: Path) -> None:
    solver["plan"] = solver["plan"].model_copy(update={"shifts": (), "tasks": ()})
    out = tmp_path / "out"
    result = run("plan-many", sites, "--out", out)
    assert result.exit_code == 1
    assert "nothing was written: east side, west side" in result.stderr
    assert not out.exists()


def test_a_process_that_dies_is_one_sentence(solver: dict[str, Any], sites: Path, tmp_path: Path) -> None:
    solver["error"] = BrokenProcessPool("gone")
    out = tmp_path / "out"
    result = run("plan-many", sites, "--out", out)
    assert result.exit_code == 2
    assert result.stderr == (
        "plan-many: --workers: a process that was planning ended, perhaps for want of memory; "
        "let fewer weekends be planned at once.\n"
    )
    assert not out.exists()


@pytest.mark.parametrize(
    ("make", "said"), [("nothing", "there is no such folder"), ("file", "is a file"), ("empty", "it holds no folder")]
)
def test_what_is_no_folder_of_weekends(make: str, said: str, tmp_path: Path) -> None:
    folder = tmp_path / "sites"
    if make == "file":
        folder.write_text("", encoding="utf-8")
    elif make == "empty":
        folder.mkdir()
    result = run("plan-many", folder, "--out", tmp_path / "out")
    assert result.exit_code == 2
    assert said in result.stderr
    assert len(result.stderr.splitlines()) == 1
    assert not (tmp_path / "out").exists()


def test_seconds_and_moves_exclude_each_other(sites: Path, tmp_path: Path) -> None:
    result = run("plan-many", sites, "--out", tmp_path / "out", "--moves", "1", "--seconds", "5")
    assert result.exit_code == 2
    assert "not both" in result.stderr


def test_no_cluster_there_is_one_sentence(sites: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(scheduler.cli.many, "CONNECT_S", 0.3)
    result = run("plan-many", sites, "--out", tmp_path / "out", "--moves", "0", "--cluster", "tcp://127.0.0.1:9")
    assert result.exit_code == 2
    assert "no cluster answers at tcp://127.0.0.1:9" in result.stderr
    assert len(result.stderr.splitlines()) == 1
    assert not (tmp_path / "out").exists()
