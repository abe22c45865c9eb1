"""The program of a stretch: its flow model with the plan as a point of it, and with what may be otherwise.

First with like racks as one zone, then place by place with what a point of that uses.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scheduler.solve.board import Board
from scheduler.solve.fire_rounds import rounds_every
from scheduler.solve.flow_stretch import StretchModel, stretch_flow
from scheduler.solve.grid import Stream
from scheduler.solve.in_hand import InHand
from scheduler.solve.left_over import LeftOver, Stretch, left_over
from scheduler.solve.milp import Floats, Milp
from scheduler.solve.parted import starts_used
from scheduler.solve.start import enter_fires, enter_loads
from scheduler.solve.zones import Starts, ZoneFinish, Zones, alike, one_by_one

AHEAD_MIN = 180
"""The fire may be lit so long before the first of the loads."""


@dataclass(frozen=True, slots=True)
class Told:
    """What the crew was told, and the price of a piece that starts to finish elsewhere or at another time, cents."""

    starts: frozenset[tuple[int, int, int, int]]
    """Stream, place, demand, step."""
    cents: float


@dataclass(frozen=True, slots=True)
class Night:
    """What is to be heeded where a plan is changed on the way."""

    told: Told | None = None
    in_hand: tuple[InHand, ...] = ()
    """What has begun and may go on otherwise."""
    crowded: frozenset[int] = frozenset()
    """Steps whose work could not be shared out."""
    brief: bool = False
    """What is held in hand is not freed in the end."""


BEFORE = Night()
"""Nothing has begun."""


@dataclass(frozen=True, slots=True)
class Program:
    """The model of a stretch, and the plan as a point of it."""

    left: LeftOver
    model: StretchModel
    milp: Milp
    """With the price of telling the crew otherwise."""
    now: Floats
    """The plan, but for what follows from its integers."""
    lower: Floats
    upper: Floats
    """Of the columns, with what is held in hand as it is."""
    night: Night

    @property
    def now_cents(self) -> float:
        """Cost of the plan in the model, with moves to another smoker or oven, which the model does not know."""
        return float(self.milp.cost @ self.now) + _moves_cents(self.left)

    @property
    def freed(self) -> Program:
        """The same with all that is in hand free."""
        lower, upper, held = self.lower.copy(), self.upper.copy(), self.model.in_hand.held
        lower[held], upper[held] = self.milp.lower[held], self.milp.upper[held]
        return replace(self, lower=lower, upper=upper)


def program(board: Board, stretch: Stretch, night: Night = BEFORE) -> Program:
    """The program of a stretch of a plan. Before the night it is that of a relaxation: like racks are one zone, shelves
    and changes of setpoint are left out. At night, when there are fewer racks and each counts, it is exact."""
    left = left_over(board, stretch, night.in_hand, night.crowded)
    before = night is BEFORE
    zones = alike(left.grid) if before else one_by_one(left.grid)
    return _program(left, stretch_flow(left, replace(zones, starts=_starts(left, zones)), lean=before), night)


def parted_program(rough: Program, x: Floats) -> Program:
    """The exact program, before the night, with what a point of that of a relaxation uses."""
    left = rough.left
    starts = starts_used(left.board, left.loads, rough.model, x)
    return _program(left, stretch_flow(left, one_by_one(left.grid, starts)), BEFORE)


def _program(left: LeftOver, model: StretchModel, night: Night) -> Program:
    milp = model.milp if night.told is None else replace(model.milp, cost=_with_price_of_change(model, night.told))
    now = entered(model, left)
    return Program(left, model, milp, now, *_fixed(model, left, now), night)


def thinned(zones: Zones, demand: int, most_starts: int, phase: int = 0) -> Iterator[tuple[Stream, ZoneFinish, int]]:
    """Stream, zone and step in which pieces of a demand may start to finish: some of all steps, so far from the last
    one as the phase says."""
    grid = zones.grid
    begun = 0 if grid.pinned is None else grid.pinned.step
    for option in zones.streams:
        for finish in option.finish:
            steps = [step for step in zones.finish_steps(option.stream, finish, demand) if step >= begun]
            by = max(1, -(-len(steps) // most_starts))
            for step in reversed(steps[::-1][phase % by :: by]):
                yield option.stream, finish, step


def _starts(left: LeftOver, zones: Zones) -> Starts:
    """Steps to choose from: some of all that are allowed and have somebody to pull, and what the plan has."""
    grid, board, stretch = left.grid, left.board, left.stretch
    chosen: dict[tuple[int, int, int], set[int]] = {}
    for demand in stretch.demands:
        for stream, finish, step in thinned(zones, demand, stretch.most_starts, stretch.phase):
            pulls = grid.touched(step * grid.step_min + finish.early_min, step * grid.step_min + finish.late_min)
            if board.hands.pit_there[pulls.start : pulls.stop].all():
                chosen.setdefault((stream.index, finish.zone, demand), set()).add(step)
    zone_of = zones.zone_of
    for load in left.loads:
        zone = zone_of[board.spots[load.finish_spot].place]
        chosen.setdefault((load.stream, zone, load.demand), set()).add(load.finish_step)
    return {key: sorted(steps) for key, steps in chosen.items()}


def _with_price_of_change(model: StretchModel, told: Told) -> Floats:
    cost = model.milp.cost.copy()
    for stream, columns in enumerate(model.streams):
        for (place, demand, step), column in columns.by_demand.items():
            if (stream, place, demand, step) not in told.starts:
                cost[column] += told.cents
    return cost


def entered(model: StretchModel, left: LeftOver) -> Floats:
    """The plan as a point of the model, but for what follows from its integers."""
    x: Floats = np.zeros(model.milp.size[1])
    enter_loads(x, model.zones, model.streams, left.board, left.loads)
    enter_fires(x, model.fires, left.board)
    model.in_hand.enter(x)
    going = [(load.demand, load.pieces) for load in left.loads]
    going += [(way.demand, n) for load in left.in_hand for way, n in zip(load.ways, load.now, strict=True)]
    for d, (short, demand) in enumerate(zip(model.shorts, left.grid.demands, strict=True)):
        x[short] = demand.pieces - sum(pieces for wave, pieces in going if wave == d)
    return x


def _moves_cents(left: LeftOver) -> float:
    """What moves to another smoker or oven cost in the stretch: the model has no integers for them."""
    grid, spots = left.grid, left.board.spots
    cents = 0.0
    for load in left.loads:
        smoke, finish = (grid.places[spots[spot].place].name for spot in (load.smoke_spot, load.finish_spot))
        cents += load.pieces * grid.streams[load.stream].cut.move_cents * (smoke != finish)
    return cents


def _fixed(model: StretchModel, left: LeftOver, value: Floats) -> tuple[Floats, Floats]:
    """Bounds of the columns: fires outside the hours of the stretch are as in the plan, whose values are given."""
    grid = left.board.grid
    fixed = model.in_hand.held
    for firebox, fire in model.fires.items():
        free = _free_hours(left, firebox)
        every = rounds_every(grid, fire.firebox)
        for column in (fire.lit, fire.lighting, *fire.holds.values()):
            fixed += [j for step, j in enumerate(column) if not free[step]]
        fixed += [j for step, j in enumerate(fire.lighting) if (step - firebox) % every]
    lower, upper = model.milp.lower.copy(), model.milp.upper.copy()
    lower[fixed] = upper[fixed] = value[fixed]
    return lower, upper


def _free_hours(left: LeftOver, firebox: int) -> NDArray[np.bool_]:
    """Steps in which a fire of the stretch may be changed: about those in which its loads cook."""
    grid = left.board.grid
    begun = [load.load_step for load in left.loads]
    for stream in grid.streams:
        for finish in stream.finish:
            begun += [step for d in left.stretch.demands for step in grid.finish_steps(stream, finish, d)[:1]]
    if left.in_hand:
        begun.append(0)
    first = min(begun, default=0) - grid.up(AHEAD_MIN)
    free = np.zeros(grid.steps, dtype=np.bool_)
    free[max(0, first) : max(grid.up(grid.ready_min[d]) for d in left.stretch.demands)] = True
    if grid.pinned is not None:
        free &= grid.pinned.free_to_burn(grid, firebox)
    return free
