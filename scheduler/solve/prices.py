"""What a program costs at the least, by prices of its rows.

Whatever the prices are, what follows from them is a true bound: rows are weighed with them, and each column is then put
at the end of its range where it costs least. So nothing rests on how exactly a linear program was solved.
"""

from __future__ import annotations

import numpy as np

from scheduler.solve.milp import Floats, Milp


def least(milp: Milp, prices: Floats, held: list[int]) -> tuple[float, Floats]:
    """The least cost as a constant and a slope for each held column: constant + slope @ their values."""
    rises = np.where(np.isfinite(milp.row_lower), np.maximum(prices, 0.0), 0.0)
    falls = np.where(np.isfinite(milp.row_upper), np.minimum(prices, 0.0), 0.0)
    priced = rises + falls
    of_row = np.repeat(priced, np.diff(milp.starts))
    rates = milp.cost - np.bincount(milp.columns, weights=of_row * milp.values, minlength=len(milp.cost))
    ends = np.where(rates > 0, milp.lower, milp.upper)
    each = np.where(rates == 0, 0.0, rates * ends)
    each[held] = 0.0
    rows = _at(rises, milp.row_lower) + _at(falls, milp.row_upper)
    return rows + float(each.sum()), rates[held]


def _at(prices: Floats, limits: Floats) -> float:
    """Rows at a limit, weighed."""
    priced = prices != 0
    return float(prices[priced] @ limits[priced])
