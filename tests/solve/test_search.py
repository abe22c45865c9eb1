"""The search as a whole: repeatable, stoppable, honest about its bound."""

from __future__ import annotations

from threading import Event

import pytest
from audit_kitchen import kitchen
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import weekends

from scheduler.audit import audit, price
from scheduler.errors import InputError
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.model.weekend import OutOfUse
from scheduler.solve import Progress, plan_weekend
from scheduler.solve.exact import prove
from scheduler.solve.grid import build_grid
from scheduler.solve.highs import Effort
from scheduler.solve.improve import first_plans
from scheduler.solve.progress import StopRule, certificate, gap_of


def sound(plan: Plan, scenario: Scenario) -> None:
    """The plan passes the audit, its shorts have reasons, and its certificate holds."""
    assert audit(plan, scenario) == ()
    assert plan.cost == price(plan, scenario)
    assert all(short.pieces and short.why for short in plan.shorts)
    bound = plan.certificate.bound_cents
    assert bound is not None
    assert bound <= plan.cost.total
    assert plan.certificate.gap == gap_of(plan.cost.total, bound)


@given(weekends(), st.integers(0, 99))
@settings(max_examples=20)
def test_any_small_weekend_yields_a_plan_that_passes_the_audit(scenario: Scenario, seed: int) -> None:
    sound(plan_weekend(scenario, work=6, seed=seed), scenario)


@given(weekends(), st.sampled_from((10, 20, 30, 60)))
@settings(max_examples=6)
def test_so_it_does_on_other_grids(scenario: Scenario, step_min: int) -> None:
    plan = plan_weekend(scenario, work=4, grid_min=step_min)
    sound(plan, scenario)
    assert plan.certificate.grid_min == step_min


@given(weekends(sparse=True))
@settings(max_examples=8)
def test_no_plan_costs_less_than_the_proven_optimum(scenario: Scenario) -> None:
    grid = build_grid(scenario)
    start = min(first_plans(grid), key=lambda found: found.cents)
    proof = prove(grid, start.board, Effort(nodes=60, gap=0.0))
    plan = plan_weekend(scenario, work=10)
    assert plan.cost.total >= proof.bound - 2, "the parts of a cost are rounded one by one"
    assert plan.certificate.bound_cents is not None
    assert plan.certificate.bound_cents <= proof.cents


@pytest.mark.parametrize("seed", [0, 7])
def test_the_same_work_and_seed_give_the_same_plan(seed: int) -> None:
    plans = [plan_weekend(kitchen().scenario, work=12, seed=seed, grid_min=30) for _ in range(2)]
    assert plans[0] == plans[1]
    assert plans[0].certificate.seed == seed
    assert plans[0].certificate.seconds == 0, "no clock in what must repeat"


def test_more_work_never_gives_a_dearer_plan() -> None:
    costs = [plan_weekend(kitchen().scenario, work=work, grid_min=30).cost.total for work in (1, 30)]
    assert costs[1] <= costs[0]


def test_the_listener_hears_of_better_and_better_plans() -> None:
    heard: list[Progress] = []
    plan = plan_weekend(kitchen().scenario, work=30, grid_min=30, listener=heard.append)
    costs = [progress.cost_cents for progress in heard if progress.cost_cents is not None]
    bounds = [progress.bound_cents for progress in heard if progress.bound_cents is not None]
    assert costs
    assert costs == sorted(costs, reverse=True)
    assert bounds == sorted(bounds)
    assert costs[-1] == plan.cost.total
    assert max(bounds, default=0) <= min(costs)
    assert heard[-1].pieces_short == sum(short.pieces for short in plan.shorts)


def test_a_person_stops_it_and_keeps_the_best() -> None:
    stop = Event()
    heard: list[Progress] = []

    def hear(progress: Progress) -> None:
        heard.append(progress)
        stop.set()

    plan = plan_weekend(kitchen().scenario, work=100_000, listener=hear, stop=stop)
    assert plan.certificate.stopped_by == "person"
    sound(plan, kitchen().scenario)
    assert heard[0].cost_cents is not None
    assert plan.cost.total <= heard[0].cost_cents


def test_stopped_before_it_starts_there_is_a_plan_all_the_same() -> None:
    stop = Event()
    stop.set()
    plan = plan_weekend(kitchen().scenario, seconds=600, stop=stop)
    assert plan.certificate.stopped_by == "person"
    sound(plan, kitchen().scenario)


def test_out_of_time_it_says_so() -> None:
    plan = plan_weekend(kitchen().counter_hands(0).scenario, seconds=0.0)
    assert plan.certificate.stopped_by in ("time", "proven")
    sound(plan, kitchen().counter_hands(0).scenario)


def test_a_small_kitchen_is_proven() -> None:
    scenario = kitchen().scenario
    plan = plan_weekend(scenario, work=60, grid_min=30)
    assert plan.certificate.stopped_by == "proven"
    assert plan.certificate.gap is not None
    assert plan.certificate.gap <= 1e-4
    sound(plan, scenario)


def test_a_kitchen_with_nothing_to_do_costs_nothing() -> None:
    scenario = kitchen().counter_hands(0).weekend(waves=(), orders=()).scenario
    plan = plan_weekend(scenario, work=3)
    assert (plan.cost.total, plan.certificate.gap, plan.certificate.bound_cents) == (0, 0, 0)
    assert plan.loads == plan.shifts == plan.tasks == plan.shorts == ()


def test_a_broken_kitchen_is_short_of_everything_and_says_why() -> None:
    broken = tuple(OutOfUse(place=place) for place in ("oak", "hickory"))
    of = kitchen().weekend(out_of_use=broken)
    plan = plan_weekend(of.scenario, work=3)
    assert sum(short.pieces for short in plan.shorts) == 9
    sound(plan, of.scenario)


def test_a_counter_that_nobody_can_man_is_told_in_a_sentence() -> None:
    with pytest.raises(InputError) as raised:
        plan_weekend(kitchen().counter_hands(2).person("Ben", skills=("fire",)).scenario, work=3)
    (problem,) = raised.value.problems
    assert "man the counter" in problem.what
    assert problem.file == "crew.toml"


# Stop rules and certificates are small values


def test_the_stop_rule_names_its_reason() -> None:
    rule = StopRule(seconds=1e9, moves=5, gap=0.01)
    assert rule.reason(4, None) is None
    assert rule.reason(4, 0.02) is None
    assert rule.reason(5, None) == "work"
    assert rule.reason(0, 0.01) == "proven"
    assert StopRule(seconds=0.0).reason(0, None) == "time"
    assert StopRule(seconds=1e9).reason(10**9, None) is None
    rule.person.set()
    assert rule.reason(5, 0.0) == "person"


def test_a_gap_is_a_share_of_the_cost() -> None:
    assert gap_of(200, 150) == 0.25
    assert gap_of(200, None) is None
    assert gap_of(200, 0) is None, "nothing costs less than nothing"
    assert gap_of(0, 0) == 0
    assert certificate(100, 120, 15, 1.26, "time", 3).bound_cents == 100, "rounding may lift a bound above the cost"
    assert certificate(100, None, 15, 1.26, "time", 3).gap is None
    assert certificate(100, 50, 15, 1.26, "time", 3).seconds == 1.3


def test_a_rest_too_long_to_be_safe_is_not_blamed_on_the_counter() -> None:
    # A wrapped brisket of 203 F may be below 135 F after 171 min at room temperature; the books accept 172.
    scenario = kitchen().cut("brisket", rest_min=172).scenario
    plan = plan_weekend(scenario, work=3)
    sound(plan, scenario)
