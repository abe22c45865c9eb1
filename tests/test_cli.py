"""The command line: its exit status, what it says where, and what it writes."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
from dataclasses import dataclass
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from audit_kitchen import Kitchen, kitchen
from books.mistakes import MISTAKES, SCENARIOS, copy_of
from rich.console import Console
from typer.testing import CliRunner, Result

import scheduler.books
import scheduler.solve
from scheduler.books import plan_schema, read_plan, scenario_dump, scenario_hash, write_plan, write_text
from scheduler.cli import app
from scheduler.cli.search import progress_line
from scheduler.cli.show import show_plan
from scheduler.model.plan import Plan

FILES = {"crew-plan.html", "loads.csv", "plan.json", "scenario.json", "shifts.ics"}
ROOT = Path(__file__).parents[1]


def run(*words: object) -> Result:
    """What a command does."""
    return CliRunner().invoke(app, [str(word) for word in words])


@dataclass(frozen=True)
class Heard:
    """What the solver tells its listener."""

    seconds: float = 1.0
    cost_cents: int | None = None
    bound_cents: int | None = None
    gap: float | None = None
    pieces_short: int | None = None
    note: str = ""


@pytest.fixture
def sound() -> Kitchen:
    """A small kitchen and a plan that keeps every rule, belonging together."""
    found = kitchen()
    return found.with_plan(scenario_hash=scenario_hash(found.scenario))


@pytest.fixture
def planned(sound: Kitchen, tmp_path: Path) -> Path:
    """A folder with that plan."""
    folder = tmp_path / "planned"
    write_plan(sound.plan, folder / "plan.json")
    write_text(folder / "scenario.json", scenario_dump(sound.scenario))
    return folder


@pytest.fixture
def solver(sound: Kitchen, monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """Puts a ready plan in the solver's place, so that the command alone is tested; returns how it was called."""
    called: dict[str, Any] = {"plan": sound.plan}

    def plan_weekend(scenario: object, **options: Any) -> Plan:
        called.update(options, scenario=scenario)
        options["listener"](Heard(cost_cents=58_705))
        if "wait" in called:
            called["wait"].set()
            assert options["stop"].wait(30)
        if "hang" in called:
            called["stopping"].set()
            assert called["hang"].wait(30)
        if "error" in called:
            raise called["error"]
        plan: Plan = called["plan"]
        return plan

    monkeypatch.setattr(scheduler.solve, "plan_weekend", plan_weekend, raising=False)
    monkeypatch.setattr(scheduler.books, "read_scenario", lambda folder: sound.scenario)
    return called


# plan


@pytest.mark.parametrize("name", MISTAKES)
def test_bad_input_is_one_sentence_status_2_and_nothing_written(name: str, tmp_path: Path) -> None:
    folder = copy_of("corner-saturday", tmp_path)
    MISTAKES[name].make(folder)
    out = tmp_path / "out"
    result = run("plan", folder, "--out", out)
    assert result.exit_code == 2
    assert result.stderr == MISTAKES[name].sentence + "\n"
    assert result.stdout == ""
    assert not out.exists()


def test_no_such_scenario(tmp_path: Path) -> None:
    result = run("plan", tmp_path / "nowhere", "--out", tmp_path / "out")
    assert result.exit_code == 2
    assert result.stderr == f"{tmp_path / 'nowhere'}: there is no such folder; give the path of a scenario folder.\n"
    assert not (tmp_path / "out").exists()


def test_plan_writes_all_files_and_says_so(solver: dict[str, Any], tmp_path: Path) -> None:
    out = tmp_path / "deep" / "out"
    result = run("plan", "x", "--out", out, "--seconds", "7", "--seed", "3", "--grid", "30")
    assert result.exit_code == 0, result.stderr
    assert {file.name for file in out.iterdir()} == FILES
    assert (solver["seconds"], solver["seed"], solver["grid_min"]) == (7.0, 3, 30)
    assert read_plan(out / "plan.json") == solver["plan"]
    first, short, *wrote = result.stdout.splitlines()
    assert first.startswith("Planned and audited, no breach: 8 pieces in ")
    assert "1 short" in first
    assert "cost $587.05" in first
    assert short == "Short: 1 brisket for Sat 11 am: the rack is full"
    assert sorted(wrote) == [f"Wrote {out / name}" for name in sorted(FILES)]


def test_plan_as_json(solver: dict[str, Any], tmp_path: Path) -> None:
    out = tmp_path / "out"
    result = run("plan", "x", "--out", out, "--json")
    assert result.exit_code == 0, result.stderr
    data = json.loads(result.stdout)
    assert data["cost_cents"]["total"] == 58_705
    assert data["pieces_short"] == 1
    assert data["breaches"] == 0
    assert {Path(file).name for file in data["files"]} == FILES


