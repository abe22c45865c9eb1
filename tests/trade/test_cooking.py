"""The cook-time curve moves the right way, its reasons add up, and what makes no sense is refused."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.trade.cook_trace import trace
from scheduler.trade.cooking import (
    NIGHTS,
    Conditions,
    Night,
    cook_span,
    course_of,
    estimate,
    half_thickness_m,
    resolved,
    signed_minutes,
    stretch,
)
from scheduler.trade.cut_heat import CUT_HEAT, WRAPS, CutHeat, Wrap

BRISKET = CUT_HEAT["packer brisket"]
CUTS = st.sampled_from(list(CUT_HEAT.values()))
PITS = st.floats(225, 325)
SIZES = st.floats(0.6, 1.6)
FEW = settings(max_examples=20, deadline=None)


def how(cut: CutHeat, size: float = 1.0, pit_f: float = 250.0, wrap: Wrap | None = None) -> Conditions:
    return Conditions(weight_lb=cut.weight_lb * size, pit_f=pit_f, wrap=wrap)


@given(CUTS, SIZES, PITS, st.floats(0, 1), st.sampled_from(NIGHTS))
@FEW
def test_early_likely_late_are_in_order(cut: CutHeat, size: float, pit_f: float, fullness: float, night: Night) -> None:
    load = replace(how(cut, size, pit_f), fullness=fullness, night=night)
    found = estimate(cut, load)
    for span in filter(None, (found.smoke, found.finish, found.total)):
        assert 0 < span.early_min <= span.likely_min <= span.late_min
    assert cook_span(cut, load) == found.total
    assert found.usual_min + sum(reason.delta_min for reason in found.reasons) == found.total.likely_min


@given(CUTS, SIZES, PITS, st.floats(1.05, 1.5))
@FEW
def test_heavier_is_longer(cut: CutHeat, size: float, pit_f: float, more: float) -> None:
    light, heavy = cook_span(cut, how(cut, size, pit_f)), cook_span(cut, how(cut, size * more, pit_f))
    assert heavy.likely_min > light.likely_min
    assert heavy.early_min >= light.early_min
    assert heavy.late_min >= light.late_min


@given(CUTS, st.floats(0.5, 1.3), PITS, st.floats(1.03, 1.3))
@FEW
def test_thicker_is_longer(cut: CutHeat, size: float, pit_f: float, more: float) -> None:
    thin = Conditions(thickness_in=cut.thickness_in * size, pit_f=pit_f)
    thick = Conditions(thickness_in=cut.thickness_in * size * more, pit_f=pit_f)
    assert cook_span(cut, thick).likely_min > cook_span(cut, thin).likely_min


@given(CUTS, SIZES, PITS, st.floats(5, 75))
@FEW
def test_hotter_is_shorter(cut: CutHeat, size: float, pit_f: float, more_f: float) -> None:
    cool, hot = cook_span(cut, how(cut, size, pit_f)), cook_span(cut, how(cut, size, pit_f + more_f))
    assert hot.likely_min < cool.likely_min
    assert hot.late_min <= cool.late_min


@given(st.sampled_from([cut for cut in CUT_HEAT.values() if cut.wrap_f]), SIZES, PITS)
@FEW
def test_the_tighter_the_wrap_the_shorter(cut: CutHeat, size: float, pit_f: float) -> None:
    times = [cook_span(cut, how(cut, size, pit_f, wrap)).likely_min for wrap in WRAPS]
    assert times == sorted(times, reverse=True)
    assert times[-1] < times[0]


@given(CUTS, st.floats(0.5, 0.9), st.floats(0.05, 0.5))
@FEW
def test_fuller_is_longer_and_less_sure(cut: CutHeat, fullness: float, more: float) -> None:
    some, full = (cook_span(cut, Conditions(fullness=share)) for share in (fullness, min(1.0, fullness + more)))
    assert full.likely_min >= some.likely_min
    assert full.late_min > some.late_min
    assert full.early_min == some.early_min
    assert cook_span(cut, Conditions(fullness=0.1)) == cook_span(cut, Conditions(fullness=0.5))


@given(CUTS, st.floats(30, 60), st.floats(5, 30))
@FEW
def test_colder_meat_is_longer(cut: CutHeat, start_f: float, more_f: float) -> None:
    warm, cold = (cook_span(cut, Conditions(start_f=f)) for f in (start_f + more_f, start_f))
    assert cold.likely_min > warm.likely_min


@given(CUTS, st.floats(140, 155), st.floats(3, 10))
@FEW
def test_more_done_is_longer(cut: CutHeat, done_f: float, more_f: float) -> None:
    assert (
        cook_span(cut, Conditions(done_f=done_f + more_f)).likely_min
        > cook_span(cut, Conditions(done_f=done_f)).likely_min
    )


def test_a_colder_night_is_longer() -> None:
    times = [cook_span(BRISKET, Conditions(night=night)) for night in NIGHTS]
    assert [t.likely_min for t in times] == sorted({t.likely_min for t in times})
    assert len({t.early_min for t in times}) == 1


def test_full_smoker_and_night_are_the_stated_allowances() -> None:
    assert stretch(0.5, "mild") == (1, 1, 1)
    assert stretch(1.0, "mild") == pytest.approx((1, 1.08, 1.20))
    assert stretch(0.75, "cold") == pytest.approx((1, 1.04 * 1.03, 1.10 * 1.06))


def test_thickness_drives_it_and_weight_only_through_thickness() -> None:
    assert half_thickness_m(BRISKET, 11.5) == BRISKET.half_thickness_m
    assert half_thickness_m(BRISKET, 11.5 * 8) == pytest.approx(2 * BRISKET.half_thickness_m)
    assert half_thickness_m(BRISKET, 99, thickness_in=4.0) == BRISKET.half_thickness_m
    flat_and_heavy = cook_span(BRISKET, Conditions(weight_lb=16, thickness_in=3.0))
    assert flat_and_heavy.likely_min < cook_span(BRISKET, Conditions(weight_lb=9)).likely_min


def test_reasons_are_lines_that_the_crew_can_read() -> None:
    found = estimate(
        BRISKET,
        Conditions(weight_lb=13.5, pit_f=275, wrap="foil", fullness=1.0, night="cold", start_f=45, done_f=200),
    )
    lines = found.lines()
    assert {line.split(": ")[1] for line in lines} == {
        "13.5 lb",
        "pit at 275 F",
        "foil",
        "smoker 100% full",
        "cold night",
        "loaded at 45 F",
        "done at 200 F",
    }
    signs = {line.split(": ")[1]: line[0] for line in lines}
    assert signs["13.5 lb"] == signs["smoker 100% full"] == signs["cold night"] == "+"
    assert signs["foil"] == signs["pit at 275 F"] == signs["loaded at 45 F"] == signs["done at 200 F"] == "-"
    deltas = [abs(reason.delta_min) for reason in found.reasons]
    assert sorted(deltas, reverse=True) == [
        abs(r.delta_min) for r in sorted(found.reasons, key=lambda r: -abs(r.delta_min))
    ]
    assert estimate(BRISKET).lines() == []
    assert estimate(BRISKET, Conditions(wrap="none")).lines()[0].endswith(": no wrap")
    assert estimate(BRISKET, Conditions(thickness_in=5)).lines()[0].endswith(": 5 in thick")


@pytest.mark.parametrize(
    ("minutes", "text"),
    [(0, "+0 min"), (45, "+45 min"), (-80, "-1 h 20"), (120, "+2 h"), (-59, "-59 min"), (61, "+1 h 01")],
)
def test_signed_minutes(minutes: int, text: str) -> None:
    assert signed_minutes(minutes) == text


def test_wrapped_and_unwrapped_stages() -> None:
    wrapped = estimate(BRISKET)
    assert wrapped.finish is not None
    assert abs(wrapped.smoke.likely_min + wrapped.finish.likely_min - wrapped.total.likely_min) <= 1
    assert wrapped.wrap_window_min is not None
    low, high = wrapped.wrap_window_min
    assert low < wrapped.smoke.likely_min < high
    bare = estimate(BRISKET, Conditions(wrap="none"))
    assert (bare.finish, bare.wrap_window_min) == (None, None)
    assert bare.smoke == bare.total


def test_wrapping_by_the_clock() -> None:
    early, late = (course_of(BRISKET, Conditions(wrap="foil", wrap_min=minute)) for minute in (240, 480))
    assert early.wrap_min == pytest.approx(240, abs=1)
    assert early.done_min < late.done_min
    never = course_of(BRISKET, Conditions(wrap="foil", wrap_min=5000))
    assert never.wrap_min is None
    assert never.done_min == course_of(BRISKET, Conditions(wrap="none")).done_min


def test_the_course_warms_from_the_surface_in_and_is_done_at_its_temperature() -> None:
    for cut in CUT_HEAT.values():
        course = course_of(cut)
        assert course.centre_f[0] == course.surface_f[0] == 38
        assert course.centre_f[-1] == pytest.approx(cut.done_f)
        assert (course.surface_f >= course.centre_f - 1e-6).all()
        assert 0 <= course.water_share < 0.5
        assert course.minute_at(37.0) == 0.0
        assert course.minute_at(999.0) == course.done_min
        assert course.minute_at(100.0) < course.minute_at(130.0)


def test_the_plateau_stands_longer_unwrapped_and_in_a_cooler_pit() -> None:
    stalls = [course_of(BRISKET, Conditions(wrap="none", pit_f=f)).band_min(150, 170) for f in (225, 250, 287.5)]
    # Common practice, no source: 2 to 6 h at 225 to 250 F, 0.5 to 3 h at 275 to 300 F.
    assert stalls == sorted(stalls, reverse=True)
    assert all(120 <= stall <= 360 for stall in stalls[:2])
    assert 30 <= stalls[2] <= 180
    wrapped = course_of(BRISKET, Conditions(wrap="foil", wrap_min=300)).band_min(150, 170)
    assert wrapped < stalls[1]


@pytest.mark.parametrize(
    ("load", "words"),
    [
        (Conditions(weight_lb=0), "weight"),
        (Conditions(thickness_in=-1), "thickness"),
        (Conditions(pit_f=100), "pit"),
        (Conditions(pit_f=450), "pit"),
        (Conditions(fullness=1.2), "fullness"),
        (Conditions(start_f=20), "thaw"),
        (Conditions(start_f=120), "not a start"),
        (Conditions(wrap_min=-5), "before loading"),
        (Conditions(pit_f=180), "does not reach"),
    ],
)
def test_what_makes_no_sense_is_refused_in_words(load: Conditions, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        estimate(BRISKET, load)


def test_a_cut_that_nobody_wraps() -> None:
    chicken = CUT_HEAT["half chicken"]
    with pytest.raises(ValueError, match="not wrapped"):
        estimate(chicken, Conditions(wrap="foil"))
    assert estimate(chicken, Conditions(wrap="foil", wrap_min=60)).finish is not None
    breast = CUT_HEAT["turkey breast"]
    assert estimate(breast, Conditions(wrap="paper")).wrap_window_min is not None
    assert trace(resolved(breast, Conditions())).wrap_min is None


def test_a_full_smoker_makes_the_late_time_a_fifth_longer() -> None:
    half, full = cook_span(BRISKET), cook_span(BRISKET, Conditions(fullness=1.0))
    assert full.late_min / half.late_min == pytest.approx(1.20, abs=0.005)
    assert full.likely_min / half.likely_min == pytest.approx(1.08, abs=0.005)


def test_a_piece_done_before_its_usual_wrap_has_no_window() -> None:
    assert estimate(BRISKET, Conditions(done_f=170)).wrap_window_min is None
