"""Yields against published figures: peer-reviewed smoked brisket, USDA SR26 (WEIGHT.txt, from 1 lb raw with refuse),
9 CFR.
"""

from __future__ import annotations

import pytest

from scheduler.trade.yields import CUT_YIELD, SUET_FAT, TRIM_FAT, identity_breach, raw_lb_per_portion, tallow_lb


@pytest.mark.parametrize("published", [0.560, 0.593])
def test_smoked_brisket(published: float) -> None:
    # Kerth et al., Meat Muscle Biol. art. 18269: 56.0 % at 90 C and 59.3 % at 85 C, both held for 3 h.
    low, _, high = CUT_YIELD["packer brisket"].cook
    assert low <= published <= high


@pytest.mark.parametrize(
    ("name", "edible"),
    [
        ("pork butt", 0.578),  # NDB 10083, Boston butt roasted, lean and fat
        ("pork butt", 0.525),  # NDB 10087, lean only
        ("spare ribs", 0.390),  # NDB 10089, braised
        ("beef plate ribs", 0.496),  # NDB 13148, short ribs braised
    ],
)
def test_edible_share_of_the_purchase(name: str, edible: float) -> None:
    triple = CUT_YIELD[name].edible
    assert triple is not None
    assert triple[0] <= edible <= triple[2]


@pytest.mark.parametrize(
    ("name", "on_the_bone"),
    [
        ("spare ribs", 0.629),  # NDB 10089: 177 g edible of 454 g, bone 38 % of the cooked weight
        ("beef plate ribs", 0.699),  # NDB 13148: 225 g, bone 29 %
        ("half chicken", 0.586),  # NDB 5009: 178 g, bone 33 %, giblets and neck not counted
    ],
)
def test_cooked_weight_on_the_bone(name: str, on_the_bone: float) -> None:
    low, _, high = CUT_YIELD[name].cook
    assert low <= on_the_bone <= high


@pytest.mark.parametrize(
    ("name", "to_ordinary_doneness"),
    [
        ("packer brisket", 0.692),  # NDB 13367, whole brisket braised
        ("packer brisket", 0.725),  # NDB 13804
        ("pork butt", 0.760),  # NDB 10083 with its bone, roasted
    ],
)
def test_barbecue_ends_below_meat_cooked_to_ordinary_doneness(name: str, to_ordinary_doneness: float) -> None:
    assert CUT_YIELD[name].cook[2] < to_ordinary_doneness


def test_seventy_per_cent_rule() -> None:
    # 9 CFR 319.80: barbecued meat weighs no more than 70 % of the fresh uncooked meat.
    assert identity_breach(10.0, 7.0) is None
    assert "70 %" in (identity_breach(10.0, 7.01) or "")
    for name in ("packer brisket", "pork butt"):
        assert identity_breach(1.0, CUT_YIELD[name].cook[2]) is None


@pytest.mark.parametrize(("name", "raw_lb"), [("packer brisket", 0.74), ("pork butt", 0.61), ("turkey breast", 0.45)])
def test_raw_pounds_for_an_adult(name: str, raw_lb: float) -> None:
    # Calculated from a third of a pound cooked and the likely edible share.
    assert raw_lb_per_portion(CUT_YIELD[name]) == pytest.approx(raw_lb, abs=0.006)


def test_tallow_never_above_the_fat_that_is_there() -> None:
    # USDA SR26: beef separable fat 70.89 g and suet 94.00 g of fat in 100 g (NDB 13019, 13335); pure tallow is 100 g.
    fat = (TRIM_FAT, SUET_FAT)
    assert fat == (0.7089, 0.94)
    assert tallow_lb(100) == pytest.approx((55, 65, 70.89))
    assert tallow_lb(100, suet=True) == pytest.approx((55, 65, 75))
