"""Each small check: one case that is fine, one at the limit, one beyond it."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.trade import food_safety as fs
from scheduler.trade.lethality import SPECIES, Species, end_to_end_z_f, kill_per_min, least_seconds, lethality_share


def test_every_rule_explains_itself_with_source_caution_and_deferral() -> None:
    for code, rule in fs.RULES.items():
        text = fs.explain(code.lower())
        assert text.splitlines()[0] == f"{code}: {rule.title}"
        assert f"Source: {rule.source}." in text
        assert rule.caution in text
        assert text.endswith(fs.DEFERS)
    with pytest.raises(KeyError):
        fs.explain("WEATHER")


def test_cooking_temperatures() -> None:
    assert fs.cook_breach("intact meat", 145, 15) is None
    assert "145 F for 15 s" in (fs.cook_breach("intact meat", 145, 14) or "")
    for temp_f, held_s in ((145, 180), (150, 60), (155, 17), (158, 0)):
        assert fs.cook_breach("comminuted", temp_f, held_s) is None
    assert fs.cook_breach("comminuted", 155, 16) is not None
    assert fs.cook_breach("poultry", 165, 0) is None
    assert fs.cook_breach("poultry", 164.9, 600) is not None


@pytest.mark.parametrize(
    ("good", "bad"),
    [
        (fs.come_up_breach(360), fs.come_up_breach(361)),
        (fs.hot_hold_breach(135), fs.hot_hold_breach(134.9)),
        (fs.hot_hold_breach(130, qualifying_roast=True), fs.hot_hold_breach(129.9, qualifying_roast=True)),
        (fs.cold_hold_breach(41), fs.cold_hold_breach(41.1)),
        (fs.time_control_breach(135, 240), fs.time_control_breach(135, 241)),
        (fs.time_control_breach(41, 240), fs.time_control_breach(41, 241)),
        (fs.time_control_breach(41, 360, warmest_f=70), fs.time_control_breach(41, 360, warmest_f=70.1)),
        (None, fs.time_control_breach(135, 360, warmest_f=70)),
        (None, fs.time_control_breach(120, 10)),
        (fs.reheat_breach(165, 15, 120), fs.reheat_breach(164, 15, 120)),
        (fs.reheat_breach(135, 0, 120, packaged=True), fs.reheat_breach(165, 14, 120)),
        (None, fs.reheat_breach(165, 15, 121)),
        (fs.non_continuous_breach(60), fs.non_continuous_breach(61)),
        (fs.thaw_breach(240, 70), fs.thaw_breach(240, 71)),
        (fs.thaw_breach(0), fs.thaw_breach(241)),
        (fs.tallow_breach(170, 30), fs.tallow_breach(169, 60)),
        (None, fs.tallow_breach(180, 29)),
    ],
)
def test_limits_hold_on_the_limit_and_break_beyond(good: str | None, bad: str | None) -> None:
    assert good is None
    assert bad is not None
    assert "CFR" in bad or "Food Code" in bad or "FSIS" in bad
    assert bad.count("(") == bad.count(")")


def test_cooling_stages() -> None:
    assert fs.cooling_breaches(120, 360) == []
    assert len(fs.cooling_breaches(121, 360)) == 1
    assert len(fs.cooling_breaches(120, None)) == 1
    assert len(fs.cooling_breaches(None, None)) == 2


def test_date_marking_counts_the_cook_day_as_day_1() -> None:
    cooked = date(2026, 4, 18)
    assert fs.last_day(cooked) == date(2026, 4, 24)
    assert fs.date_mark_breach(cooked, date(2026, 4, 24)) is None
    assert fs.date_mark_breach(cooked, date(2026, 4, 25)) is not None
    assert fs.date_mark_breach(None, cooked) is not None


@given(st.sampled_from(SPECIES), st.floats(100, 200), st.floats(0, 20))
def test_hotter_never_asks_for_longer_and_never_kills_slower(species: Species, temp_f: float, more_f: float) -> None:
    here, hotter = least_seconds(species, temp_f), least_seconds(species, temp_f + more_f)
    if here is not None:
        assert hotter is not None
        assert hotter <= here
    rates = kill_per_min(species, [temp_f, temp_f + more_f])
    assert rates[1] >= rates[0] * (1 - 1e-12)


@given(st.sampled_from(SPECIES), st.lists(st.floats(60, 175), min_size=1, max_size=30))
def test_lethality_only_grows(species: Species, temps_f: list[float]) -> None:
    share = lethality_share(species, [2.0 * i for i in range(len(temps_f))], temps_f)
    assert len(share) == len(temps_f)
    assert all(later >= earlier for earlier, later in pairwise(share))


def test_a_single_instant_reading_is_lethal_and_a_hair_below_it_is_not() -> None:
    assert lethality_share("meat", [0.0], [158.0])[-1] == 1.0
    assert lethality_share("meat", [0.0], [157.9])[-1] == 0.0


def test_bad_questions_are_refused() -> None:
    with pytest.raises(ValueError, match="log"):
        least_seconds("meat", 150, target_log=6)
    with pytest.raises(ValueError, match="7-log"):
        least_seconds("chicken", 150, target_log=6.5)
    with pytest.raises(ValueError, match="per cent"):
        least_seconds("chicken", 150, fat_pct=-1)
    with pytest.raises(ValueError, match="species"):
        least_seconds("fish", 150)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="same length"):
        lethality_share("meat", [0, 1], [150])


def test_between_two_readings_the_kill_is_that_of_a_straight_line() -> None:
    coarse = lethality_share("meat", [0.0, 1.0], [150.0, 151.0])[-1]
    minutes = [i / 200 for i in range(201)]
    fine = lethality_share("meat", minutes, [150.0 + minute for minute in minutes])[-1]
    assert coarse == pytest.approx(fine, rel=1e-4)
    low, high = kill_per_min("meat", [150.0, 151.0])
    assert low < coarse < high


def test_a_slope_needs_timed_rows() -> None:
    with pytest.raises(ValueError, match="no timed rows"):
        end_to_end_z_f("meat", 120, 150)
