"""The command that measures: what it runs, writes and says, and when it fails."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from bench.test_results import RUN
from typer.testing import CliRunner, Result

import scheduler.bench.one
import scheduler.bench.results
import scheduler.bench.weekends
from scheduler.bench.one import METHODS, ON_PART, OURS, Task
from scheduler.bench.outcome import Record
from scheduler.bench.results import Results, read_results
from scheduler.bench.sizes import FAMILIES, VARIANTS
from scheduler.cli import app


def run(*words: object) -> Result:
    """What a command does."""
    return CliRunner().invoke(app, [str(word) for word in words])


@pytest.fixture
def ran(monkeypatch: pytest.MonkeyPatch) -> list[Task]:
    """Ready records in place of runs; the tasks asked for."""
    asked: list[Task] = []

    def run_apart(task: Task) -> Record:
        asked.append(task)
        hash_ = f"{task.variant} {task.seed} {task.part}"
        about = {"family": task.family, "variant": task.variant, "seed": task.seed, "seconds": task.seconds}
        return replace(RUN, **about, method=task.method, part=task.part, scenario_hash=hash_)  # type: ignore[arg-type]

    monkeypatch.setattr(scheduler.bench.one, "run_apart", run_apart)
    return asked


def test_everything_is_run_unless_told_otherwise(ran: list[Task]) -> None:
    result = run("bench")
    assert result.exit_code == 0, result.stderr
    assert len(ran) == len(FAMILIES) * len(VARIANTS) * 5 * (len(METHODS) + 1 + len(ON_PART))
    assert {task.seconds for task in ran} == {5, 60, 180}
    assert {(task.method, task.part) for task in ran} == {
        (OURS, False),
        (OURS, True),
        *((method, method in ON_PART) for method in METHODS),
    }
    assert result.stdout.count("\n| M | ") == len(VARIANTS) + len(METHODS) + 1


def test_a_part_of_it(ran: list[Task], tmp_path: Path) -> None:
    file, figure = tmp_path / "results.json", tmp_path / "growth.svg"
    words = ["--family", "S", "--family", "L", "--variant", "tight hold", "--seeds", "2", "--seconds", "3"]
    result = run("bench", *words, "--alone", "--json", file, "--figure", figure)
    assert result.exit_code == 0, result.stderr
    assert ran == [Task(family, "tight hold", seed, OURS, 3.0) for family in "SL" for seed in (0, 1)]
    assert [record.case for record in read_results(file).records] == [
        "S, tight hold, 0",
        "S, tight hold, 1",
        "L, tight hold, 0",
        "L, tight hold, 1",
    ]
    assert figure.read_text(encoding="utf-8").startswith("<svg ")
    assert result.stderr.splitlines()[-1] == "4 of 4: L, tight hold, 1, this program: $10.00"
    assert {path.name for path in tmp_path.iterdir()} == {"results.json", "growth.svg"}


def test_a_contradiction_with_earlier_results_is_status_1(ran: list[Task], tmp_path: Path) -> None:
    words = ["bench", "--family", "M", "--variant", "easy", "--seeds", "1", "--alone"]
    assert run(*words, "--json", tmp_path / "first.json").exit_code == 0
    earlier = json.loads((tmp_path / "first.json").read_text(encoding="utf-8"))
    assert run(*words, "--against", tmp_path / "first.json").exit_code == 0
    earlier["records"][0]["bound_cents"] = 1001
    earlier["records"][0]["cents"] = None
    (tmp_path / "second.json").write_text(json.dumps(earlier), encoding="utf-8")
    result = run(*words, "--against", tmp_path / "second.json")
    assert result.exit_code == 1
    assert result.stderr.splitlines()[-1] == (
        "Contradiction: M, easy, 0: this program has a plan at 1000 cents, "
        "and by this program none costs less than 1001."
    )
    earlier["records"][0]["scenario_hash"] = "another"
    (tmp_path / "third.json").write_text(json.dumps(earlier), encoding="utf-8")
    result = run(*words, "--against", tmp_path / "third.json")
    assert result.exit_code == 0
    assert "M, easy, 0 is not the weekend that it was" in result.stderr


def test_earlier_results_that_are_none_end_it_before_it_starts(ran: list[Task], tmp_path: Path) -> None:
    (tmp_path / "plan.json").write_text("{}", encoding="utf-8")
    for name, said in (("plan.json", "does not hold results"), ("nothing.json", "the file is missing")):
        result = run("bench", "--against", tmp_path / name)
        assert result.exit_code == 2
        assert said in result.stderr
        assert len(result.stderr.splitlines()) == 1
    assert ran == []


@pytest.mark.parametrize("words", [["--family", "XXL"], ["--variant", "loose"], ["--seeds", "0"], ["--seconds", "0"]])
def test_what_is_not_known_is_refused(words: list[str], ran: list[Task]) -> None:
    assert run("bench", *words).exit_code == 2
    assert ran == []


def test_without_the_menu_one_sentence_says_so(
    ran: list[Task], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    scheduler.bench.weekends.menu.cache_clear()
    monkeypatch.setattr(scheduler.bench.weekends, "MENU_FOLDER", tmp_path / "gone")
    result = run("bench")
    assert result.exit_code == 2
    assert result.stderr.startswith("gone: the benchmark takes its menu from it")
    assert len(result.stderr.splitlines()) == 1
    assert ran == []


def test_results_know_where_they_were_made() -> None:
    assert Results({}, ()).machine == {}
    assert {"date", "processor", "cores", "python", "ortools"} <= set(scheduler.bench.results.machine())
