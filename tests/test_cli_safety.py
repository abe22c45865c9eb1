"""The safety command: rules explained, logs checked, exit status, and what it says where."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from scheduler.cli import app
from scheduler.trade.food_safety import DEFERS, RULES
from scheduler.trade.lethality import least_seconds
from scheduler.trade.safety_figures import SHOWN_F, figures

GOOD = ((0, 38), (30, 60), (60, 90), (90, 110), (120, 130), (150, 150), (180, 160), (210, 175), (240, 203), (260, 190))
SLOW = tuple((minute, 38 + minute / 5) for minute in range(0, 800, 20))


def run(*words: object) -> Result:
    return CliRunner().invoke(app, ["safety", *(str(word) for word in words)])


def log(folder: Path, rows: tuple[tuple[float, float], ...], head: str = "minute,temp_f") -> Path:
    file = folder / "log.csv"
    file.write_text("\n".join([head, *(f"{minute:g},{temp_f:g}" for minute, temp_f in rows)]), encoding="utf-8")
    return file


def test_all_rules_are_listed_a_line_each() -> None:
    result = run()
    assert result.exit_code == 0
    lines = result.stdout.splitlines()
    assert [line.split()[0] for line in lines[: len(RULES)]] == list(RULES)
    assert all(rule.title in line for rule, line in zip(RULES.values(), lines, strict=False))
    assert lines[-1].endswith(DEFERS)
    assert max(map(len, lines[: len(RULES)])) <= 80


@pytest.mark.parametrize("code", RULES)
def test_one_rule_has_its_figure_source_caution_and_whom_it_defers_to(code: str) -> None:
    result = run(code.lower())
    assert result.exit_code == 0
    lines = result.stdout.splitlines()
    assert lines[0] == f"{code}: {RULES[code].title}"
    assert any(line.startswith("Source: ") for line in lines)
    assert any(line.startswith("Caution: ") for line in lines)
    assert lines[-1] == DEFERS
    assert DEFERS.startswith("Your local authority's rule comes first")


def test_printed_times_at_temperature_are_those_of_the_table() -> None:
    _, *rows = figures("LETHALITY")
    assert len(rows) == len(SHOWN_F)
    assert least_seconds("meat", 145) == 240
    assert "145 F: 4.0 min | 13.0 min, 13.8 min" in rows
    assert "158 F: at once | 26.9 s, 40.9 s" in rows
    assert figures("THAW") == ()


def test_rules_as_json() -> None:
    assert [rule["code"] for rule in json.loads(run("--json").stdout)] == list(RULES)
    one = json.loads(run("cook", "--json").stdout)
    assert one["code"] == "COOK"
    assert one["source"] == RULES["COOK"].source
    assert one["defers"] == DEFERS


def test_a_rule_that_is_not_one_is_a_sentence_with_the_mend() -> None:
    result = run("comeup")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.startswith("safety: comeup: there is no such rule; ")
    assert result.stderr.rstrip().endswith(".")


def test_a_log_that_keeps_every_rule(tmp_path: Path) -> None:
    result = run("--log", log(tmp_path, GOOD))
    assert result.exit_code == 0, result.stdout
    assert result.stdout.splitlines() == ["No breach in 10 readings.", DEFERS]


def test_a_log_that_breaks_one_says_which_minute_breaks_what(tmp_path: Path) -> None:
    # 50 F at minute 60, so 6 hours are over at minute 420; seen at the reading after, 440.
    result = run("--log", log(tmp_path, SLOW))
    assert result.exit_code == 1
    told = result.stdout.splitlines()
    assert told[0] == "1 breach in 40 readings."
    assert told[1].startswith(
        "Minute 440: COME-UP: by minute 440 it had spent more than 6 hours between 50 °F and 130 °F"
    )
    assert result.stderr == ""


def test_a_log_as_json(tmp_path: Path) -> None:
    result = run("--log", log(tmp_path, SLOW), "--json")
    assert result.exit_code == 1
    data = json.loads(result.stdout)
    assert (data["readings"], data["breaches"]) == (40, 1)
    [found] = data["findings"]
    assert (found["code"], found["severity"], found["from_min"]) == ("COME-UP", "breach", 440.0)


def test_what_the_log_is_of_decides(tmp_path: Path) -> None:
    peak_146 = ((0, 38), (30, 80), (60, 110), (90, 135), (120, 140), (150, 146), (151, 146))
    file = log(tmp_path, peak_146)
    assert run("--log", file).exit_code == 0
    for more in (("--not-intact",), ("--of", "chicken"), ("--of", "chicken", "--not-intact")):
        result = run("--log", file, *more)
        assert result.exit_code == 1
        assert "COOK" in result.stdout, more
    assert "170 °F or above" in run("--log", file, "--of", "tallow").stdout


def test_cooked_before_and_time_control(tmp_path: Path) -> None:
    standing = tuple((minute, 150 - minute / 5) for minute in range(0, 270, 30))
    file = log(tmp_path, standing)
    assert run("--log", file, "--cooked").exit_code == 1
    within = run("--log", log(tmp_path, standing), "--cooked", "--time-from", "0")
    assert within.exit_code == 0, within.stdout
    late = run("--log", log(tmp_path, (*standing, (270, 96))), "--cooked", "--time-from", "0")
    assert late.exit_code == 1
    assert "from minute 240 it is older than 4 hours: discard" in late.stdout


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("minute,temp_f\n0,38\n5,hot\n", "log.csv: line 3, temp_f: 'hot' is not a number; write degrees F as a number"),
        ("minute,heat\n0,38\n", "log.csv: line 1, temp_f: there is no column temp_f; name the columns minute,temp_f."),
        ("minute,temp_f\n", "log.csv: it holds no readings; add a line for each reading."),
        ("minute,temp_f\n5,38\n4,39\n", "log.csv: line 3, minute: it is not later than the line before; "),
    ],
)
def test_a_bad_log_is_one_sentence_with_file_line_field_and_mend(text: str, told: str, tmp_path: Path) -> None:
    file = tmp_path / "log.csv"
    file.write_text(text, encoding="utf-8")
    result = run("--log", file)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.startswith(told)
    assert len(result.stderr.splitlines()) == 1


def test_a_missing_log_and_a_rule_beside_a_log_are_status_2(tmp_path: Path) -> None:
    assert run("--log", tmp_path / "none.csv").exit_code == 2
    result = run("cook", "--log", log(tmp_path, GOOD))
    assert result.exit_code == 2
    assert result.stderr.endswith("give one of the two.\n")
