"""Prices of one crew that say something of every crew: true bounds, lawful crews."""

from __future__ import annotations

from itertools import combinations, islice

import numpy as np
import pytest
from bench.bench_kitchen import COARSE_MIN, few_cuts
from solve.corner import corner

from scheduler.bench.sizes import VARIANTS
from scheduler.solve.crew_prices import CrewPrices, lawful, wages_cents
from scheduler.solve.flow import build_flow
from scheduler.solve.grid import Grid, build_grid
from scheduler.solve.highs import Effort, solve
from scheduler.solve.improve import Crew
from scheduler.solve.milp import Floats
from scheduler.solve.zones import melted

TO_THE_CENT = 0.01


def row(grid: Grid, crew: Crew) -> Floats:
    return np.array([float(option in crew) for option in grid.shifts])


def relaxed_cents(grid: Grid, crew: Floats) -> float:
    """What the melted kitchen costs at the least with a crew, from nothing."""
    model = build_flow(melted(grid))
    lower, upper = model.milp.lower.copy(), model.milp.upper.copy()
    lower[model.shifts] = upper[model.shifts] = crew
    return solve(model.milp, Effort(), lower=lower, upper=upper, relax=True).cost


def lawful_crews(grid: Grid) -> Floats:
    """All lawful crews of up to three shifts."""
    shifts = range(len(grid.shifts))
    sets = [set(some) for number in range(4) for some in combinations(shifts, number)]
    crews = np.array([[float(i in some) for i in shifts] for some in sets])
    return crews[lawful(grid)(crews)]


@pytest.mark.parametrize("variant", VARIANTS)
def test_what_one_crew_says_of_others_is_never_too_much(variant: str) -> None:
    grid = build_grid(few_cuts(variant), COARSE_MIN)
    crews = lawful_crews(grid)
    prices = CrewPrices(grid)
    looked_at = crews[:: len(crews) // 3]
    for crew in looked_at:
        assert prices.look(crew) == pytest.approx(relaxed_cents(grid, crew), abs=TO_THE_CENT)
    for crew in islice(crews, 1, None, len(crews) // 5):
        assert prices.least(crew[None])[0] <= relaxed_cents(grid, crew) + TO_THE_CENT
    assert prices.least(looked_at) == pytest.approx([relaxed_cents(grid, crew) for crew in looked_at], abs=TO_THE_CENT)


def test_two_shifts_of_one_person_at_a_time_are_not_lawful() -> None:
    grid = build_grid(corner())
    rest = grid.scenario.crew.least_rest_min
    within = lawful(grid)
    for one, other in combinations(grid.shifts, 2):
        apart = one.end_min + rest <= other.start_min or other.end_min + rest <= one.start_min
        assert bool(within(row(grid, (one, other))[None])[0]) == (one.person.name != other.person.name or apart)


def test_a_crew_costs_what_its_people_earn() -> None:
    grid = build_grid(corner())
    crew = grid.shifts[:2]
    assert wages_cents(grid) @ row(grid, crew) == sum(option.wage_cent_min for option in crew) / 60
