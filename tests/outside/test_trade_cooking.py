"""The cook-time curve against published points and against the trade's practice ranges.

PRACTICE is common practice, no source: hours on the pit, low / likely / high, at 225, 250, 275 and 300 F. The published
brisket points name their own source below. Where the curve misses one the test says by how much.
"""

from __future__ import annotations

import pytest

from scheduler.trade.cooking import Conditions, cook_span, course_of, estimate
from scheduler.trade.cooling import after_rest
from scheduler.trade.cut_heat import CUT_HEAT

PITS = (225, 250, 275, 300)
PRACTICE = {
    "packer brisket": ((14, 17, 20), (11, 14, 17), (9, 11, 14), (7, 8.5, 11)),
    "pork butt": ((11, 13.5, 17), (9, 11, 14), (7, 9, 11), (6, 7.5, 9)),
    "spare ribs": ((5, 6, 7.5), (4.5, 5.25, 6.5), (3.5, 4.5, 5.5), (3, 3.75, 4.5)),
    "St. Louis ribs": ((4.5, 5.5, 6.5), (4, 4.75, 5.75), (3.25, 4, 5), (2.75, 3.25, 4)),
    "beef plate ribs": ((8, 9.5, 11.5), (7, 8, 10), (5.5, 7, 8.5), (5, 6, 7)),
    "turkey breast": ((3, 4, 5), (2.25, 3, 4), (2, 2.5, 3.25), (1.5, 2, 2.75)),
    "half chicken": ((2.75, 3.25, 4), (2, 2.5, 3.25), (1.5, 2, 2.5), (1.25, 1.5, 2)),
    "sausage": ((1.5, 2.25, 3), (1, 1.5, 2.25), (0.75, 1.1, 1.5), (0.5, 0.75, 1)),
    "fat trim": ((4, 6, 8), (3, 5, 7), (2.5, 4, 6), (2, 3, 5)),
}
BRISKET = CUT_HEAT["packer brisket"]


@pytest.mark.parametrize(
    ("name", "pit_f", "hours"),
    [(name, pit_f, hours) for name, rows in PRACTICE.items() for pit_f, hours in zip(PITS, rows, strict=True)],
)
def test_practice_ranges(name: str, pit_f: float, hours: tuple[float, float, float]) -> None:
    span = cook_span(CUT_HEAT[name], Conditions(pit_f=pit_f))
    low, likely, high = hours
    assert low <= span.likely_min / 60 <= high
    assert span.early_min / 60 <= likely <= span.late_min / 60
    # The worst cell is brisket at 300 F, 11 % long.
    assert span.likely_min / 60 == pytest.approx(likely, rel=0.12)


def test_every_tuned_cut_has_its_practice_row() -> None:
    assert set(PRACTICE) == set(CUT_HEAT)


def test_brisket_stays_inside_6_to_20_hours() -> None:
    # Ordinary weights and pits; common practice, no source.
    for pit_f in PITS:
        for weight_lb in (10, 11.5, 13):
            assert 6 * 60 <= cook_span(BRISKET, Conditions(weight_lb=weight_lb, pit_f=pit_f)).likely_min <= 20 * 60


def test_published_eleven_hours_to_185_f() -> None:
    # Harris et al., Meat Muscle Biol. art. 9427 (abstract): briskets smoked over oak in a commercial oven made for
    # it, about 11 h to about 185 F. The abstract gives neither pit temperature nor weight: inside our range for an
    # unwrapped packer in an ordinary pit of 240 to 275 F.
    for pit_f in (240, 250, 260, 275):
        span = cook_span(BRISKET, Conditions(pit_f=pit_f, wrap="none", done_f=185))
        assert span.early_min <= 11 * 60 <= span.late_min


def test_published_eleven_hours_is_missed_if_the_pit_was_at_210_f() -> None:
    # A trade magazine's account of that work says "close to 210 F". For that our early time of an 11.5 lb packer is
    # 4.4 h too long, and even that of a piece of half the weight half an hour. Moist or direct heat is not in the
    # slab model.
    def early_h(weight_lb: float) -> float:
        load = Conditions(weight_lb=weight_lb, pit_f=210, wrap="none", done_f=185)
        return cook_span(BRISKET, load).early_min / 60

    assert early_h(11.5) - 11 == pytest.approx(4.4, abs=0.1)
    assert early_h(5.5) - 11 == pytest.approx(0.5, abs=0.1)


def test_published_six_to_seven_hours_to_199_f() -> None:
    # Fletcher et al., Meat Muscle Biol. art. 10963 (abstract): smoker, about 6-7 h to 93 C, n = 54; neither pit
    # temperature nor weight are given. At 300 F, the top of the usual smoker range, a trimmed 9 lb brisket covers 7
    # h, and 6 h lies half an hour below our early time; a pit of 325 F covers both.
    at_300 = cook_span(BRISKET, Conditions(weight_lb=9, pit_f=300, done_f=199))
    assert at_300.early_min <= 7 * 60 <= at_300.late_min
    assert at_300.early_min - 6 * 60 == pytest.approx(37, abs=10)
    at_325 = cook_span(BRISKET, Conditions(weight_lb=9, pit_f=325, done_f=199))
    assert at_325.early_min <= 6 * 60 <= 7 * 60 <= at_325.late_min


def test_check_value_of_the_trade_at_250_f() -> None:
    # Common practice, no source: 250 F fire, wrapped at about 170 F, pulled at about 203 F two to four hours later;
    # rested wrapped for about two hours in ambient air it is still well above the hot-holding minimum of 135 F.
    found = estimate(BRISKET, Conditions(pit_f=250))
    assert found.finish is not None
    assert 120 <= found.finish.likely_min <= 240
    assert course_of(BRISKET, Conditions(pit_f=250)).surface_f[-1] < 250
    rest = after_rest(203, 120, "wrapped")
    assert rest.quick_f > 145
    assert rest.likely_f == pytest.approx(165, abs=1)


@pytest.mark.parametrize("name", [name for name, cut in CUT_HEAT.items() if cut.usual_wrap != "none"])
def test_wrapping_saves_10_to_35_per_cent(name: str) -> None:
    # Common practice, no source: 10 / 20 / 35 % of the time.
    cut = CUT_HEAT[name]
    bare, foil = (cook_span(cut, Conditions(wrap=wrap)).likely_min for wrap in ("none", "foil"))
    assert 0.10 <= 1 - foil / bare <= 0.35


def test_frozen_start_is_refused_rather_than_guessed() -> None:
    # Bengtsson et al.: from -20 C instead of +5 C a roast takes about half as long again; USDA FSIS, Smoking Meat and
    # Poultry: thaw fully before smoking.
    with pytest.raises(ValueError, match="thaw"):
        cook_span(BRISKET, Conditions(start_f=-4))


def test_conduction_alone_is_hours_too_fast() -> None:
    # A wall of 5 cm half thickness reaches 160 F after 4.47 h by the exact solution, without evaporation.
    assert course_of(BRISKET).minute_at(160.0) / 60 > 4.47 + 2
