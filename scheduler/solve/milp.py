"""A mixed-integer linear program as plain arrays, free of any solver: minimise cost @ x, rows and columns bounded."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

INF = float("inf")
Floats = NDArray[np.float64]
Terms = list[tuple[int, float]]
"""A linear expression: (column, coefficient) pairs; a column may stand in it more than once."""


@dataclass(frozen=True, slots=True)
class Milp:
    """The finished program, rows in compressed sparse form."""

    cost: Floats
    lower: Floats
    upper: Floats
    integer: NDArray[np.bool_]
    row_lower: Floats
    row_upper: Floats
    starts: NDArray[np.int32]
    columns: NDArray[np.int32]
    values: Floats

    @property
    def size(self) -> tuple[int, int]:
        """Rows, columns."""
        return len(self.row_lower), len(self.cost)


@dataclass(slots=True)
class RunningTotal:
    """Columns of a quantity at the steps where it may be above 0, and columns of its running total there."""

    steps: list[int]
    amount: list[int]
    total: list[int]

    def at(self, step: int) -> Terms:
        """The amount at a step."""
        i = bisect_left(self.steps, step)
        return [(self.amount[i], 1.0)] if i < len(self.steps) and self.steps[i] == step else []

    def until(self, step: int) -> Terms:
        """The total up to and with a step."""
        i = bisect_right(self.steps, step)
        return [(self.total[i - 1], 1.0)] if i else []

    def within(self, first: int, last: int) -> Terms:
        """The total over the steps first..last."""
        before, now = bisect_left(self.steps, first), bisect_right(self.steps, last)
        if before >= now:
            return []
        return [(self.total[now - 1], 1.0), *([(self.total[before - 1], -1.0)] if before else [])]


def scaled(terms: Terms, factor: float) -> Terms:
    """Terms times a factor."""
    return [(column, value * factor) for column, value in terms]


@dataclass(slots=True)
class MilpBuilder:
    """Collects columns and rows."""

    _cost: list[float] = field(default_factory=list)
    _lower: list[float] = field(default_factory=list)
    _upper: list[float] = field(default_factory=list)
    _integer: list[bool] = field(default_factory=list)
    _row_lower: list[float] = field(default_factory=list)
    _row_upper: list[float] = field(default_factory=list)
    _starts: list[int] = field(default_factory=lambda: [0])
    _columns: list[int] = field(default_factory=list)
    _values: list[float] = field(default_factory=list)

    def column(self, upper: float, cost: float = 0.0, *, integer: bool = True) -> int:
        """A new column from 0 to `upper`; its number."""
        self._cost.append(cost)
        self._lower.append(0.0)
        self._upper.append(upper)
        self._integer.append(integer)
        return len(self._cost) - 1

    def row(self, lower: float, terms: Terms, upper: float) -> None:
        """A new row lower <= terms <= upper. A row without terms must hold by itself and is left out."""
        merged: dict[int, float] = {}
        for column, value in terms:
            merged[column] = merged.get(column, 0.0) + value
        if 0.0 in merged.values():
            merged = {column: value for column, value in merged.items() if value != 0.0}
        if not merged:
            if not lower <= 1e-9 or not upper >= -1e-9:
                raise ValueError(f"an empty row can't lie between {lower} and {upper}")
            return
        self._columns.extend(merged)
        self._values.extend(merged.values())
        self._starts.append(len(self._columns))
        self._row_lower.append(lower)
        self._row_upper.append(upper)

    def running_total(self, steps: Iterable[int], most: int) -> RunningTotal:
        """Integer amounts at some steps and their running total, each at most `most`."""
        made = RunningTotal(sorted(steps), [], [])
        before: Terms = []
        for _ in made.steps:
            amount = self.column(most)
            total = self.column(most, integer=False)
            self.row(0.0, [*before, (amount, 1.0), (total, -1.0)], 0.0)
            made.amount.append(amount)
            made.total.append(total)
            before = [(total, 1.0)]
        return made

    def finish(self) -> Milp:
        """The program as arrays."""
        return Milp(
            cost=np.array(self._cost, dtype=np.float64),
            lower=np.array(self._lower, dtype=np.float64),
            upper=np.array(self._upper, dtype=np.float64),
            integer=np.array(self._integer, dtype=np.bool_),
            row_lower=np.array(self._row_lower, dtype=np.float64),
            row_upper=np.array(self._row_upper, dtype=np.float64),
            starts=np.array(self._starts, dtype=np.int32),
            columns=np.array(self._columns, dtype=np.int32),
            values=np.array(self._values, dtype=np.float64),
        )