def test_a_plan_replaces_the_one_before_and_leaves_other_files(solver: dict[str, Any], tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / "plan.json").write_text("old")
    (out / "notes.txt").write_text("mine")
    assert run("plan", "x", "--out", out).exit_code == 0
    assert {file.name for file in out.iterdir()} == FILES | {"notes.txt"}
    assert read_plan(out / "plan.json") == solver["plan"]
    assert (out / "notes.txt").read_text() == "mine"


def test_a_plan_with_a_breach_is_not_written(solver: dict[str, Any], tmp_path: Path) -> None:
    solver["plan"] = solver["plan"].model_copy(update={"shorts": ()})
    out = tmp_path / "out"
    result = run("plan", "x", "--out", out)
    assert result.exit_code == 1
    assert result.stderr.startswith("The plan breaks rules, so nothing was written:\n")
    assert len(result.stderr.splitlines()) >= 2
    assert not out.exists()


def test_an_output_that_is_a_file_is_told_before_the_search(solver: dict[str, Any], tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.write_text("a file")
    result = run("plan", "x", "--out", out)
    assert result.exit_code == 2
    assert result.stderr == f"{out} cannot be written: File exists.\n"
    assert "seconds" not in solver
    assert out.read_text() == "a file"


def test_nothing_is_left_of_a_search_that_fails(solver: dict[str, Any], tmp_path: Path) -> None:
    solver["error"] = RuntimeError("a mistake of ours")
    out = tmp_path / "out"
    result = run("plan", "x", "--out", out)
    assert isinstance(result.exception, RuntimeError)
    assert not out.exists()


def interrupt_once(ready: threading.Event) -> None:
    """Ctrl-C when the search runs."""
    assert ready.wait(30)
    os.kill(os.getpid(), signal.SIGINT)


def test_ctrl_c_keeps_the_best(solver: dict[str, Any], tmp_path: Path) -> None:
    solver["wait"] = threading.Event()
    before = signal.getsignal(signal.SIGINT)
    hand = threading.Thread(target=interrupt_once, args=(solver["wait"],))
    hand.start()
    result = run("plan", "x", "--out", tmp_path / "out")
    hand.join()
    assert result.exit_code == 0, result.stderr
    assert solver["stop"].is_set()
    assert {file.name for file in (tmp_path / "out").iterdir()} == FILES
    assert signal.getsignal(signal.SIGINT) is before


def test_ctrl_c_twice_gives_up(solver: dict[str, Any], tmp_path: Path) -> None:
    solver.update(wait=threading.Event(), stopping=threading.Event(), hang=threading.Event())

    def interrupt_twice() -> None:
        interrupt_once(solver["wait"])
        interrupt_once(solver["stopping"])

    hand = threading.Thread(target=interrupt_twice)
    hand.start()
    result = run("plan", "x", "--out", tmp_path / "out")
    hand.join()
    solver["hang"].set()
    assert result.exit_code == 130
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    "words",
    [
        ("--seconds", "0"),
        ("--seconds", "nan"),
        ("--seconds", "inf"),
        ("--seconds", "soon"),
        ("--seed", "-1"),
        ("--grid", "7"),
        ("--grid", "0"),
        ("--nonsense",),
    ],
)
def test_a_bad_option_is_status_2(words: tuple[str, ...], tmp_path: Path) -> None:
    result = run("plan", SCENARIOS / "corner-saturday", "--out", tmp_path / "out", *words)
    assert result.exit_code == 2
    assert words[0] in result.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("value", ["nan", "inf"])
@pytest.mark.parametrize(
    "words",
    [
        ("plan", "x", "--out", "y", "--seconds"),
        ("plan-many", "x", "--out", "y", "--seconds"),
        ("quantities", "x", "--seconds"),
        ("review", "x", "--seconds"),
        ("reshuffle", "x", "--seconds"),
        ("what-if", "x", "--seconds"),
        ("bench", "--seconds"),
        ("safety", "--time-from"),
    ],
    ids=lambda words: words[0],
)
def test_what_is_no_number_is_status_2(words: tuple[str, ...], value: str) -> None:
    result = run(*words, value)
    assert result.exit_code == 2
    assert words[-1] in result.stderr


def test_plan_needs_a_place_for_its_output() -> None:
    result = run("plan", SCENARIOS / "corner-saturday")
    assert result.exit_code == 2
    assert "--out" in result.stderr


@pytest.mark.parametrize(
    ("heard", "stopping", "line"),
    [
        (None, False, "3 of 60 s, Ctrl-C keeps the best"),
        (Heard(note="first plan"), False, "3 of 60 s, first plan, Ctrl-C keeps the best"),
        (
            Heard(cost_cents=123_450, bound_cents=118_000, gap=0.0441, pieces_short=1),
            False,
            "3 of 60 s, best $1,234.50, 1 piece short, at least $1,180.00, gap 4.4%, Ctrl-C keeps the best",
        ),
        (
            Heard(cost_cents=123_450, pieces_short=1),
            False,
            "3 of 60 s, best $1,234.50, 1 piece short, Ctrl-C keeps the best",
        ),
        (
            Heard(cost_cents=0, gap=0.0, pieces_short=0),
            True,
            "3 of 60 s, best $0.00, 0 pieces short, gap 0.0%, stopping, the best is kept",
        ),
    ],
)
def test_the_progress_line(heard: Heard | None, stopping: bool, line: str) -> None:
    assert progress_line(heard, 3.2, 60, stopping) == line


