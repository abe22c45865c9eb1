"""The buy command: a table that fits 80 columns, CSV, JSON, exit status."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import report_kitchen as kitchen
from typer.testing import CliRunner, Result

from scheduler.books import scenario_dump, scenario_hash, write_plan, write_text
from scheduler.cli import app


def run(*words: object) -> Result:
    return CliRunner().invoke(app, ["buy", *(str(word) for word in words)])


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("planned")
    scenario = kitchen.scenario()
    plan = kitchen.plan(scenario).model_copy(update={"scenario_hash": scenario_hash(scenario)})
    write_plan(plan, folder / "plan.json")
    write_text(folder / "scenario.json", scenario_dump(scenario))
    return folder


@pytest.mark.parametrize("name", ["", "plan.json"])
def test_the_list_fits_80_columns(name: str, planned: Path) -> None:
    result = run(planned / name)
    assert result.exit_code == 0, result.stderr
    lines = result.stdout.splitlines()
    assert lines[0] == "Buy"
    assert max(map(len, lines)) <= 80
    row = next(line for line in lines if line.startswith("packer brisket"))
    assert row.split()[2:] == ["120", "10-12", "lb", "5", "of", "5", "25", "250", "lb", "$1,250.00", "Thu", "11"]
    text = " ".join(result.stdout.split())
    assert "of seasoned wood, split, before the first fire." in text
    assert "[ ] Trim and season " in text
    assert text.endswith("Your local authority's rule comes first: ask it before you rely on this.")


def test_csv_is_written_beside_the_text(planned: Path, tmp_path: Path) -> None:
    file = tmp_path / "deep" / "buy.csv"
    result = run(planned, "--csv", file)
    assert result.exit_code == 0
    assert result.stdout.endswith(f"Wrote {file}\n")
    assert file.read_text(encoding="utf-8").startswith("cut,imps,name,weight_band,cases,")


def test_json_is_all_that_json_prints(planned: Path, tmp_path: Path) -> None:
    result = run(planned, "--json", "--csv", tmp_path / "buy.csv")
    assert json.loads(result.stdout)["wood"]["cords_to_order"] > 0
    assert (tmp_path / "buy.csv").exists()


def test_a_plan_without_loads_has_nothing_to_buy(tmp_path: Path) -> None:
    scenario = kitchen.scenario()
    nothing = {"loads": (), "fires": (), "scenario_hash": scenario_hash(scenario)}
    write_plan(kitchen.plan(scenario).model_copy(update=nothing), tmp_path / "plan.json")
    write_text(tmp_path / "scenario.json", scenario_dump(scenario))
    assert run(tmp_path).stdout == "The plan cooks nothing, so there is nothing to buy.\n"


def test_bad_input_is_status_2_and_nothing_written(planned: Path, tmp_path: Path) -> None:
    result = run(tmp_path / "none")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.endswith(".\n")
    (tmp_path / "a file").write_text("mine")
    refused = run(planned, "--csv", tmp_path / "a file" / "buy.csv")
    assert refused.exit_code == 2
    assert "cannot be written" in refused.stderr
