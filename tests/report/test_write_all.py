"""All three files together."""

from __future__ import annotations

from pathlib import Path

import pytest
import report_kitchen as kitchen

from scheduler.errors import OutputError
from scheduler.report import write_all


def test_three_files_and_nothing_else(tmp_path: Path) -> None:
    scenario = kitchen.scenario()
    out = tmp_path / "new" / "folder"
    paths = write_all(kitchen.plan(scenario), scenario, out)
    assert [path.name for path in paths] == ["crew-plan.html", "loads.csv", "shifts.ics"]
    assert sorted(out.iterdir()) == sorted(paths)
    assert paths[0].read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert b"\r\n" in paths[1].read_bytes()
    assert b"\r\r" not in paths[1].read_bytes() + paths[2].read_bytes()


def test_a_mistake_leaves_the_folder_as_it_was(tmp_path: Path) -> None:
    scenario = kitchen.scenario()
    plan = kitchen.plan(scenario)
    broken = plan.model_copy(update={"loads": (plan.loads[0].model_copy(update={"cut": "no such cut"}),)})
    with pytest.raises(KeyError):
        write_all(broken, scenario, tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_cannot_be_written_is_an_output_error(tmp_path: Path) -> None:
    scenario = kitchen.scenario()
    taken = tmp_path / "taken"
    taken.write_text("a file, not a folder", encoding="utf-8")
    with pytest.raises(OutputError):
        write_all(kitchen.plan(scenario), scenario, taken)
