"""HiGHS and CP-SAT on the flow model of every place as it stands, from nothing."""

from __future__ import annotations

import time
from collections.abc import Iterator

import numpy as np
from ortools.linear_solver.python.model_builder_helper import ModelBuilderHelper, ModelSolverHelper

from scheduler.bench.outcome import Made
from scheduler.bench.weekends import GRID_MIN
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.solve.checked import checked
from scheduler.solve.extract import draft
from scheduler.solve.flow import FlowModel, build_flow
from scheduler.solve.grid import build_grid
from scheduler.solve.highs import Effort, solve
from scheduler.solve.milp import INF, Floats, Milp
from scheduler.solve.onto_racks import settled
from scheduler.solve.zones import one_by_one

POINTS = 5
"""Points of the model, newest first, that are tried for one that becomes a plan."""
REPAIRS = 6
WORKERS = 2
NO_POINT = "no point of the model in its seconds"


def highs_on_flow(scenario: Scenario, seconds: float, grid_min: int = GRID_MIN) -> Made:
    """HiGHS, with the time that setting up the model leaves."""
    started = time.monotonic()
    model = build_flow(one_by_one(build_grid(scenario, grid_min)))
    points: list[tuple[float, Floats, float]] = []

    def keep(x: Floats, cents: float) -> None:
        points.append((time.monotonic() - started, x, cents))

    left = seconds - (time.monotonic() - started)
    if left <= 0:
        return Made(None, note=_no_time(model, started))
    answer = solve(model.milp, Effort(seconds=left), improved=keep)
    if answer.x is not None:
        points.append((time.monotonic() - started, answer.x, answer.cost))
    bound = int(answer.bound) if -INF < answer.bound < 1e15 else None
    return _made(model, [(s, x) for s, x, _ in points], bound)


def cp_sat_on_flow(scenario: Scenario, seconds: float, grid_min: int = GRID_MIN) -> Made:
    """CP-SAT on the same program; what is not whole in it is scaled by the library's own rule."""
    started = time.monotonic()
    model = build_flow(one_by_one(build_grid(scenario, grid_min)))
    helper = _helper(model.milp)
    left = seconds - (time.monotonic() - started)
    if left <= 0:
        return Made(None, note=_no_time(model, started))
    solver = ModelSolverHelper("sat")
    solver.set_time_limit_in_seconds(left)
    solver.set_solver_specific_parameters(f"num_workers:{WORKERS}")
    solver.solve(helper)
    if not solver.has_solution():
        return Made(None, note=NO_POINT)
    return _made(model, [(time.monotonic() - started, np.asarray(solver.variable_values()))], None)


def _helper(milp: Milp) -> ModelBuilderHelper:
    helper = ModelBuilderHelper()
    for lower, upper, whole, cost in zip(milp.lower, milp.upper, milp.integer, milp.cost, strict=True):
        column = helper.add_var()
        helper.set_var_lower_bound(column, float(lower))
        helper.set_var_upper_bound(column, float(upper))
        helper.set_var_integrality(column, bool(whole))
        helper.set_var_objective_coefficient(column, float(cost))
    for row, (lower, upper) in enumerate(zip(milp.row_lower, milp.row_upper, strict=True)):
        number = helper.add_linear_constraint()
        helper.set_constraint_lower_bound(number, float(lower))
        helper.set_constraint_upper_bound(number, float(upper))
        for k in range(milp.starts[row], milp.starts[row + 1]):
            helper.add_term_to_constraint(number, int(milp.columns[k]), float(milp.values[k]))
    return helper


def _no_time(model: FlowModel, started: float) -> str:
    rows, columns = model.milp.size
    return f"setting up {rows:,} rows and {columns:,} columns took {time.monotonic() - started:.0f} s"


def _made(model: FlowModel, points: list[tuple[float, Floats]], bound: int | None) -> Made:
    """The newest point that becomes a plan which passes the audit."""
    if not points:
        return Made(None, bound_cents=bound, note=NO_POINT)
    for seconds, plan in _plans(model, points):
        return Made(plan, ((round(seconds, 2), plan.cost.total),), bound)
    return Made(None, bound_cents=bound, note="a point of the model, but no plan that passes the audit")


def _plans(model: FlowModel, points: list[tuple[float, Floats]]) -> Iterator[tuple[float, Plan]]:
    for seconds, x in points[: -POINTS - 1 : -1]:
        if any(x[column] > 1e-6 for column in model.unmanned):
            continue
        board, _ = settled(model.zones.grid, draft(model, x))
        plan = checked(board, REPAIRS)
        if plan is not None:
            yield seconds, plan
