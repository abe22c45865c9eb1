"""The bound with whole crews: no higher than any crew's cost, higher with more zones, and the crew that it tells of."""

from __future__ import annotations

from itertools import combinations, pairwise
from multiprocessing import Pipe
from pathlib import Path

import numpy as np
import pytest
from bench.bench_kitchen import COARSE_MIN, few_cuts
from solve.corner import corner

from scheduler.bench.sizes import VARIANTS
from scheduler.books import read_scenario
from scheduler.solve.bound import Bound
from scheduler.solve.crew_prices import lawful
from scheduler.solve.flow import FlowModel, build_flow
from scheduler.solve.grid import build_grid
from scheduler.solve.highs import Effort, solve
from scheduler.solve.improve import first_plans
from scheduler.solve.raised import cheapest_crew, crew_bound
from scheduler.solve.zones import alike, hot_racks_apart, melted, one_by_one, ovens_apart

HARVEST = Path(__file__).parents[2] / "scenarios" / "harvest-weekend"
TO_THE_CENT = 0.01
MOST_SHIFTS = 4


def with_crew(model: FlowModel, crew: list[float]) -> float:
    """The least cost with a crew, all else in parts."""
    lower, upper = model.milp.lower.copy(), model.milp.upper.copy()
    lower[model.shifts] = upper[model.shifts] = crew
    return solve(model.milp, Effort(), lower=lower, upper=upper, relax=True).cost


@pytest.mark.parametrize("variant", VARIANTS)
def test_it_is_the_cost_of_the_cheapest_crew_found_by_looking_at_each(variant: str) -> None:
    grid = build_grid(few_cuts(variant), COARSE_MIN)
    model = build_flow(ovens_apart(grid))
    answer = solve(model.crew_whole, Effort(gap=0.0, heuristics=0.0, interior=True))
    assert answer.x is not None
    shifts = range(len(grid.shifts))
    chosen = [float(round(answer.x[column])) for column in model.shifts]
    assert sum(chosen) <= MOST_SHIFTS
    crews = [
        [float(i in some) for i in shifts] for size in range(MOST_SHIFTS + 1) for some in combinations(shifts, size)
    ]
    legal = lawful(grid)(np.array(crews))
    costs = [with_crew(model, crew) for crew, may in zip(crews, legal, strict=True) if may]
    assert answer.cost == pytest.approx(min(costs), abs=TO_THE_CENT)


@pytest.mark.parametrize("variant", VARIANTS)
def test_more_zones_never_lower_it_and_no_plan_is_below(variant: str) -> None:
    grid = build_grid(few_cuts(variant), COARSE_MIN)
    zones = [melted, ovens_apart, hot_racks_apart, alike, one_by_one]
    bounds = [solve(build_flow(make(grid)).crew_whole, Effort(gap=0.0)).bound for make in zones]
    assert all(less <= more + TO_THE_CENT for less, more in pairwise(bounds))
    assert bounds[-1] <= min(plan.cents for plan in first_plans(grid)) + TO_THE_CENT
    assert crew_bound(grid, 1000) <= bounds[-1] + TO_THE_CENT


def test_it_tells_of_a_crew_while_it_rises() -> None:
    grid = build_grid(read_scenario(HARVEST), COARSE_MIN)
    bound = Bound(grid)
    bound.start()
    assert bound.crews is not None
    try:
        crew = cheapest_crew(grid, bound.crews, 60.0)
    finally:
        bound.stop()
    assert lawful(grid)(np.array([[float(option in crew) for option in grid.shifts]]))[0]
    model = build_flow(ovens_apart(grid))
    cents = with_crew(model, [float(option in crew) for option in grid.shifts])
    assert 0 < bound.cents <= cents
    assert cents <= bound.cents * 1.001


def heard(*told: list[int] | None) -> list[int]:
    """Numbers of the shifts that are heard of crews told one after the other."""
    grid = build_grid(corner())
    here, there = Pipe(duplex=False)
    for crew in told:
        there.send(crew)
    return [grid.shifts.index(option) for option in cheapest_crew(grid, here, 0.2)]


def test_the_last_crew_of_the_first_stage_counts() -> None:
    assert heard([0, 1], [0, 2], None, [1]) == [0, 2]


def test_where_time_is_up_the_last_one_heard_counts_or_none() -> None:
    assert heard([0, 1]) == [0, 1]
    assert heard() == []
    assert heard(None) == []
