"""The seam to HiGHS: right answers on tiny programs, and nothing printed."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from scheduler.solve.highs import Answer, Effort, solve
from scheduler.solve.milp import INF, Milp, MilpBuilder

ROOT = Path(__file__).parents[2]
TO_THE_END = Effort(gap=0.0)


def knapsack() -> Milp:
    """Worth 5, 4, 3 at weights 2, 3, 1 into a room of 5: the first two are worth most, 9."""
    b = MilpBuilder()
    items = [b.column(1, -worth) for worth in (5.0, 4.0, 3.0)]
    b.row(-INF, list(zip(items, (2.0, 3.0, 1.0), strict=True)), 5.0)
    return b.finish()


def test_the_optimum_of_a_knapsack() -> None:
    answer = solve(knapsack(), TO_THE_END)
    assert answer.x is not None
    assert answer.x.round().tolist() == [1, 1, 0]
    assert (answer.cost, answer.bound, answer.proven) == (-9, -9, True)


def test_relaxed_it_may_take_parts() -> None:
    answer = solve(knapsack(), TO_THE_END, relax=True)
    assert answer.x is not None
    assert answer.cost == answer.bound == pytest.approx(-5 - 3 - 4 * 2 / 3)


def test_bounds_of_columns_can_be_replaced() -> None:
    answer = solve(knapsack(), TO_THE_END, upper=np.array([0.0, 1.0, 1.0]))
    assert answer.cost == -7
    answer = solve(knapsack(), TO_THE_END, lower=np.array([0.0, 0.0, 1.0]))
    assert answer.cost == -8


def test_no_point_is_an_answer_too() -> None:
    b = MilpBuilder()
    column = b.column(1)
    b.row(2.0, [(column, 1.0)], INF)
    answer = solve(b.finish(), TO_THE_END)
    assert answer == Answer(None, INF, answer.bound, True)


def hard() -> Milp:
    """Sixty things into twelve rooms at once."""
    b = MilpBuilder()
    rng = np.random.default_rng(5)
    items = [b.column(1, float(-worth)) for worth in rng.integers(100, 200, 60)]
    for _ in range(12):
        b.row(
            -INF, [(item, float(weight)) for item, weight in zip(items, rng.integers(20, 90, 60), strict=True)], 900.0
        )
    return b.finish()


def test_a_start_is_where_it_goes_on_from() -> None:
    milp = hard()
    best = solve(milp, Effort(nodes=50))
    assert best.x is not None
    start = (list(range(60)), best.x.tolist())
    lazy = Effort(nodes=0, heuristics=0.0)
    assert solve(milp, lazy, start=start).cost <= best.cost < solve(milp, lazy).cost


def test_it_stops_when_it_is_told_to() -> None:
    heard: list[float] = []

    def hear(bound: float) -> bool:
        heard.append(bound)
        return True

    answer = solve(hard(), TO_THE_END, progress=hear)
    assert heard
    assert not answer.proven


def test_it_prints_nothing() -> None:
    # In a process of its own, as HiGHS prints its name only once in each.
    code = (
        "from scheduler.solve.highs import Effort, solve; from scheduler.solve.milp import MilpBuilder; "
        "b = MilpBuilder(); b.column(1, -1.0); print(solve(b.finish(), Effort(), improved=lambda x, c: None).cost)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True)
    assert done.stdout == "-1.0\n"
