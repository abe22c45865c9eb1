"""Plain CP-SAT: one chain of intervals a load, optional intervals for racks, shelves, cabinets, burns and shifts.

The model that one would write first. Loads are cut beforehand; a firebox burns at most once for each service day, at
one setpoint a burn. Everything else is free: recipes, racks, times, who is called in.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np
from ortools.sat.python import cp_model

from scheduler.bench.outcome import Made
from scheduler.bench.peers.interval_loads import CENT, Chain, Rooms, chain
from scheduler.bench.peers.interval_staff import Staff
from scheduler.bench.peers.loads import portions
from scheduler.bench.weekends import GRID_MIN
from scheduler.model.scenario import Scenario
from scheduler.solve.board import Board, Placed
from scheduler.solve.checked import checked
from scheduler.solve.frame import Frame
from scheduler.solve.grid import Grid, build_grid

WORKERS = 2
REPAIRS = 6


def cp_sat_by_intervals(scenario: Scenario, seconds: float, grid_min: int = GRID_MIN) -> Made:
    """CP-SAT on that model, with the time that setting it up leaves."""
    started = time.monotonic()
    whole = _Whole(build_grid(scenario, grid_min))
    left = seconds - (time.monotonic() - started)
    if left <= 0:
        return Made(None, note=f"setting up its model took {time.monotonic() - started:.0f} s")
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = WORKERS
    solver.parameters.max_time_in_seconds = left
    heard = _Heard(started)
    status = solver.solve(whole.model, heard)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Made(None, note="no solution in its seconds")
    plan = checked(whole.board(solver), REPAIRS)
    if plan is None:
        return Made(None, note="a solution, but no plan that passes the audit")
    # What the audit counts may differ from the model's own cost by what had to be mended; that came last.
    dearer = [(seconds, cents) for seconds, cents in heard.found if cents > plan.cost.total]
    found = (*dearer, (heard.found[-1][0], plan.cost.total))
    return Made(plan, found, note=f"{len(whole.chains)} loads of given sizes")


class _Heard(cp_model.CpSolverSolutionCallback):
    """When each better solution came."""

    def __init__(self, started: float) -> None:
        super().__init__()
        self.found: list[tuple[float, int]] = []
        self._started = started

    def on_solution_callback(self) -> None:
        """One more."""
        cents = round(self.objective_value / CENT)
        self.found.append((round(time.monotonic() - self._started, 2), cents))


@dataclass(slots=True)
class _Burn:
    """One burn of a firebox that may be."""

    firebox: int
    lit: cp_model.IntVar
    out: cp_model.IntVar
    used: cp_model.IntVar
    at: dict[int, cp_model.IntVar] = field(default_factory=dict)
    """By setpoint."""


class _Whole:
    """The weekend as one model. Times in steps, hands in tenths of a minute, money in sixtieths of a cent."""

    def __init__(self, grid: Grid) -> None:
        self.grid = grid
        self.model = cp_model.CpModel()
        everywhere = Frame(tuple(np.zeros(grid.steps, dtype=np.int64) for _ in grid.fireboxes), ())
        self.bare = Board.empty(grid, everywhere)
        self.staff = Staff(self.model, grid)
        self.rooms = Rooms(self.model, self.bare)
        self.cost: list[cp_model.LinearExprT] = list(self.staff.wages())
        self.burns = [self._burns(firebox) for firebox in range(len(grid.fireboxes))]
        self.chains: list[Chain] = []
        for loads in portions(grid):
            made = [chain(self.model, self.bare, portion, self.rooms, self.staff) for portion in loads]
            for one, other in pairwise(made):
                if one.portion.pieces == other.portion.pieces:
                    self.model.add(one.wrap <= other.wrap)
            self.chains += made
        for made_chain in self.chains:
            self._on_fires(made_chain)
            self.cost += made_chain.cost
        self.rooms.close()
        self.staff.close()
        self.model.minimize(sum(self.cost))

    def _burns(self, firebox: int) -> list[_Burn]:
        grid, model, box = self.grid, self.model, self.grid.fireboxes[firebox]
        warm, clean = grid.up(box.warm_up_min), max(1, grid.up(box.clean_out_min))
        horizon = grid.steps + clean * len(grid.scenario.weekend.days)  # a burn that is not can stand at the end
        found: list[_Burn] = []
        for _ in grid.scenario.weekend.days:
            burn = _Burn(
                firebox,
                model.new_int_var(0, horizon, ""),
                model.new_int_var(0, horizon, ""),
                model.new_bool_var(""),
            )
            for setpoint in box.setpoints_f:
                burn.at[setpoint] = model.new_bool_var("")
            model.add_exactly_one([*burn.at.values(), burn.used.negated()])
            model.add(burn.out >= burn.lit + warm + 1).only_enforce_if(burn.used)
            model.add(burn.out <= grid.steps).only_enforce_if(burn.used)
            model.add(burn.out == burn.lit).only_enforce_if(burn.used.negated())
            again = bool(found)
            if again:
                model.add(burn.lit >= found[-1].out + clean)
                model.add_implication(burn.used, found[-1].used)
            self.staff.fire(box, burn.lit, burn.out, burn.used, again=again)
            wood = box.wood_lb_per_h * grid.scenario.site.wood_cents_per_lb * grid.step_min
            self.cost.append(wood * (burn.out - burn.lit))
            found.append(burn)
        return found

    def _on_fires(self, load: Chain) -> None:
        """While a load is on a smoker, its fire burns at a setpoint that it accepts, from one burn."""
        for first, last, levels, chosen, firebox in load.stays:
            over = []
            warm = self.grid.up(self.grid.fireboxes[firebox].warm_up_min)
            for burn in self.burns[firebox]:
                on = self.model.new_bool_var("")
                self.model.add(first >= burn.lit + warm).only_enforce_if(on)
                self.model.add(last <= burn.out).only_enforce_if(on)
                self.model.add_bool_or([burn.at[f] for f in sorted(levels)]).only_enforce_if(on)
                over.append(on)
            self.model.add_exactly_one([*over, chosen.negated()])

    def board(self, solver: cp_model.CpSolver) -> Board:
        """A solution on the board."""
        grid = self.grid
        levels = [np.zeros(grid.steps, dtype=np.int64) for _ in grid.fireboxes]
        for burn in (burn for burns in self.burns for burn in burns if solver.value(burn.used)):
            first = solver.value(burn.lit) + grid.up(grid.fireboxes[burn.firebox].warm_up_min)
            setpoint = next(f for f, var in burn.at.items() if solver.value(var))
            levels[burn.firebox][first : solver.value(burn.out)] = setpoint
        board = Board.empty(grid, Frame(tuple(levels), self.staff.called(solver)))
        for load in self.chains:
            placed = load.placed(solver)
            if placed is not None:
                _join(board, placed)
        return board


def _join(board: Board, load: Placed) -> None:
    """Put a load; one that goes with another in everything becomes part of it."""
    for other in board.placed:
        if replace(other, pieces=load.pieces) == load:
            board.take(other)
            load = replace(load, pieces=load.pieces + other.pieces)
            break
    board.put(load)
