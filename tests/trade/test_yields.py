"""From raw to portions: order of ranges, nothing from nothing, and tallow within its fat."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.trade.yields import (
    CUT_YIELD,
    CutYield,
    identity_breach,
    raw_lb_per_portion,
    tallow_breach,
    tallow_lb,
    yield_chain,
)

CUTS = st.sampled_from(list(CUT_YIELD.values()))


@given(CUTS, st.integers(0, 200), st.floats(0.2, 30))
def test_weight_only_falls_and_ranges_rise(cut: CutYield, pieces: int, weight_lb: float) -> None:
    chain = yield_chain(cut, pieces, weight_lb)
    assert chain.raw_lb == pytest.approx(pieces * weight_lb)
    for triple in filter(None, (chain.trim_lb, chain.trimmed_lb, chain.cooked_lb, chain.edible_lb, chain.portions)):
        assert 0 <= triple[0] <= triple[1] <= triple[2]
    for cooked, trimmed in zip(chain.cooked_lb, chain.trimmed_lb, strict=True):
        assert cooked <= trimmed <= chain.raw_lb + 1e-9
    assert chain.trim_lb[1] + chain.trimmed_lb[1] == pytest.approx(chain.raw_lb)
    if chain.edible_lb:
        assert chain.edible_lb[2] <= chain.cooked_lb[2] + 1e-9 or cut.name == "turkey breast"


@given(CUTS, st.integers(0, 50), st.floats(0.2, 30))
def test_twice_the_pieces_are_twice_the_portions(cut: CutYield, pieces: int, weight_lb: float) -> None:
    once, twice = yield_chain(cut, pieces, weight_lb), yield_chain(cut, 2 * pieces, weight_lb)
    assert twice.portions == pytest.approx([2 * portion for portion in once.portions])


@given(st.floats(0, 500), st.booleans())
def test_tallow_is_never_more_than_the_fat(trim_lb: float, suet: bool) -> None:
    low, likely, high = tallow_lb(trim_lb, suet)
    assert 0 <= low <= likely <= high
    assert tallow_breach(trim_lb, high, suet) is None


def test_a_claim_above_the_fat_is_an_error() -> None:
    assert "more than the 7.1 lb of fat" in (tallow_breach(10, 7.2) or "")
    assert tallow_breach(10, 7.2, suet=True) is None


def test_nonsense_is_refused() -> None:
    for call in (
        lambda: yield_chain(CUT_YIELD["sausage"], -1, 1),
        lambda: yield_chain(CUT_YIELD["sausage"], 1, 0),
        lambda: raw_lb_per_portion(CUT_YIELD["sausage"]),
        lambda: tallow_lb(-1),
        lambda: identity_breach(0, 1),
        lambda: yield_chain(CutYield("liver", (0, 0, 0), (1, 1, 1), None), 1, 1),
    ):
        with pytest.raises(ValueError, match=r"pieces|portion|nothing|weigh"):
            call()
