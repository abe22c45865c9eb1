"""The command: what it prints, what it writes, what it leaves alone."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest
from books.mistakes import SCENARIOS, copy_of
from learn_kitchen import written
from typer.testing import CliRunner

from scheduler.books import read_scenario
from scheduler.cli import app
from scheduler.model.clock import elapsed_min
from scheduler.solve import plan_weekend
from scheduler.trade.stage import finish_range

LINES = "".join(
    f"packer brisket,250 paper,11.5,long,cool end,2026-02-{6 + n:02d}T18:00,2026-02-{7 + n:02d}T00:00,"
    f"2026-02-{7 + n:02d}T{9 + n % 3:02d}:{5 * n:02d},,Wade\n"
    for n in range(10)
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return written(copy_of("corner-saturday", tmp_path), LINES)


def run(*words: object) -> str:
    done = CliRunner().invoke(app, [*map(str, words)])
    assert done.exit_code == 0, done.output
    return done.output


def test_nothing_changes_silently(folder: Path) -> None:
    before = (folder / "menu.toml").read_bytes()
    told = run("learn", folder)
    assert "4:45 / 7:45 / 10:45" in told
    assert "Nothing was changed" in told
    assert (folder / "menu.toml").read_bytes() == before


def test_write_keeps_comments_and_order_and_a_second_one_changes_nothing(folder: Path) -> None:
    menu = folder / "menu.toml"
    before = menu.read_text(encoding="utf-8").splitlines()
    assert "Wrote packer brisket, 250 paper" in run("learn", folder, "--write")
    after = menu.read_text(encoding="utf-8").splitlines()
    gone, new = [x for x in before if x not in after], [x for x in after if x not in before]
    assert gone == ["finish = { early_min = 285, likely_min = 465, late_min = 645 }"]
    assert [x.split(" = ")[0] for x in new] == ["finish", "learned"]
    assert [x for x in after if x not in new] == [x for x in before if x not in gone]
    recipe = tomllib.loads("\n".join(after))["cut"][0]["recipe"][0]
    assert recipe["learned"]["cooks"] == 10
    assert f"{recipe['learned']['on']}" == "2026-02-16"
    assert "Nothing to write" in run("learn", folder, "--write")
    assert menu.read_text(encoding="utf-8").splitlines() == after


def test_the_next_plan_uses_what_was_learned(folder: Path) -> None:
    birds = "".join(
        f"half chicken,,1.75,,,2026-03-{n:02d}T08:00,,2026-03-{n:02d}T10:{20 + 2 * n},,\n" for n in range(1, 15)
    )
    written(folder, birds)
    run("learn", folder, "--write")
    scenario = read_scenario(folder)
    cut = scenario.menu.cut("half chicken")
    recipe = cut.recipe("275 unwrapped")
    assert recipe.finish.likely_min > 140
    loads = [load for load in plan_weekend(scenario, work=20, seed=0).loads if load.cut == "half chicken"]
    assert loads
    offsets = {(s.name, r.name): r.offset_f for s in scenario.site.smokers for r in s.racks}
    for load in loads:
        asked = finish_range(recipe, scenario.weight_lb(cut), offsets[load.smoker, load.rack])
        assert elapsed_min(load.load_at, load.likely_done_at) == asked.likely_min
        assert elapsed_min(load.load_at, load.late_done_at) == asked.late_min


def test_page_and_json(folder: Path, tmp_path: Path) -> None:
    run("learn", folder, "--out", tmp_path / "out")
    page = (tmp_path / "out" / "learned.html").read_text(encoding="utf-8")
    assert page.count('class="dot-') >= 20
    assert "style=" not in page
    data = json.loads(run("learn", folder, "--json"))
    assert data["lessons"]["ranges"][0]["ended"] == 10


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        ("brisquet,,,,,2026-02-06T18:00,,2026-02-07T08:00,,", 'no cut is called "brisquet"'),
        ("packer brisket,250 paper,,,,2026-02-06T18:00,,2026-02-07T08:00,,", "give the time of the wrap"),
        ("packer brisket,,,,,2026-02-06T18:00,2026-02-06T23:00,2026-02-07T08:00,,", "more than one recipe fits"),
        ("half chicken,,,,,2026-02-06T18:00,,2026-02-06T17:00,,", "before the time it follows"),
        ("half chicken,,,,,2026-02-06 6pm,,2026-02-06T20:00,,", "is not a date and time"),
        ("half chicken,,,,,2026-03-08T02:30,,2026-03-08T04:00,,", "the clock skips it"),
        ("half chicken,,nan,,,2026-02-06T18:00,,2026-02-06T20:00,,", "is not above 0"),
        ("half chicken,,,north,,2026-02-06T18:00,,2026-02-06T20:00,,", 'no smoker or oven is called "north"'),
        ("half chicken,,,long,third,2026-02-06T18:00,,2026-02-06T20:00,,", 'long has no rack "third"'),
        ("half chicken,,,,,2026-02-06T18:00,,2026-02-06T20:00,burnt,", '"burnt" is no ending'),
    ],
)
def test_a_bad_line_is_told_with_its_number_and_nothing_is_learned(folder: Path, line: str, sentence: str) -> None:
    written(folder, LINES + line + "\n")
    done = CliRunner().invoke(app, ["learn", str(folder), "--write"])
    assert done.exit_code == 2
    assert "cooks.csv: line 12" in done.output
    assert sentence in done.output
    assert "learned" not in (folder / "menu.toml").read_text(encoding="utf-8")
    assert "Left out: cooks.csv: line 12" in run("learn", folder, "--skip-bad-rows")


def test_no_cooks_at_all(tmp_path: Path) -> None:
    told = run("learn", copy_of("corner-saturday", tmp_path), "--write")
    assert "Nothing is learned" in told


def test_the_cooks_of_the_demo_can_be_learned_from() -> None:
    told = run("learn", SCENARIOS / "harvest-weekend")
    assert "Nothing was changed" in told
    assert "is the promise kept" in told.lower()
