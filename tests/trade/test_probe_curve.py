"""The rounds of the crew: what the probe should read, and what a reading says."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.trade.cooking import Conditions
from scheduler.trade.cut_heat import CUT_HEAT, CutHeat
from scheduler.trade.probe_curve import come_up, come_up_breach, probe_curve, read_probe

BRISKET = CUT_HEAT["packer brisket"]


@given(st.sampled_from(list(CUT_HEAT.values())), st.floats(225, 300), st.sampled_from([10, 15, 30, 60]))
@settings(max_examples=15, deadline=None)
def test_rounds_are_in_order(cut: CutHeat, pit_f: float, every: int) -> None:
    curve = probe_curve(cut, Conditions(pit_f=pit_f), every)
    assert [row.minute for row in curve.rows] == list(range(0, curve.rows[-1].minute + 1, every))
    assert curve.rows[-1].minute >= curve.done.late_min > curve.rows[-2].minute
    for row in curve.rows:
        assert row.slow_f <= row.likely_f + 1e-9 <= row.quick_f + 2e-9
        assert row.quick_f <= curve.done_f + 1e-9
    assert curve.rows[0].likely_f == 38
    assert curve.rows[-1].slow_f == pytest.approx(curve.done_f, abs=0.5)


def test_the_wrap_shows_in_the_rounds() -> None:
    curve = probe_curve(BRISKET)
    assert curve.wrap is not None
    first = next(row.minute for row in curve.rows if row.wrapped)
    assert first - 30 <= curve.wrap.likely_min <= first
    assert not any(row.wrapped for row in probe_curve(BRISKET, Conditions(wrap="none")).rows)


def test_a_reading_on_the_curve_is_on_time_and_off_it_is_not() -> None:
    curve = probe_curve(BRISKET, every_min=60)
    for row in curve.rows[2:10]:
        assert read_probe(BRISKET, Conditions(), row.minute, row.likely_f).verdict == "on time"
    row = curve.rows[4]
    late = read_probe(BRISKET, Conditions(), row.minute, row.slow_f - 10)
    early = read_probe(BRISKET, Conditions(), row.minute, row.quick_f + 10)
    assert (late.verdict, early.verdict) == ("late", "early")
    assert early.done_min < curve.done.likely_min < late.done_min
    assert "behind the plan" in late.sentence(curve.done)
    assert "ahead of the plan" in early.sentence(curve.done)
    assert read_probe(BRISKET, Conditions(), row.minute, row.likely_f).sentence(curve.done) == "on time"


def test_a_reading_before_loading_or_rounds_too_close_are_refused() -> None:
    with pytest.raises(ValueError, match="minute since loading"):
        read_probe(BRISKET, Conditions(), 0, 40)
    with pytest.raises(ValueError, match="apart"):
        probe_curve(BRISKET, every_min=0)


def test_come_up_of_intact_meat_is_judged_by_its_surface() -> None:
    times = come_up(BRISKET, Conditions(pit_f=225))
    assert times.surface_min < times.centre.early_min < times.centre.likely_min < times.centre.late_min
    assert come_up_breach(BRISKET, Conditions(pit_f=225)) is None
    assert times.centre.late_min > 360
    assert "more than 6" in (come_up_breach(BRISKET, Conditions(pit_f=225), intact=False) or "")
    assert come_up_breach(CUT_HEAT["sausage"], Conditions(pit_f=225), intact=False) is None