# audit


@pytest.mark.parametrize("name", ["", "plan.json"])
def test_audit_of_a_sound_plan(name: str, planned: Path) -> None:
    result = run("audit", planned / name)
    assert result.exit_code == 0, result.stderr
    assert result.stdout.startswith("No breach. 8 pieces in ")


def test_audit_tells_each_breach_on_a_line(sound: Kitchen, planned: Path) -> None:
    write_plan(
        sound.with_plan(shorts=(), cost=sound.plan.cost.model_copy(update={"wood": 1})).plan, planned / "plan.json"
    )
    result = run("audit", planned)
    assert result.exit_code == 1
    head, *lines = result.stdout.splitlines()
    assert head == f"{len(lines)} breaches:"
    assert any(line.startswith("cost") for line in lines)


def test_a_plan_of_another_scenario_is_refused(sound: Kitchen, planned: Path) -> None:
    write_text(planned / "scenario.json", scenario_dump(sound.counter_hands(3).scenario))
    for command in ("audit", "show"):
        result = run(command, planned)
        assert result.exit_code == 2
        assert result.stderr.startswith(
            f"plan.json: scenario_hash: its scenario has the hash {sound.plan.scenario_hash}"
        )
        assert result.stdout == ""


@pytest.mark.parametrize("name", ["plan.json", "scenario.json"])
def test_a_missing_part_is_told(name: str, planned: Path) -> None:
    (planned / name).unlink()
    for command in ("audit", "show"):
        result = run(command, planned)
        assert result.exit_code == 2
        assert result.stderr == f"{name}: the file is missing; add it to {planned}.\n"


# show


def test_show_tells_the_whole_plan(sound: Kitchen, planned: Path) -> None:
    result = run("show", planned)
    assert result.exit_code == 0, result.stderr
    text = result.stdout
    for load in sound.plan.loads:
        assert load.code in text
    for shift in sound.plan.shifts:
        assert shift.person in text
    for title in ("Ready on Saturday, April 18", "Short", "Fires", "Shifts", "Cost", "How sure", "Cautions"):
        assert f"\n{title}" in text
    assert "1 brisket for Sat 11 am. The rack is full." in text
    assert "225 °F, 250 °F from Sat 7:30 am" in text
    assert "$587.05" in text
    assert "135 °F" in text


def test_show_warns_of_a_plan_with_breaches(sound: Kitchen, planned: Path) -> None:
    write_plan(sound.with_plan(fires=()).plan, planned / "plan.json")
    result = run("show", planned)
    assert result.exit_code == 1
    assert result.stderr.startswith("DO NOT COOK BY THIS PLAN. It breaks rules:\n")
    assert "Ready on Saturday" in result.stdout


def test_show_prints_names_as_they_are(sound: Kitchen, capsys: pytest.CaptureFixture[str]) -> None:
    scenario = sound.scenario.model_copy(
        update={"weekend": sound.scenario.weekend.model_copy(update={"name": "[red]Big[/red] :fire: day"})}
    )
    show_plan(sound.plan, scenario)
    assert "[red]Big[/red] :fire: day" in capsys.readouterr().out


def test_show_fits_a_narrow_terminal(sound: Kitchen) -> None:
    text = StringIO()
    show_plan(sound.plan, sound.scenario, Console(width=60, markup=False, highlight=False, emoji=False, file=text))
    assert max(map(len, text.getvalue().splitlines())) <= 60


# The rest


def test_schema_prints_the_schema() -> None:
    result = run("schema")
    assert result.exit_code == 0
    assert json.loads(result.stdout) == plan_schema()


def test_the_module_runs_and_its_help_needs_no_solver(tmp_path: Path) -> None:
    code = (
        "import sys; sys.argv = ['pit-scheduler', '--help']\n"
        "from scheduler.cli import main\n"
        "try:\n    main()\nfinally:\n    print(sorted(m for m in ('ortools', 'pandas', 'jinja2') if m in sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines()[-1] == "[]"
    for command in ("plan", "audit", "show"):
        assert command in done.stdout


def test_python_m_scheduler_gives_the_exit_status(tmp_path: Path) -> None:
    words = [sys.executable, "-m", "scheduler", "plan", str(tmp_path / "nowhere"), "--out", str(tmp_path / "out")]
    done = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert done.stderr.endswith("give the path of a scenario folder.\n")
    assert len(done.stderr.splitlines()) == 1
