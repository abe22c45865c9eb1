"""The buying list: cases, bands, days, money; and prep the day before."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.trade.buying import ITEMS, Need, band_of, buy_line, buying_list, merged, prep_days, thaw_days
from scheduler.trade.cut_heat import CUT_HEAT
from scheduler.trade.yields import CUT_YIELD

SATURDAY = date(2026, 4, 18)


def need(pieces: int = 12, **more: object) -> Need:
    values: dict[str, object] = {"cut": "packer brisket", "pieces": pieces, "weight_lb": 13.0, "load_on": SATURDAY}
    return Need(**(values | more))  # type: ignore[arg-type]


def test_nothing_needed_is_nothing_bought() -> None:
    line = buy_line(need(0))
    assert (line.cases, line.pieces, line.cost_cents, line.cooler_cuft) == (0, 0, 0, 0)
    assert buy_line(need(5, in_stock=9)).cases == 0


def test_whole_cases_and_their_cost() -> None:
    line = buy_line(need(12, cents_per_lb=499))
    assert (line.cases, line.pieces, line.spare_pieces) == (3, 15, 3)
    assert line.weight_lb == 15 * 13
    assert line.cost_cents == 15 * 13 * 499
    assert (line.imps, line.band) == ("120", "12 lb up")
    assert line.cooler_cuft == pytest.approx(15 * 13 / 25)


def test_fresh_meat_comes_the_day_before_and_frozen_in_time_to_thaw() -> None:
    fresh = buy_line(need())
    assert (fresh.trim_on, fresh.deliver_by, fresh.thaw_from) == (date(2026, 4, 17), date(2026, 4, 17), None)
    assert fresh.order_by == date(2026, 4, 15)
    frozen = buy_line(need(frozen=True))
    assert frozen.thaw_from == frozen.deliver_by == date(2026, 4, 13)
    assert frozen.order_by == date(2026, 4, 11)


@pytest.mark.parametrize(("weight_lb", "days"), [(0.3, 1), (4, 1), (4.1, 2), (13, 4)])
def test_thaw_days(weight_lb: float, days: int) -> None:
    assert thaw_days(weight_lb) == days


@pytest.mark.parametrize(
    ("cut", "weight_lb", "band"),
    [
        ("packer brisket", 5, "6-8 lb"),
        ("packer brisket", 9, "8-10 lb"),
        ("packer brisket", 14, "12 lb up"),
        ("pork butt", 9, "8-12 lb"),
        ("spare ribs", 2, "2.5 lb down"),
        ("spare ribs", 4, "3.5-5.5 lb"),
        ("turkey breast", 4, ""),
    ],
)
def test_weight_bands(cut: str, weight_lb: float, band: str) -> None:
    assert band_of(ITEMS[cut], weight_lb) == band


def test_one_purchase_for_the_weekend() -> None:
    sunday = date(2026, 4, 19)
    both = [need(6, load_on=sunday), need(7), need(3, cut="pork butt", weight_lb=9.0)]
    assert [(n.cut, n.pieces, n.load_on) for n in merged(both)] == [
        ("packer brisket", 13, SATURDAY),
        ("pork butt", 3, SATURDAY),
    ]
    assert [(line.cut, line.cases) for line in buying_list(both)] == [("packer brisket", 3), ("pork butt", 1)]
    apart = [need(6, weight_lb=11.0), need(7), need(7, frozen=True)]
    assert [line.thaw_from is not None for line in buying_list(apart)] == [True, False, False]


def test_prep_is_the_day_before_with_its_minutes() -> None:
    (day,) = prep_days([need(10)])
    assert (day.on, day.pieces) == (date(2026, 4, 17), 10)
    # 5 / 9 / 18 min to trim and 1 / 2 / 4 min to season one packer brisket: common practice, no source.
    assert day.minutes == (60, 110, 220)
    assert prep_days([]) == []


@given(st.sampled_from(sorted(ITEMS)), st.integers(0, 500), st.integers(0, 100), st.floats(0.2, 20))
def test_enough_and_less_than_a_case_too_many(cut: str, pieces: int, stock: int, weight_lb: float) -> None:
    line = buy_line(Need(cut, pieces, weight_lb, SATURDAY, in_stock=stock))
    assert line.pieces + stock >= pieces
    assert 0 <= line.spare_pieces < ITEMS[cut].case_pieces
    assert line.pieces == line.cases * ITEMS[cut].case_pieces


def test_nonsense_is_refused() -> None:
    with pytest.raises(KeyError):
        buy_line(need(cut="liver"))
    with pytest.raises(ValueError, match="pieces"):
        buy_line(need(-1))
    with pytest.raises(ValueError, match="weigh"):
        thaw_days(0)


def test_the_cuts_of_all_tables_are_the_same() -> None:
    assert set(ITEMS) == set(CUT_HEAT)
    assert set(ITEMS) - {"fat trim"} == set(CUT_YIELD)


def test_stock_of_both_days_counts() -> None:
    sunday = date(2026, 4, 19)
    (only,) = merged([need(6, in_stock=2), need(6, load_on=sunday, in_stock=3)])
    assert (only.pieces, only.in_stock) == (12, 5)
