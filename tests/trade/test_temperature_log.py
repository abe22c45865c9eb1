"""The log check: for every rule a record that keeps it and one that breaks it, and at which minute."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.errors import InputError
from scheduler.trade.food_safety import RULES
from scheduler.trade.lethality import SPECIES, Species
from scheduler.trade.log_file import MOST_PROBLEMS, read_log
from scheduler.trade.log_record import MOST_PER_RULE, Record, steady_min
from scheduler.trade.temperature_log import Finding, LogSettings, check_log

COOKED = LogSettings(cooked_at_start=True)


def trace(*corners: tuple[float, float], every: float = 5.0) -> np.ndarray:
    """Readings every few minutes along straight lines between (minute, F) corners."""
    at, temp = zip(*corners, strict=True)
    minutes = np.arange(at[0], at[-1] + every / 2, every)
    return np.column_stack((minutes, np.interp(minutes, at, temp)))


def breaches(found: Iterable[Finding]) -> list[tuple[str, float]]:
    return [(f.code, f.from_min) for f in found if f.severity == "breach"]


GOOD_COOK = ((0.0, 38.0), (300.0, 140.0), (700.0, 203.0))


def test_a_good_cook_rest_and_hold_has_no_findings() -> None:
    assert check_log(trace(*GOOD_COOK, (820.0, 150.0), (1200.0, 145.0))) == []


def test_one_reading_is_a_record() -> None:
    assert breaches(check_log([(0.0, 203.0)])) == [("COOK", 0.0)]
    assert breaches(check_log([(0.0, 150.0)], COOKED)) == []


def test_never_lethal() -> None:
    found = check_log(trace((0, 38), (300, 125)))
    assert breaches(found) == [("LETHALITY", 0.0)]
    assert "0% of the time" in found[0].sentence


def test_come_up_names_the_minute_after_six_hours() -> None:
    # 50 F is passed at minute 50, 130 F would be at 450: six hours are over at minute 410, seen at the reading 415.
    found = check_log(trace((0, 40), (500, 140), (700, 200)))
    assert breaches(found) == [("COME-UP", 415.0)]
    assert breaches(check_log(trace((0, 40), (440, 140), (700, 200)))) == []


def test_a_record_that_starts_warm_is_noted() -> None:
    found = check_log(trace((0, 60), (300, 140), (700, 203)))
    assert [(f.code, f.severity) for f in found] == [("COME-UP", "note")]


def test_raw_meat_left_between_41_and_50() -> None:
    assert breaches(check_log(trace((0, 45), (300, 46), (600, 203)))) == [("COLD-HOLD", 245.0)]
    assert breaches(check_log(trace((0, 45), (200, 46), (600, 203)))) == []


def test_hot_holding_lapse_with_its_minutes() -> None:
    rows = trace(*GOOD_COOK, (800, 140), (850, 130), (900, 140))
    found = check_log(rows)
    assert breaches(found) == [("HOT-HOLD", 830.0)]
    assert found[0].to_min == 875
    assert "lowest 130 F" in found[0].sentence
    assert found[0].line().startswith("minute 830: HOT-HOLD: below 135 F from minute 830 to minute 875")
    assert breaches(check_log(rows, LogSettings(qualifying_roast=True))) == []


def test_lapses_close_together_are_told_once() -> None:
    hold = [(0, 140), (10, 134), (20, 140), (30, 134), (40, 140), (120, 134), (130, 140)]
    found = check_log(hold, COOKED)
    assert [(f.from_min, f.to_min) for f in found if f.severity == "breach"] == [(10, 40), (120, 130)]
    assert "20 min in all" in found[0].sentence


def test_left_to_go_cold() -> None:
    rows = trace((0, 150), (30, 135), (500, 80), every=10.0)
    assert breaches(check_log(rows, COOKED)) == [("HOT-HOLD", 30.0), ("COOL-2H", 150.0), ("COOL-6H", 390.0)]


def test_cooling_in_time_and_too_late() -> None:
    good = trace((0, 140), (10, 135), (125, 70), (365, 41), (400, 38))
    assert breaches(check_log(good, COOKED)) == []
    slow_start = trace((0, 140), (10, 135), (140, 70), (365, 41), (400, 38))
    assert breaches(check_log(slow_start, COOKED)) == [("COOL-2H", 130.0)]
    slow_end = trace((0, 140), (10, 135), (125, 70), (400, 41), (420, 38))
    assert breaches(check_log(slow_end, COOKED)) == [("COOL-6H", 370.0)]


def test_cooling_not_yet_due_is_not_called_late() -> None:
    assert breaches(check_log(trace((0, 140), (60, 100)), COOKED)) == [("HOT-HOLD", 10.0 / 2)]


def test_time_control() -> None:
    hold = trace((0, 150), (60, 140), (280, 80))
    inside = LogSettings(cooked_at_start=True, time_control_from_min=60)
    assert breaches(check_log(hold, inside)) == []
    longer = trace((0, 150), (60, 140), (400, 70))
    assert breaches(check_log(longer, inside)) == [("TIME-4H", 300.0)]
    too_cold = LogSettings(cooked_at_start=True, time_control_from_min=100)
    assert ("TIME-4H", 100.0) in breaches(check_log(hold, too_cold))


def test_reheating() -> None:
    good = trace((0, 38), (10, 40), (110, 170), (200, 150))
    assert breaches(check_log(good, COOKED)) == []
    slow = trace((0, 38), (10, 40), (150, 170), (200, 150))
    assert breaches(check_log(slow, COOKED)) == [("REHEAT", 130.0)]
    low = trace((0, 38), (10, 40), (60, 150), (300, 150))
    assert breaches(check_log(low, COOKED)) == [("REHEAT", 130.0)]


def test_cold_holding_lapses() -> None:
    assert breaches(check_log(trace((0, 38), (60, 38), (80, 48), (100, 38), (120, 38)), COOKED)) == [
        ("COLD-HOLD", 70.0)
    ]
    assert breaches(check_log(trace((0, 38), (60, 41), (80, 48)), COOKED)) == [("COLD-HOLD", 60.0)]


def test_break_in_cooking_beyond_60_minutes_is_refused() -> None:
    short = trace((0, 38), (60, 120), (120, 70), (200, 38), (300, 38), (500, 170))
    assert breaches(check_log(short)) == []
    long = trace((0, 38), (100, 120), (160, 70), (240, 38), (300, 38), (500, 170))
    found = breaches(check_log(long))
    assert [code for code, _ in found] == ["NON-CONT"]
    slow = trace((0, 38), (60, 120), (300, 70), (500, 38), (540, 38), (700, 170))
    assert {code for code, _ in breaches(check_log(slow))} == {"COME-UP", "COOL-2H", "COOL-6H"}


def test_date_marking_counts_days_from_the_cook() -> None:
    day = 1440.0
    week = trace((0, 150), (10, 135), (90, 70), (200, 40), (7.5 * day, 40), every=10.0)
    safe_side = check_log(week, COOKED)
    assert [(f.code, f.severity) for f in safe_side] == [("DATE-MARK", "note"), ("DATE-MARK", "breach")]
    assert safe_side[1].from_min == 6 * day
    known = check_log(week, LogSettings(cooked_at_start=True, midnight_min=0.75 * day))
    assert breaches(known) == [("DATE-MARK", 6.75 * day)]
    assert breaches(check_log(week[week[:, 0] < 6 * day], COOKED)) == []


def test_tallow() -> None:
    fat = LogSettings(species="tallow")
    assert check_log(trace((0, 40), (100, 180), (140, 180)), fat) == []
    found = check_log(trace((0, 40), (100, 169), (200, 169)), fat)
    assert breaches(found) == [("TALLOW", 0.0)]


def test_poultry_that_meets_the_table_but_not_165_is_sent_to_the_authority() -> None:
    found = check_log(trace((0, 38), (120, 156), (180, 156)), LogSettings(species="chicken"))
    assert breaches(found) == [("COOK", 120.0)]
    assert "authority" in found[0].sentence
    assert check_log(trace((0, 38), (120, 156), (150, 166)), LogSettings(species="chicken")) == []


def test_lethal_below_the_holding_minimum_on_the_way_up_is_no_lapse() -> None:
    low_and_slow = trace((0, 40), (200, 131), (320, 132), (500, 195))
    assert breaches(check_log(low_and_slow)) == []
    fell = trace((0, 40), (200, 131), (320, 132), (380, 100), (600, 195))
    assert [code for code, _ in breaches(check_log(fell))] == ["HOT-HOLD"]
    never_hot = trace((0, 40), (200, 132), (320, 132), (480, 60), (600, 40))
    assert [code for code, _ in breaches(check_log(never_hot))] == ["COOK", "COOL-2H"]


def test_gaps_are_noted_and_many_findings_are_counted() -> None:
    found = check_log([(0, 150), (31, 150), (61, 150)], COOKED)
    assert [(f.code, f.severity, f.from_min) for f in found] == [("LOG-GAP", "note", 0.0)]
    many = check_log([(60.0 * i, 150) for i in range(200)], COOKED)
    assert len(many) == MOST_PER_RULE + 1
    assert "not listed" in many[-1].sentence


@pytest.mark.parametrize(
    "rows", [[], [(0, 1, 2)], [(0, 150), (0, 150)], [(5, 150), (4, 150)], [(0, float("nan"))], [(0, float("inf"))]]
)
def test_what_is_not_a_record_is_refused(rows: list[tuple[float, ...]]) -> None:
    with pytest.raises(ValueError, match=r"record"):
        check_log(rows)


@given(
    st.lists(st.tuples(st.floats(0.5, 200), st.floats(20, 220)), min_size=1, max_size=60),
    st.sampled_from([*SPECIES, "tallow"]),
    st.booleans(),
    st.one_of(st.none(), st.floats(0, 2000)),
)
def test_any_record_is_answered_with_known_rules(
    steps: list[tuple[float, float]], species: Species, cooked: bool, control: float | None
) -> None:
    minutes = np.cumsum([step for step, _ in steps])
    rows = np.column_stack((minutes, [temp for _, temp in steps]))
    settings = LogSettings(species=species, cooked_at_start=cooked, time_control_from_min=control)
    found = check_log(rows, settings)
    assert {f.code for f in found} <= RULES.keys()
    assert all(f.from_min <= f.to_min or f.code == "TIME-4H" for f in found)
    assert all(f.sentence for f in found)


@given(st.floats(136, 200), st.floats(1, 2000))
def test_a_steady_hot_hold_breaks_nothing(temp_f: float, length_min: float) -> None:
    rows = np.column_stack((np.linspace(0, length_min, 80), np.full(80, temp_f)))
    assert breaches(check_log(rows, COOKED)) == []


def test_a_big_record_is_checked_whole() -> None:
    n = 100_000
    temps = np.full(n, 150.0)
    temps[[40_000, 99_000]] = 130.0
    found = check_log(np.column_stack((np.arange(n), temps)), COOKED)
    assert breaches(found) == [("HOT-HOLD", 40_000.0), ("HOT-HOLD", 99_000.0)]


# --- the file ----------------------------------------------------------------------------------------------------


def write(folder: Path, text: str) -> Path:
    path = folder / "probe.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_reads_minutes_and_times(tmp_path: Path) -> None:
    by_minute = read_log(write(tmp_path, "\ufeffMinute, temp_f ,who\n0,38,Ann\n\n5,40.5,Ann\n"))
    assert by_minute.tolist() == [[0, 38], [5, 40.5]]
    by_time = read_log(write(tmp_path, "temp_f,time\n38,2026-03-08T01:30-06:00\n40,2026-03-08T03:30-05:00\n"))
    assert by_time.tolist() == [[0, 38], [60, 40]]
    plain = read_log(write(tmp_path, "time,temp_f\n2026-03-08 01:30,38\n2026-03-08 01:35:30,40\n"))
    assert plain.tolist() == [[0, 38], [5.5, 40]]


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("", "there is no column minute or time"),
        ("when,temp_f\n0,38\n", "there is no column minute or time"),
        ("minute,temp\n0,38\n", "there is no column temp_f"),
        ("minute,temp_f\n", "holds no readings"),
        ("minute,temp_f\n0\n", "line 2: it has too few columns"),
        ("minute,temp_f\n0,warm\n", "line 2, temp_f: 'warm' is not a number"),
        ("minute,temp_f\n0,nan\n", "is not a number"),
        ("minute,temp_f\n0,9999\n", "9999 F cannot be"),
        ("minute,temp_f\nx,38\n", "line 2, minute: 'x' is not a number"),
        ("minute,temp_f\n5,38\n5,39\n", "line 3, minute: it is not later"),
        ("time,temp_f\nyesterday,38\n", "is not a date and time"),
        ("time,temp_f\n2026-03-08T01:30,38\n2026-03-08T01:35Z,38\n", "only some times have an offset"),
    ],
)
def test_mistakes_in_the_file_are_named(tmp_path: Path, text: str, what: str) -> None:
    with pytest.raises(InputError, match=r"probe\.csv") as caught:
        read_log(write(tmp_path, text))
    assert what in str(caught.value)


def test_other_files_are_refused_in_plain_words(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="CSV file that can be read"):
        read_log(tmp_path / "none.csv")
    path = tmp_path / "picture.csv"
    path.write_bytes(b"\xff\xfe\x00\xd8")
    with pytest.raises(InputError, match="UTF-8"):
        read_log(path)


def test_it_gives_up_after_so_many_mistakes(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        read_log(write(tmp_path, "minute,temp_f\n" + "x,y\n" * 500))
    assert len(caught.value.problems) == MOST_PROBLEMS


def test_steady_minutes_start_at_the_first_reading_that_is_warm_enough() -> None:
    record = Record(np.array([0.0, 10.0, 20.0, 30.0]), np.array([100.0, 170.0, 171.0, 160.0]), LogSettings())
    assert steady_min(record, 170.0).tolist() == [0.0, 0.0, 10.0, 0.0]


def test_raw_meat_that_warmed_a_little_and_was_chilled_again_is_no_broken_cook() -> None:
    assert breaches(check_log(trace((0, 38), (90, 60), (180, 38), (240, 38), (500, 170)))) == []
