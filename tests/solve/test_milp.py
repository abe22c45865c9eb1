"""Programs as arrays: what the builder makes of columns, rows and running totals."""

from __future__ import annotations

import numpy as np
import pytest

from scheduler.solve.milp import INF, MilpBuilder, scaled


def test_a_column_that_stands_twice_in_a_row_counts_twice() -> None:
    b = MilpBuilder()
    x, y = b.column(3, 2.0), b.column(INF, integer=False)
    b.row(-INF, [(x, 1.0), (y, 5.0), (x, 2.5), (y, -5.0)], 7.0)
    milp = b.finish()
    assert milp.size == (1, 2)
    assert (milp.columns.tolist(), milp.values.tolist(), milp.starts.tolist()) == ([x], [3.5], [0, 1])
    assert (milp.row_lower.tolist(), milp.row_upper.tolist()) == ([-INF], [7.0])
    assert (milp.cost.tolist(), milp.lower.tolist(), milp.upper.tolist()) == ([2.0, 0.0], [0.0, 0.0], [3.0, INF])
    assert milp.integer.tolist() == [True, False]


@pytest.mark.parametrize(("lower", "upper"), [(0.0, 0.0), (-INF, 4.0), (-2.0, INF)])
def test_a_row_of_nothing_that_holds_is_left_out(lower: float, upper: float) -> None:
    b = MilpBuilder()
    b.row(lower, [(b.column(1), 0.0)], upper)
    assert b.finish().size == (0, 1)


@pytest.mark.parametrize(("lower", "upper"), [(1.0, INF), (-INF, -1.0)])
def test_a_row_of_nothing_that_cannot_hold_is_a_mistake(lower: float, upper: float) -> None:
    with pytest.raises(ValueError, match="an empty row"):
        MilpBuilder().row(lower, [], upper)


def test_a_running_total_adds_up_its_amounts() -> None:
    b = MilpBuilder()
    total = b.running_total([9, 2, 4], 7)
    milp = b.finish()
    assert total.steps == [2, 4, 9]
    assert total.at(4) == [(total.amount[1], 1.0)]
    assert total.at(3) == total.at(10) == []
    assert total.until(1) == []
    assert total.until(4) == total.until(8) == [(total.total[1], 1.0)]
    assert total.within(3, 9) == [(total.total[2], 1.0), (total.total[0], -1.0)]
    assert total.within(4, 3) == []
    assert [bool(milp.integer[c]) for c in total.amount + total.total] == [True] * 3 + [False] * 3
    # The rows say that each total is the one before and the amount: 1, 1 + 2, 1 + 2 + 4 keep them.
    x = np.zeros(milp.size[1])
    x[total.amount] = 1, 2, 4
    x[total.total] = 1, 3, 7
    rows = [slice(*pair) for pair in zip(milp.starts, milp.starts[1:], strict=False)]
    assert [float(milp.values[row] @ x[milp.columns[row]]) for row in rows] == [0, 0, 0]


def test_scaled_terms() -> None:
    assert scaled([(3, 2.0), (1, -1.0)], -2.0) == [(3, -4.0), (1, 2.0)]
