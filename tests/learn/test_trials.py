"""Trials: laid out for the planner, drawn by lot, blind on every sheet, and judged."""

from __future__ import annotations

import json
import re
from collections import Counter
from pathlib import Path

import pytest
from books.mistakes import copy_of
from typer.testing import CliRunner

from scheduler.audit import audit
from scheduler.books import append_event, read_scenario
from scheduler.books.scenarios import problems_in
from scheduler.books.scores import read_scores
from scheduler.cli import app
from scheduler.cli.result import read_pair, write_into
from scheduler.learn.layout import KEYED, laid_out
from scheduler.learn.lots import TRIANGLES, lots_by_load, pair_lots, tasting_forms
from scheduler.learn.trial_result import trial_result
from scheduler.model.fold import folded
from scheduler.model.log import Log, PieceSeen
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.model.scores import SCALES
from scheduler.model.trial import Method, Trial
from scheduler.report.trial_words import result_lines
from scheduler.solve.count_back import count_back

TRIAL = """
[[trial]]
name = "first or second"
cut = "packer brisket"
at = 2026-06-13T11:00:00
pairs = 3
recipe = "250 paper"
seed = 4

[[trial.method]]
label = "quickpaper"

[[trial.method]]
label = "shinyfoil"
wrap_kind = "foil"
how = "two turns"
"""


