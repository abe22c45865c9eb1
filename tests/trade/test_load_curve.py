"""The expected readings of one planned load: the plan's minutes, the model's shape, always in order."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.trade.cooking import Conditions, Span
from scheduler.trade.cut_heat import CUT_HEAT, CutHeat
from scheduler.trade.load_curve import load_curve

BRISKET = CUT_HEAT["packer brisket"]
WRAPPED = [cut for cut in CUT_HEAT.values() if cut.wrap_f is not None and cut.usual_wrap != "none"]
DONE = Span(615, 795, 975)
"""Early, likely and late of a packer brisket at 250 F, wrapped in paper from 330 to 420 min (common practice)."""


def test_each_pace_is_done_at_the_plans_minute_and_at_its_temperature() -> None:
    curve = load_curve(BRISKET, Conditions(wrap="paper", wrap_min=330, done_f=203), DONE, (330, 420))
    for course, end in ((curve.early, 615), (curve.likely, 795), (curve.late, 975)):
        assert course.done_min == pytest.approx(end)
        assert course.at(end) == pytest.approx(203, abs=0.5)
        assert course.at(end + 60) == course.at(end)
        assert course.at(0) == 38


def test_the_window_is_when_the_cut_passes_its_wrap_temperature() -> None:
    assert BRISKET.wrap_f is not None
    middle = load_curve(BRISKET, Conditions(wrap="paper", wrap_min=375), DONE, (330, 420))
    assert middle.likely.at(375) == pytest.approx(BRISKET.wrap_f[1], abs=1)
    first = load_curve(BRISKET, Conditions(wrap="paper", wrap_min=330), DONE, (330, 420))
    low, _, high = BRISKET.wrap_f
    assert low <= first.likely.at(330) <= high
    assert first.late.at(330) < first.likely.at(330) < first.early.at(330)


def test_an_unwrapped_load_is_stretched_as_a_whole() -> None:
    ribs = CUT_HEAT["beef plate ribs"]
    curve = load_curve(ribs, Conditions(wrap="none"), Span(400, 480, 600))
    for share in (0.2, 0.5, 0.9):
        readings = [course.at(course.done_min * share) for course in (curve.early, curve.likely, curve.late)]
        assert max(readings) - min(readings) < 0.2


def test_minutes_between_two_temperatures() -> None:
    curve = load_curve(BRISKET, Conditions(wrap="paper", wrap_min=330), DONE, (330, 420))
    took = curve.likely.minutes_between(50, 130)
    at_130 = float(np.interp(130, curve.likely.centre_f, curve.likely.minutes))
    assert 0 < took < at_130
    assert curve.early.minutes_between(50, 130) < took < curve.late.minutes_between(50, 130)


def test_a_wrap_after_the_early_end_leaves_that_course_bare() -> None:
    curve = load_curve(BRISKET, Conditions(wrap="paper", wrap_min=640), Span(600, 795, 975), (330, 660))
    assert curve.early.done_min == 600


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="no time"):
        load_curve(BRISKET, Conditions(), Span(0, 10, 20))
    with pytest.raises(ValueError, match="outside 180 to 400"):
        load_curve(BRISKET, Conditions(pit_f=500), DONE)


@given(
    st.sampled_from(WRAPPED),
    st.integers(230, 290),
    st.floats(0.3, 0.7),
    st.floats(0, 0.15),
    st.floats(0.6, 0.95),
    st.floats(1.05, 1.5),
)
@settings(max_examples=40, deadline=None)
def test_late_is_never_hotter_than_likely_nor_likely_than_early(
    cut: CutHeat, pit_f: int, wrap: float, wide: float, early: float, late: float
) -> None:
    likely_min = 60 * 4 + round(600 * (cut.half_thickness_m / 0.0578) ** 2)
    window = (likely_min * (wrap - wide / 2), likely_min * (wrap + wide / 2))
    wrap_min = round(window[0])
    done = Span(round(max(likely_min * early, wrap_min + 20)), likely_min, round(likely_min * late))
    curve = load_curve(cut, Conditions(pit_f=pit_f, wrap=cut.usual_wrap, wrap_min=wrap_min), done, window)
    for minute in range(0, done.late_min + 30, 15):
        assert curve.late.at(minute) <= curve.likely.at(minute) + 1.5
        assert curve.likely.at(minute) <= curve.early.at(minute) + 1.5
