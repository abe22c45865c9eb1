"""Bounds from prices of rows: true whatever the prices, exact where they are those of the optimum."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.solve.highs import Effort, Relaxed, central_prices, solve
from scheduler.solve.milp import INF, Milp, MilpBuilder
from scheduler.solve.prices import least

TO_THE_END = Effort(gap=0.0)
price = st.floats(-50, 50)


def diet() -> Milp:
    """Rows of each kind: at least, at most, between, equal."""
    b = MilpBuilder()
    one, two, three = (b.column(upper, cost) for upper, cost in ((4, 3.0), (3, 5.0), (6, -1.0)))
    b.row(3.0, [(one, 1.0), (two, 2.0)], INF)
    b.row(-INF, [(one, 1.0), (three, 1.0)], 5.0)
    b.row(1.0, [(two, 1.0), (three, 1.0)], 6.0)
    b.row(2.0, [(one, 1.0), (two, -1.0), (three, 1.0)], 2.0)
    return b.finish()


@given(st.tuples(price, price, price, price))
def test_no_prices_give_more_than_the_optimum(prices: tuple[float, ...]) -> None:
    milp = diet()
    bound, _ = least(milp, np.array(prices), [])
    assert bound <= solve(milp, TO_THE_END).cost + 1e-6


@given(st.tuples(price, price, price, price))
def test_nor_for_any_value_of_a_held_column(prices: tuple[float, ...]) -> None:
    milp = diet()
    constant, slope = least(milp, np.array(prices), [0, 1])
    for held in product(range(5), range(4)):
        lower, upper = milp.lower.copy(), milp.upper.copy()
        lower[:2] = upper[:2] = held
        answer = solve(milp, TO_THE_END, lower=lower, upper=upper)
        assert constant + slope @ np.array(held, dtype=float) <= answer.cost + 1e-6


def test_at_the_prices_of_the_relaxation_it_is_the_relaxation() -> None:
    milp = diet()
    relaxed = solve(milp, TO_THE_END, relax=True).cost
    prices = Relaxed(milp).prices([], np.array([]))
    assert prices is not None
    assert least(milp, prices, [])[0] == pytest.approx(relaxed)


def test_prices_of_the_middle_are_near_it() -> None:
    milp = diet()
    relaxed = solve(milp, TO_THE_END, relax=True).cost
    prices = central_prices(milp)
    assert prices is not None
    bound, _ = least(milp, prices, [])
    assert bound == pytest.approx(relaxed, abs=0.01)
    assert bound <= relaxed + 1e-9


def test_there_are_no_prices_where_nothing_is_allowed() -> None:
    milp = diet()
    assert Relaxed(milp).prices([0, 1], np.array([0.0, 0.0])) is None, "the first row asks for three"
