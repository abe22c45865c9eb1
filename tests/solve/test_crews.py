"""Crews of a small weekend, one by one: which are lawful, what each costs at the least, plans with the best of them."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from audit_kitchen import kitchen
from bench.bench_kitchen import COARSE_MIN, few_cuts
from hypothesis import given, settings
from hypothesis import strategies as st
from solve_kitchen import grid_of
from strategies import weekends

from scheduler.audit import audit
from scheduler.bench.sizes import VARIANTS
from scheduler.bench.weekends import Case
from scheduler.model.scenario import Scenario
from scheduler.solve.bound import Bound
from scheduler.solve.checked import checked
from scheduler.solve.crew_plan import anew, crew_plan, near
from scheduler.solve.crews import Crews, few_crews
from scheduler.solve.exact import prove
from scheduler.solve.flow import build_flow
from scheduler.solve.grid import Grid, build_grid
from scheduler.solve.highs import Effort, solve
from scheduler.solve.improve import Found, first_plans
from scheduler.solve.settle import cost_cents
from scheduler.solve.shift_options import ShiftOption
from scheduler.solve.zones import alike, melted, one_by_one

TO_THE_END = Effort(gap=0.0)
REPEATABLE = Effort(nodes=50)
TO_THE_CENT = 0.01


def never() -> bool:
    return False


def crews_of(grid: Grid) -> Crews:
    crews = few_crews(grid)
    assert crews is not None
    return crews


def apart(shifts: tuple[ShiftOption, ...], rest_min: int) -> bool:
    return all(
        a.person.name != b.person.name or a.end_min + rest_min <= b.start_min or b.end_min + rest_min <= a.start_min
        for a, b in combinations(shifts, 2)
    )


# Which crews there are


def test_every_lawful_set_of_shifts_is_a_crew_or_like_one_that_is_no_dearer() -> None:
    grid = grid_of()
    crews = crews_of(grid)
    listed = {crews.shifts(crew) for crew in range(len(crews.members))}

    def kind(shifts: tuple[ShiftOption, ...]) -> list[tuple[int, int, list[str]]]:
        return sorted((o.start_min, o.end_min, sorted(o.skills)) for o in shifts)

    def wages(shifts: tuple[ShiftOption, ...]) -> int:
        return sum(option.wage_cent_min for option in shifts)

    rest = grid.scenario.crew.least_rest_min
    for number in range(len(grid.shifts) + 1):
        for some in combinations(grid.shifts, number):
            if apart(some, rest):
                assert any(kind(one) == kind(some) and wages(one) <= wages(some) for one in listed)
    assert all(apart(one, rest) for one in listed)
    assert len({repr(kind(one)) for one in listed}) == len(listed), "one of each kind"


def test_of_two_people_alike_the_cheaper_one_comes() -> None:
    ben = next(p for p in kitchen().scenario.crew.people if p.name == "Ben")
    twin = ben.model_copy(update={"name": "Bea", "wage_cents_per_h": ben.wage_cents_per_h - 100})
    scenario = kitchen().scenario
    crew = scenario.crew.model_copy(update={"people": (*scenario.crew.people, twin)})
    grid = build_grid(scenario.model_copy(update={"crew": crew}), 15)
    crews = crews_of(grid)
    for number in range(len(crews.members)):
        names = [option.person.name for option in crews.shifts(number)]
        assert not ("Ben" in names and "Bea" not in names)


def test_a_large_weekend_is_not_looked_at_crew_by_crew() -> None:
    assert few_crews(build_grid(Case("M", "easy", 0).scenario())) is None
    assert few_crews(grid_of(step_min=1)) is None


# What they cost at the least


@pytest.mark.parametrize("variant", VARIANTS)
def test_no_bound_is_above_the_optimum(variant: str) -> None:
    grid = build_grid(few_cuts(variant), COARSE_MIN)
    proof = prove(grid, next(iter(first_plans(grid))).board, TO_THE_END)
    assert proof.proven
    crews = crews_of(grid)
    best = crews.compare(never)
    compared = crews.bound
    assert compared <= proof.cents + TO_THE_CENT
    assert compared >= solve(build_flow(melted(grid)).milp, TO_THE_END, relax=True).cost - TO_THE_CENT
    assert crews.cheapest == best
    crews.prove(never)
    assert compared <= crews.bound <= proof.cents + TO_THE_CENT
    wages = sum(option.wage_cent_min for option in proof.board.frame.shifts) / 60
    kind = sorted((o.start_min, o.end_min, sorted(o.skills)) for o in proof.board.frame.shifts)
    for crew in range(len(crews.members)):
        mine = crews.shifts(crew)
        if sorted((o.start_min, o.end_min, sorted(o.skills)) for o in mine) == kind:
            paid = sum(option.wage_cent_min for option in mine) / 60
            assert crews.least[crew] <= proof.cents - wages + paid + TO_THE_CENT, "the optimum has this crew, or alike"


@given(weekends(sparse=True), st.sampled_from((30, 60)))
@settings(max_examples=10)
def test_nor_on_any_small_weekend(scenario: Scenario, step_min: int) -> None:
    grid = build_grid(scenario, step_min)
    crews = few_crews(grid)
    if crews is None:
        return
    start = next(iter(first_plans(grid)))
    proof = prove(grid, start.board, Effort(nodes=20, gap=0.0))
    crews.compare(never)
    assert crews.bound <= proof.cents + TO_THE_CENT
    crews.prove(never)
    assert crews.bound <= proof.cents + TO_THE_CENT


def test_it_stops_when_told_to_and_what_it_says_then_is_true() -> None:
    grid = build_grid(few_cuts("easy"), COARSE_MIN)
    crews = crews_of(grid)
    before = crews.bound
    asked: list[int] = []

    def third() -> bool:
        asked.append(1)
        return len(asked) > 2

    crews.compare(third)
    assert before <= crews.bound
    whole = crews_of(grid)
    whole.compare(never)
    assert crews.bound <= whole.bound + TO_THE_CENT
    crews.prove(lambda: True)
    assert crews.bound <= whole.bound + TO_THE_CENT


@pytest.mark.parametrize("variant", ["easy", "shared firebox"])
def test_like_racks_as_one_lie_between_melted_and_single_ones(variant: str) -> None:
    grid = build_grid(few_cuts(variant, "spare ribs"), COARSE_MIN)
    whole, some, single = (solve(build_flow(zones(grid)).milp, TO_THE_END) for zones in (melted, alike, one_by_one))
    lean = solve(build_flow(alike(grid), lean=True).milp, TO_THE_END)
    assert whole.proven
    assert some.proven
    assert single.proven
    assert whole.cost <= some.cost + TO_THE_CENT
    assert lean.cost <= some.cost + TO_THE_CENT
    assert some.cost <= single.cost + TO_THE_CENT


def test_racks_are_alike_in_any_smoker_but_not_where_they_are_hotter() -> None:
    grid = build_grid(Case("S", "easy", 0).scenario())
    found = {tuple(grid.places[p].name for p in places) for places in alike(grid).zones}
    assert found == {("smoker 1", "smoker 2"), ("oven 1",)}
    for places in alike(grid).zones:
        assert len({(grid.places[p].offset_f, grid.places[p].oven_f, grid.places[p].fits) for p in places}) == 1


# Beside the search


def test_the_thread_knows_the_crew_that_is_worked_out_here() -> None:
    grid = build_grid(few_cuts("easy"), COARSE_MIN)
    here, beside = Bound(grid), Bound(grid)
    crew = here.crew(None)
    assert crew
    beside.start()
    try:
        assert beside.crew(600.0) == crew
    finally:
        beside.stop()
    assert beside.cents >= here.cents
    proof = prove(grid, next(iter(first_plans(grid))).board, TO_THE_END)
    assert beside.cents <= proof.cents


# Plans with a crew


@pytest.fixture(scope="module")
def first() -> Found:
    """A first plan with the best crew, which leaves much to be found."""
    grid = build_grid(few_cuts("shared firebox", "pork butt", "spare ribs"))
    crews = crews_of(grid)
    return crew_plan(grid, crews.shifts(crews.compare(never)))


def test_plans_with_a_crew_keep_it_get_cheaper_and_pass_the_audit(first: Found) -> None:
    board = first.board
    for plan in (anew(first, REPEATABLE), near(first, REPEATABLE, width=2)):
        assert plan is not None
        assert plan.cents < first.cents
        assert plan.cents == pytest.approx(cost_cents(plan.board))
        assert plan.board.frame.shifts == board.frame.shifts
        made = checked(plan.board)
        assert made is not None
        assert audit(made, board.grid.scenario) == ()


def test_near_a_plan_nothing_is_done_at_another_time(first: Found) -> None:
    better = near(first, REPEATABLE, width=1)
    assert better is not None
    for load in better.board.placed:
        now = [other.finish_step for other in first.board.placed if other.demand == load.demand]
        assert min(abs(load.finish_step - step) for step in now) <= 1
    for levels, before in zip(better.board.frame.levels, first.board.frame.levels, strict=True):
        hot = np.flatnonzero(before)
        assert all(abs(hot - step).min() <= 1 for step in np.flatnonzero(levels))


def test_they_repeat(first: Found) -> None:
    for one, two in (
        (anew(first, REPEATABLE), anew(first, REPEATABLE)),
        (near(first, REPEATABLE, width=1), near(first, REPEATABLE, width=1)),
    ):
        assert one is not None
        assert two is not None
        assert one.cents == two.cents
        assert one.board.placed == two.board.placed


def test_nothing_comes_of_what_is_best_already(first: Found) -> None:
    exact = Effort(gap=0.0)
    new = anew(first, exact)
    assert new is not None
    best = near(new, exact, width=0) or new
    assert near(best, exact, width=0) is None


def test_a_person_stops_them(first: Found) -> None:
    assert anew(first, REPEATABLE, lambda _: True) is None
