"""A finished plan taken up again for other quantities: the search goes on from it instead of from nothing."""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from random import Random

import numpy as np

from scheduler.model.plan import Load, Plan, StoppedBy
from scheduler.model.scenario import Scenario
from scheduler.solve.board import Board, Placed
from scheduler.solve.checked import checked
from scheduler.solve.frame import Frame, Ints
from scheduler.solve.grid import Grid, build_grid
from scheduler.solve.improve import Found, found
from scheduler.solve.laid import placed_of
from scheduler.solve.lines import Lines
from scheduler.solve.progress import certificate
from scheduler.solve.relief import explain
from scheduler.solve.shift_options import ShiftOption

REPAIRS = 2
EXPLAIN_SHARE, EXPLAIN_LEAST_S = 0.15, 2.0
"""Part of the time, and the least, in which the reasons of shorts are looked for."""
CLOSE_CENTS = 100
TRIED = 12
"""So many of the best boards are made into plans, until one is not dearer than the next board by more than a dollar."""


def plan_again(
    plan: Plan,
    scenario: Scenario,
    *,
    seconds: float = 30.0,
    work: int | None = None,
    seed: int = 0,
    reasons: bool = True,
) -> Plan:
    """The best plan of a scenario found from one for the same kitchen and waves; the given one if none is cheaper.

    A wave of the plan may be several demands of the scenario (`Weekend.demands`): its pieces go to the first that has
    room. Stops after `seconds` or, repeatably, after `work` moves. With `reasons` it says of each short why. The plan
    that comes back has passed the audit of the scenario. ValueError if the plan asks for what the scenario does not
    have.
    """
    began = time.monotonic()
    grid = build_grid(scenario, plan.certificate.grid_min)
    start = found(board_of(plan, grid))
    lines = Lines([start], Random(seed))
    until, moves, best = began + (1 - EXPLAIN_SHARE) * seconds, 0, [start]
    while moves < work if work is not None else time.monotonic() < until:
        left_s = None if work is not None else until - time.monotonic()
        lines.move(1 - left_s / seconds if left_s is not None else moves / (work or 1), left_s)
        moves += 1
        if lines.best.cents < best[-1].cents - 1e-6:
            best.append(lines.best)
    found_plan, board = _cheapest([*best[::-1][:TRIED], start], grid)
    why: StoppedBy = "time" if work is None else "work"
    gone = time.monotonic() - began if work is None else 0.0
    signed = certificate(found_plan.cost.total, None, grid.step_min, gone, why, seed)
    found_plan = found_plan.model_copy(update={"certificate": signed})
    if not reasons:
        return found_plan
    least = max(EXPLAIN_LEAST_S, EXPLAIN_SHARE * seconds)
    return explain(found_plan, board, seconds=least, seed=seed, work=None if work is None else max(1, work // 10))


def _cheapest(boards: list[Found], grid: Grid) -> tuple[Plan, Board]:
    """The cheapest plan that the audit passes; the boards come from the cheapest to the first."""
    best: tuple[Plan, Board] | None = None
    for one in boards:
        if best is not None and best[0].cost.total <= one.cents + CLOSE_CENTS:
            break
        made = checked(one.board, REPAIRS)
        if made is not None and (best is None or made.cost.total < best[0].cost.total):
            best = made, one.board
    if best is None:
        raise ValueError("the plan does not fit the scenario")
    return best


def board_of(plan: Plan, grid: Grid) -> Board:
    """A plan as a board. ValueError if something in it is not there or not on the grid."""
    frame = Frame(tuple(_levels(plan, grid, box.name) for box in grid.fireboxes), _shifts(plan, grid))
    board = Board.empty(grid, frame)
    room: dict[tuple[str, str], list[list[int]]] = defaultdict(list)
    for index, demand in enumerate(grid.demands):
        left = [index, demand.pieces]
        for wave in {demand.wave, demand.wave.partition(" +")[0]}:  # a load names its own demand, or the whole wave
            room[demand.cut, wave].append(left)
    for load in plan.loads:
        for placed in _parts(grid, load, room[load.cut, load.wave]):
            board.put(placed)
    return board


def _parts(grid: Grid, load: Load, room: list[list[int]]) -> Iterator[Placed]:
    """A load as pieces of those demands of its wave that have room; the room is taken up."""
    whole, left = placed_of(grid, load), load.pieces
    if whole is None:
        raise ValueError(f"load {load.code} is not on a grid of {grid.step_min} minutes, or not in this kitchen")
    for demand in room:
        pieces = min(left, demand[1])
        if pieces:
            demand[1] -= pieces
            left -= pieces
            yield replace(whole, demand=demand[0], pieces=pieces)
    if left:
        raise ValueError(f"load {load.code} holds {left} pieces more than its wave has in the scenario")


def _step(grid: Grid, minute: int) -> int:
    step, rest = divmod(minute, grid.step_min)
    if rest:
        raise ValueError(f"minute {minute} of the plan is not on a grid of {grid.step_min} minutes")
    return step


def _levels(plan: Plan, grid: Grid, firebox: str) -> Ints:
    levels: Ints = np.zeros(grid.steps, dtype=np.int64)
    for fire in (fire for fire in plan.fires if fire.firebox == firebox):
        out = _step(grid, grid.minute(fire.out_at))
        for setpoint in fire.setpoints:
            levels[grid.up(max(0, grid.minute(setpoint.from_at))) : out] = setpoint.setpoint_f
    return levels


def _shifts(plan: Plan, grid: Grid) -> tuple[ShiftOption, ...]:
    called = {(s.person, s.pattern, grid.minute(s.starts_at)) for s in plan.shifts}
    return tuple(o for o in grid.shifts if (o.person.name, o.pattern.name, o.start_min) in called)