def with_trial(folder: Path, text: str = TRIAL) -> Path:
    weekend = folder / "weekend.toml"
    weekend.write_text(weekend.read_text(encoding="utf-8") + text, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def harvest(tmp_path_factory: pytest.TempPathFactory) -> tuple[Plan, Scenario, Path]:
    """The real scenario with a trial, planned and written."""
    folder = with_trial(copy_of("harvest-weekend", tmp_path_factory.mktemp("trial")))
    scenario = laid_out(read_scenario(folder))
    plan = count_back(scenario, strict=True)
    out = folder.parent / "out"
    out.mkdir()
    write_into(out, folder.parent / "plan", plan, scenario)
    return plan, scenario, folder.parent / "plan"


def test_a_pair_is_two_pieces_in_all_that_it_takes_and_gives(harvest: tuple[Plan, Scenario, Path]) -> None:
    _, scenario, _ = harvest
    cut, pair = scenario.menu.cut("packer brisket"), scenario.menu.cut("pair of packer briskets")
    assert (pair.spaces, pair.hold_spaces, pair.rest_spaces) == (
        2 * cut.spaces,
        2 * cut.hold_spaces,
        2 * cut.rest_spaces,
    )
    assert pair.margin_cents == 2 * cut.margin_cents
    assert pair.hands.wrap_min == 2 * cut.hands.wrap_min
    assert scenario.weight_lb(pair) == scenario.weight_lb(cut)
    assert laid_out(scenario) == scenario


def test_the_range_of_a_pair_holds_for_both_methods(harvest: tuple[Plan, Scenario, Path]) -> None:
    _, scenario, _ = harvest
    recipe = scenario.menu.cut("pair of packer briskets").recipes[0]
    own = scenario.menu.cut("packer brisket").recipe("250 paper")
    assert recipe.name == KEYED
    assert recipe.finish.early_min < own.finish.early_min  # foil is the quicker one
    assert recipe.finish.late_min >= own.finish.late_min


def test_pairs_share_smoker_hour_and_rack_and_the_plan_passes_the_audit(harvest: tuple[Plan, Scenario, Path]) -> None:
    plan, scenario, _ = harvest
    assert audit(plan, scenario) == ()
    loads = [load for load in plan.loads if load.cut == "pair of packer briskets"]
    short = sum(s.pieces for s in plan.shorts if s.cut == "pair of packer briskets")
    assert sum(load.pieces for load in loads) + short == 3
    assert loads
    lots = lots_by_load(plan, scenario)
    assert [len(lots[load.code]) for load in loads] == [load.pieces for load in loads]


def test_no_sheet_of_the_crew_tells_the_method(harvest: tuple[Plan, Scenario, Path]) -> None:
    plan, scenario, folder = harvest
    texts = {path.name: path.read_text(encoding="utf-8") for path in folder.iterdir() if path.suffix != ".json"}
    assert set(texts) == {"crew-plan.html", "loads.csv", "shifts.ics"}
    for name, text in texts.items():
        assert "quickpaper" not in text, name
        assert "shinyfoil" not in text, name
    page = re.sub(r"<[^>]+>", " ", texts["crew-plan.html"])
    for load, lots in lots_by_load(plan, scenario).items():
        for lot in lots:
            assert page.count(f"{lot.left.code} left, {lot.right.code} right") >= 3  # load, wrap, label
        assert not re.search(rf"Wrap {load} in ", page)
        assert f"Wrap {load} {KEYED}" in page
        assert f"Wrap {load} {KEYED}" in texts["shifts.ics"].replace("\r\n ", "")


def test_meat_is_bought_by_the_piece(harvest: tuple[Plan, Scenario, Path]) -> None:
    plan, scenario, folder = harvest
    plain, kitchen = folded(plan, scenario)
    assert all(load.cut != "pair of packer briskets" for load in plain.loads)
    pieces = Counter(load.cut for load in plain.loads for _ in range(load.pieces))
    before = Counter(load.cut for load in plan.loads for _ in range(load.pieces))
    assert pieces["packer brisket"] == before["packer brisket"] + 2 * before["pair of packer briskets"]
    assert sum(w.pieces for w in kitchen.weekend.waves if w.cut == "packer brisket") == sum(
        w.pieces for w in read_scenario(folder.parent / "harvest-weekend").weekend.waves if w.cut == "packer brisket"
    )
    waves = [(wave.cut, wave.at) for wave in kitchen.weekend.waves]
    assert len(waves) == len(set(waves)), "the pairs and what they left of their wave are one wave again"
    told = CliRunner().invoke(app, ["buy", str(folder)]).output
    assert "pair of" not in told


def _trial(pairs: int = 6, seed: int = 1) -> Trial:
    methods = (Method(label="a"), Method(label="b"))
    return Trial(name="x", cut="c", at="2026-06-13T11:00:00", pairs=pairs, methods=methods, seed=seed)  # type: ignore[arg-type]


def test_sides_are_even_and_codes_are_apart() -> None:
    for pairs in (1, 2, 5, 12, 50):
        lots = pair_lots(_trial(pairs))
        lefts = Counter(lot.left.side for lot in lots)
        assert abs(lefts[0] - lefts[1]) <= 1
        assert all({lot.left.side, lot.right.side} == {0, 1} for lot in lots)
        codes = [code for lot in lots for code in lot.codes]
        assert len(set(codes)) == 2 * pairs
        assert all(re.fullmatch(r"[1-9]\d\d", code) for code in codes)
    assert pair_lots(_trial(seed=1)) != pair_lots(_trial(seed=2))
    assert pair_lots(_trial()) == pair_lots(_trial())


def test_serving_orders_are_balanced_and_do_not_depend_on_the_number_of_tasters() -> None:
    forms = tasting_forms(_trial(), 24)
    assert forms[:7] == tasting_forms(_trial(), 7)
    assert Counter(form.samples[0].side for form in forms) == {0: 12, 1: 12}
    orders = Counter("".join("AB"[blind.side] for blind in form.triangle) for form in forms)
    assert orders == dict.fromkeys(TRIANGLES, 4)
    assert Counter(form.pair for form in forms) == dict.fromkeys(range(1, 7), 4)
    for form in forms:
        assert len({blind.code for blind in (*form.samples, *form.triangle)}) == 5
        assert [blind.side for blind in form.triangle].count(form.odd.side) == 1


def scored(trial: Trial, tasters: int, right: int, second: int, lift: int) -> str:
    """Scores of a tasting: so many find the odd one, so many prefer the second method and mark it higher by `lift`."""
    lines = ["form,prefers,odd," + ",".join(f"{w}_{s}" for w in ("first", "second") for s in SCALES)]
    for form in tasting_forms(trial, tasters):
        likes = 1 if form.number <= second else 0
        prefers = next(b.code for b in form.samples if b.side == likes)
        wrong = next(b.code for b in form.triangle if b is not form.odd)
        odd = form.odd.code if form.number <= right else wrong
        marks = [str(5 + lift * blind.side + (form.number + i) % 2) for blind in form.samples for i in range(4)]
        lines.append(",".join([str(form.number), prefers, odd, *marks]))
    return "\n".join(lines) + "\n"


def test_sheet_and_result_from_the_command_line(harvest: tuple[Plan, Scenario, Path], tmp_path: Path) -> None:
    _, scenario, folder = harvest
    run = CliRunner()
    done = run.invoke(app, ["trial-sheet", str(folder), "--out", str(tmp_path), "--tasters", "18"])
    assert done.exit_code == 0, done.output
    forms = (tmp_path / "tasting-forms.html").read_text(encoding="utf-8")
    assert forms.count("Tasting form ") == 18
    assert "quickpaper" not in forms
    assert "foil" not in forms
    assert "shinyfoil" in (tmp_path / "trial-key.html").read_text(encoding="utf-8")
    trial = scenario.weekend.trials[0]
    (tmp_path / "scores.csv").write_text(scored(trial, 18, right=10, second=14, lift=2), encoding="utf-8")
    assert run.invoke(app, ["trial-sheet", str(folder), "--out", str(tmp_path)]).exit_code == 0
    log = tmp_path / "log.jsonl"
    for lot in pair_lots(trial):
        for side, cooked in ((0, 6.0 + 0.1 * lot.number), (1, 6.6 + 0.11 * lot.number)):
            at = scenario.weekend.timeline.moment(600 + 10 * lot.number - 30 * side)
            code = lot.code_of(side)
            append_event(log, PieceSeen(at=at, code=code, raw_lb=11.5))
            append_event(log, PieceSeen(at=at, code=code, cooked_lb=cooked, done=at))
    words = ["trial-result", str(folder), "--scores", str(tmp_path / "scores.csv"), "--log", str(log)]
    told = run.invoke(app, words)
    assert told.exit_code == 0, told.output
    assert "10 of 18 found the odd one" in told.output
    assert "14 for shinyfoil. shinyfoil is preferred" in told.output
    assert "shinyfoil is marked higher" in told.output
    data = json.loads(run.invoke(app, [*words, "--json"]).output)
    assert data["triangle"]["needed"] == 10
    assert data["measured"][0]["count"] == 3
    assert data["measured"][1]["result"]["mean"] == pytest.approx(-30)


def test_one_pair_shows_nothing_of_the_methods(tmp_path: Path) -> None:
    trial = _trial(pairs=1)
    (tmp_path / "s.csv").write_text(scored(trial, 12, 12, 12, 2), encoding="utf-8")
    found = trial_result(trial, read_scores(tmp_path / "s.csv"), Log())
    assert found.triangle.clear
    assert found.preference.clear
    text = " ".join(result_lines(found))
    assert "May not be concluded: that it holds for the methods." in text
    (tmp_path / "s.csv").write_text(scored(trial, 12, 4, 6, 0), encoding="utf-8")
    text = " ".join(result_lines(trial_result(trial, read_scores(tmp_path / "s.csv"), Log())))
    assert "May be concluded: nothing yet." in text
    assert "does not show that there is none" in text


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ("pairs = 3", "pairs = 40", "80 pieces, and the wave has"),
        ("2026-06-13T11:00:00", "2026-06-13T11:30:00", "has no wave at Sat 2026-06-13 11:30"),
        ('recipe = "250 paper"', 'recipe = "250 papers"', 'has no recipe "250 papers"'),
        ('cut = "packer brisket"', 'cut = "brisket"', 'no cut is called "brisket"'),
        ('label = "shinyfoil"', 'label = "quickpaper"', 'both methods are called "quickpaper"'),
        ('wrap_kind = "foil"', 'wrap_kind = "tin"', '"tin" is not'),
    ],
)
def test_a_trial_that_cannot_be_is_told(tmp_path: Path, old: str, new: str, sentence: str) -> None:
    folder = with_trial(copy_of("harvest-weekend", tmp_path), TRIAL.replace(old, new))
    done = CliRunner().invoke(app, ["plan", str(folder), "--out", str(tmp_path / "out")])
    assert done.exit_code == 2
    assert sentence in done.output


def test_bad_scores_are_told(tmp_path: Path, harvest: tuple[Plan, Scenario, Path]) -> None:
    _, scenario, folder = harvest
    lines = scored(scenario.weekend.trials[0], 3, 1, 1, 0).splitlines()
    lines[1] = lines[1].rsplit(",", 1)[0] + ",12"
    lines[2] = "two" + lines[2][1:]
    (tmp_path / "s.csv").write_text("\n".join(lines), encoding="utf-8")
    done = CliRunner().invoke(app, ["trial-result", str(folder), "--scores", str(tmp_path / "s.csv")])
    assert done.exit_code == 2
    assert '"12" is not from 1 to 9' in done.output
    assert '"two" is no number of a form' in done.output


def test_the_written_plan_can_be_read_and_audited(harvest: tuple[Plan, Scenario, Path]) -> None:
    plan, scenario = read_pair(harvest[2])
    assert audit(plan, scenario) == ()
    assert CliRunner().invoke(app, ["audit", str(harvest[2])]).exit_code == 0


def test_a_laid_out_scenario_is_sound(harvest: tuple[Plan, Scenario, Path]) -> None:
    assert problems_in(harvest[1]) == ()
