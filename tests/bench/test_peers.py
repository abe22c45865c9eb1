"""Bounds and optima: four ways to solve a small weekend to the end agree, and nobody's plan is below a bound.

Outside sources: CP-SAT (OR-Tools) on an interval model and PyJobShop share nothing with the flow model that HiGHS
solves.
"""

from __future__ import annotations

import builtins
from typing import Any

import pytest
from bench.bench_kitchen import COARSE_MIN, PLENTY_S, few_cuts

from scheduler.audit import audit
from scheduler.bench.peers.flow import cp_sat_on_flow, highs_on_flow
from scheduler.bench.peers.intervals import cp_sat_by_intervals
from scheduler.bench.peers.loads import portions
from scheduler.bench.peers.part import part_of
from scheduler.bench.peers.shop import pyjobshop
from scheduler.bench.peers.thumb import counting_back
from scheduler.bench.sizes import VARIANTS
from scheduler.bench.weekends import Case
from scheduler.books.scenarios import problems_in
from scheduler.errors import InputError
from scheduler.solve.exact import prove
from scheduler.solve.flow import build_flow
from scheduler.solve.grid import build_grid
from scheduler.solve.highs import Effort, solve
from scheduler.solve.improve import first_plans
from scheduler.solve.zones import melted


@pytest.mark.parametrize("variant", VARIANTS)
def test_the_bound_is_that_of_a_full_solve_and_no_plan_is_below_it(variant: str) -> None:
    scenario = few_cuts(variant)
    grid = build_grid(scenario, COARSE_MIN)
    bound = solve(build_flow(melted(grid)).milp, Effort(nodes=20)).bound
    proof = prove(grid, next(iter(first_plans(grid))).board, Effort(gap=0.0))
    assert proof.proven
    assert bound <= proof.cents + 0.01
    made = {
        method.__name__: method(scenario, PLENTY_S, COARSE_MIN)
        for method in (counting_back, cp_sat_by_intervals, highs_on_flow)
    }
    for name, peer in made.items():
        assert peer.plan is not None, name
        assert audit(peer.plan, scenario) == (), name
        assert peer.plan.cost.total >= proof.bound - 3, name  # parts of a cost are rounded one by one
    least = round(proof.cents)
    for name in ("cp_sat_by_intervals", "highs_on_flow"):
        plan = made[name].plan
        assert plan is not None
        assert plan.cost.total == pytest.approx(least, abs=3), name


def test_cp_sat_on_the_flow_model_finds_the_optimum_too() -> None:
    scenario = few_cuts("easy", "half chicken")
    made, other = (method(scenario, PLENTY_S, 60) for method in (cp_sat_on_flow, highs_on_flow))
    assert made.plan is not None
    assert other.plan is not None
    assert audit(made.plan, scenario) == ()
    assert made.plan.cost.total == pytest.approx(other.plan.cost.total, abs=3)


@pytest.mark.parametrize("variant", ["easy", "tight hold"])
def test_pyjobshop_on_its_part_is_no_better_than_the_proof(variant: str) -> None:
    part = part_of(few_cuts(variant))
    grid = build_grid(part, 15)
    proof = prove(grid, next(iter(first_plans(grid))).board, Effort(gap=0.0))
    made = pyjobshop(part, PLENTY_S)
    assert proof.proven
    assert made.plan is not None
    assert audit(made.plan, part) == ()
    assert made.plan.cost.total >= round(proof.cents)
    assert made.plan.cost.wages == made.plan.cost.wood == 0


@pytest.mark.parametrize("family", ["S", "M", "L", "XL"])
def test_the_part_is_a_weekend_that_the_books_accept(family: str) -> None:
    part = part_of(Case(family, "easy", 0).scenario())
    assert problems_in(part) == ()
    assert all(len(cut.recipes) == 1 for cut in part.menu.cuts)


@pytest.mark.parametrize("family", ["S", "M", "L", "XL"])
def test_loads_cut_beforehand_are_all_pieces_and_fit_on_racks(family: str) -> None:
    grid = build_grid(Case(family, "tight fire", 0).scenario())
    loads = portions(grid)
    assert [sum(load.pieces for load in some) for some in loads] == [demand.pieces for demand in grid.demands]
    for load in (load for some in loads for load in some):
        cut = grid.cut_of(load.demand)
        assert any(b.size >= 100 * cut.spaces * load.pieces - 1e-6 for p in grid.places if p.takes(cut) for b in p.bins)


def test_without_the_library_one_sentence_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    there = builtins.__import__

    def without(name: str, *args: Any, **kwargs: Any) -> Any:
        if name == "pyjobshop":
            raise ImportError(name)
        return there(name, *args, **kwargs)

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(InputError, match="is not installed; install it with: pip install") as error:
        pyjobshop(few_cuts("easy"), 1.0)
    assert len(error.value.problems) == 1
