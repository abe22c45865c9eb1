"""forecast, quantities, rehearse and backtest from the command line."""

from __future__ import annotations

import csv
import json
import shutil
from io import StringIO
from pathlib import Path

import pytest
import report_kitchen
from typer.testing import CliRunner, Result

from scheduler.books import scenario_dump, scenario_hash, write_plan, write_text
from scheduler.cli import app
from scheduler.cli.backtest import backtest_lines
from scheduler.forecast.backtest import Backtest, Score

SCENARIOS = Path(__file__).parents[1] / "scenarios"
HARVEST = SCENARIOS / "harvest-weekend"
QUICK = ["--draws", "300"]


def run(*words: object) -> Result:
    return CliRunner().invoke(app, [str(word) for word in words])


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A scenario folder of one's own."""
    shutil.copytree(HARVEST, tmp_path / "harvest")
    return tmp_path / "harvest"


def test_forecast_answers_in_words() -> None:
    done = run("forecast", HARVEST, "--day", "sat", *QUICK)
    assert done.exit_code == 0, done.output
    for words in ("Saturday, June 13", "By noon", "Invented demo data.", "1 cutter more", "FDA Food Code 3-501.14"):
        assert words in done.output
    assert "Sunday" not in done.output


def test_forecast_writes_a_page_data_and_rows(tmp_path: Path) -> None:
    done = run("forecast", HARVEST, "--by", "13:00", "--out", tmp_path / "out", *QUICK)
    assert done.exit_code == 0, done.output
    assert {file.name for file in (tmp_path / "out").iterdir()} == {
        "forecast.html",
        "forecast.json",
        "forecast.csv",
    }
    data = json.loads((tmp_path / "out" / "forecast.json").read_text(encoding="utf-8"))
    assert [day["by"][:16] for day in data["days"]] == ["2026-06-12T18:30", "2026-06-13T13:00", "2026-06-14T13:00"]
    rows = list(csv.DictReader(StringIO((tmp_path / "out" / "forecast.csv").read_text(encoding="utf-8"))))
    assert len(rows) == sum(len(day["cuts"]) for day in data["days"])
    assert all(float(row["sold_10"]) <= float(row["sold_50"]) <= float(row["sold_90"]) for row in rows)


def test_forecast_json_repeats() -> None:
    one, two = (run("forecast", HARVEST, "--day", "2026-06-14", "--json", *QUICK).output for _ in range(2))
    assert one == two
    assert json.loads(one)["history_days"] == 132


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--by", "noon"], '"noon" is not a time of day'),
        (["--day", "wed"], 'no service day is "wed"'),
    ],
)
def test_what_cannot_be_asked_is_told(words: list[str], told: str) -> None:
    done = run("forecast", HARVEST, *words)
    assert done.exit_code == 2
    assert told in done.output


def test_bad_rows_stop_everything_until_they_are_left_out_on_purpose(folder: Path) -> None:
    file = folder / "sales.csv"
    file.write_text(file.read_text(encoding="utf-8") + "2026-06-07T25:00,packer brisket,1,,\n", encoding="utf-8")
    line = len(file.read_text(encoding="utf-8").splitlines())
    for command in ("forecast", "quantities", "backtest"):
        done = run(command, folder)
        assert done.exit_code == 2
        assert f"sales.csv: line {line}, time:" in done.output
        assert "--skip-bad-rows" in done.output
    done = run("forecast", folder, "--day", "sat", "--skip-bad-rows", *QUICK)
    assert done.exit_code == 0
    assert f"Left out: sales.csv: line {line}, time:" in done.output


@pytest.mark.parametrize("text", ["", "time,item,amount\n"])
def test_an_empty_file_gives_a_wide_forecast(text: str, folder: Path) -> None:
    (folder / "sales.csv").write_text(text, encoding="utf-8")
    (folder / "service-days.csv").unlink()
    done = run("forecast", folder, "--day", "sat", *QUICK)
    assert done.exit_code == 0, done.output
    assert "rests on the waves of weekend.toml alone" in done.output


def test_a_scenario_without_sales_can_be_forecast() -> None:
    done = run("forecast", SCENARIOS / "first-frost", *QUICK)
    assert done.exit_code == 0, done.output
    assert "There is no sales.csv" in done.output


def test_quantities_in_words_and_as_data() -> None:
    done = run("quantities", HARVEST)
    assert done.exit_code == 0, done.output
    assert "demand: a further piece" in done.output
    data = json.loads(run("quantities", HARVEST, "--json").output)
    assert data["expected_cents"] is None
    assert {row["cut"] for row in data["rows"]} >= {"packer brisket", "sausage"}


def test_quantities_are_planned_and_the_plan_stands_alone(tmp_path: Path) -> None:
    out = tmp_path / "out"
    done = run("quantities", SCENARIOS / "corner-saturday", "--out", out, "--seconds", 5)
    assert done.exit_code == 0, done.output
    assert "Planned and audited, no breach." in done.output
    assert run("audit", out).output.startswith("No breach.")
    assert run("rehearse", out, "--runs", 50).exit_code == 0


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("plan")
    scenario = report_kitchen.scenario()
    plan = report_kitchen.plan(scenario).model_copy(update={"scenario_hash": scenario_hash(scenario)})
    write_plan(plan, out / "plan.json")
    write_text(out / "scenario.json", scenario_dump(scenario))
    return out


def test_rehearse_in_words_and_as_data(planned: Path) -> None:
    done = run("rehearse", planned, "--runs", 100)
    assert done.exit_code == 0, done.output
    assert done.output.startswith("Rehearsed 100 times")
    data = json.loads(run("rehearse", planned, "--runs", 100, "--json").output)
    assert data["runs"] == 100
    assert all(0 <= wave["ready"] <= 1 for wave in data["waves"])


def test_a_forecast_with_a_plan_of_another_weekend(planned: Path) -> None:
    done = run("forecast", HARVEST, "--plan", planned, *QUICK)
    assert done.exit_code == 0, done.output
    assert "the plan's loads, early or late" in " ".join(done.output.split())


def test_backtest_says_whether_it_is_better(folder: Path) -> None:
    done = run("backtest", HARVEST, "--json")
    data = json.loads(done.output)
    mine, week, four = data["scores"]
    assert data["beats_both"] is True
    assert mine["pinball"] < min(week["pinball"], four["pinball"])
    scores = tuple(Score(**score) for score in data["scores"])
    found = Backtest(data["days"], data["forecasts"], data["sold_out"], scores)
    assert backtest_lines(found)[-1] == "The forecast beats both rules of thumb."
    worse = Backtest(found.days, found.forecasts, found.sold_out, scores[::-1])
    assert "does NOT beat both" in backtest_lines(worse)[-1]
    (folder / "sales.csv").write_text("time,item,amount\n2026-06-06T11:00,SA,1\n", encoding="utf-8")
    (folder / "service-days.csv").unlink()
    assert "too few days" in run("backtest", folder).output
