"""Wood: heat of wet and dry wood, pounds for a burn by practice and by demand, cords to order."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.trade.wood import (
    CORD_LB,
    LB_PER_H,
    PIT_SIZES,
    SPECIES,
    WARM_UP_MIN,
    HeatDemand,
    PitSize,
    btu_per_lb,
    cords,
    cords_to_order,
    demand_lb,
    practice_lb,
    splits,
)

# A 500-gallon pit (invented figures): 1,500 lb of steel, 250 F against 50 F, 14 h, 20 briskets, half the heat up the
# stack.
PIT = HeatDemand(1500, 160, 0.5, 250, 50, 14, meat_lb=260)


@pytest.mark.parametrize(("moisture", "btu"), [(0, 8600), (20, 7000), (10, 7800), (40, 5400)])
def test_heat_of_wood(moisture: float, btu: float) -> None:
    # Oven-dry 8,600 and 7,000 Btu/lb at 20 % moisture: extension-type table, seen in a secondary copy.
    assert btu_per_lb(moisture) == pytest.approx(btu)


@pytest.mark.parametrize("species", SPECIES)
def test_a_cord_holds_its_published_heat(species: str) -> None:
    # The same table: 27.0, 25.3 and 29.1 million Btu in a seasoned cord.
    published = {"white oak": 27.0, "red oak": 25.3, "shagbark hickory": 29.1}[species]
    assert CORD_LB[species][0] * btu_per_lb(20) / 1e6 == pytest.approx(published, abs=0.06)  # type: ignore[index]


@pytest.mark.parametrize("size", PIT_SIZES)
def test_practice_tables_rise_with_size_and_within_a_row(size: PitSize) -> None:
    for table in (LB_PER_H, WARM_UP_MIN):
        assert list(table[size]) == sorted(table[size])
        smaller = PIT_SIZES[: PIT_SIZES.index(size)]
        assert all(table[other][1] < table[size][1] for other in smaller)


def test_a_burn_by_practice() -> None:
    assert practice_lb("500 gal", 12)[1] == pytest.approx(16 * 13.5)
    assert practice_lb("500 gal", 12, moisture_pct=40)[1] > practice_lb("500 gal", 12)[1]


def test_heat_demand_and_practice_are_of_one_size() -> None:
    low, _, high = practice_lb("500 gal", 14)
    assert low / 2 <= demand_lb(PIT) <= high


@given(st.floats(1, 30), st.floats(0.1, 5), st.floats(1, 50))
def test_longer_hotter_and_wetter_takes_more(hours: float, more: float, wetter: float) -> None:
    burn = replace(PIT, hours=hours)
    assert demand_lb(replace(burn, hours=hours + more)) > demand_lb(burn)
    assert demand_lb(replace(burn, pit_f=burn.pit_f + more)) > demand_lb(burn)
    assert demand_lb(burn, 5 + wetter) > demand_lb(burn, 5)
    low, likely, high = practice_lb("1,000 gal", hours)
    assert low < likely < high


def test_cords() -> None:
    assert cords(3609, "red oak") == pytest.approx(1)
    assert cords(4988, "red oak", green=True) == pytest.approx(1)
    assert cords_to_order(0) == 0
    assert cords_to_order(3609) == 1
    assert cords_to_order(3610) == 1.25
    assert cords_to_order(1000, in_stock_lb=1200) == 0
    assert splits(28) == (4, 7, 14)


def test_nonsense_is_refused() -> None:
    for call in (
        lambda: btu_per_lb(-1),
        lambda: btu_per_lb(61),
        lambda: practice_lb("500 gal", -1),
        lambda: demand_lb(replace(PIT, pit_f=40)),
        lambda: demand_lb(replace(PIT, draft_share=1.0)),
        lambda: demand_lb(replace(PIT, hours=-1)),
    ):
        with pytest.raises(ValueError, match=r"moisture|burn"):
            call()


def test_the_heat_of_a_burn_adds_up() -> None:
    # Steel 1500 x 0.12 x 200, walls 160 x 200 x 14, meat 260 x (0.80 x 165 + 0.2 x 1000) Btu.
    assert PIT.btu() == pytest.approx(36_000 + 448_000 + 86_320)
    assert demand_lb(PIT) == pytest.approx(PIT.btu() / 0.5 / 7000)
