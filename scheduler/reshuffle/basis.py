"""What a new plan starts from: the weekend on its grid with the past pinned, and the old plan laid on it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from scheduler.model.past import Begun, Burning, Spot
from scheduler.model.plan import Fire
from scheduler.model.site import Firebox
from scheduler.model.weekend import Demand
from scheduler.reshuffle.crew_ahead import (
    called_shifts,
    counter_most,
    counter_spans,
    dearer,
    help_step,
    laid_on,
    running_option,
    to_call,
    told_shifts,
    wraps_in_time,
)
from scheduler.reshuffle.prices import PRICES, ChangePrice
from scheduler.reshuffle.state import State
from scheduler.solve.board import Placed
from scheduler.solve.frame import Frame, Ints
from scheduler.solve.grid import Grid, build_grid
from scheduler.solve.hands import people_with
from scheduler.solve.laid import placed_of
from scheduler.solve.pinned import Burnt, Pinned, spots_of
from scheduler.solve.shift_options import ShiftOption, skill_sets

if TYPE_CHECKING:
    from scheduler.reshuffle.ways import Ways


@dataclass(frozen=True, slots=True)
class Basis:
    """The state on a grid. `grid` is pinned, but nothing that has begun is laid on it yet."""

    state: State
    grid: Grid
    frame: Frame
    """Fires and shifts as the old plan has them."""
    old: dict[str, Placed]
    """Loads of the old plan that have not begun, by code."""
    can_burn: tuple[Ints, ...]
    """1 at the steps from now on at which a firebox could be warm, by firebox."""
    can_pull: NDArray[np.bool_]
    """Steps at which somebody who can pull is there or could be."""
    offsets: tuple[int, ...]
    """Degrees of offset by spot."""

    price: ChangePrice
    called_cents: dict[ShiftOption, float]
    """What was laid on the wage of each shift; below 0 for one that was told, which costs to be called off."""
    known: dict[str, Ways] = field(default_factory=dict)
    """Ways on that were worked out."""

    def ways(self, begun: Begun) -> Ways:
        """The ways on of a load that has begun."""
        from scheduler.reshuffle.ways import Ways

        if begun.code not in self.known:
            self.known[begun.code] = Ways(self, begun)
        return self.known[begun.code]

    def laid_on_cents(self, shifts: tuple[ShiftOption, ...]) -> float:
        """What was laid on the wages of some shifts."""
        return sum(self.called_cents.get(option, 0.0) for option in shifts)

    @property
    def off_cents(self) -> float:
        """What it would cost to call everybody off who was told to come."""
        return -sum(cents for cents in self.called_cents.values() if cents < 0)

    @property
    def pinned(self) -> Pinned:
        """What is fixed."""
        assert self.grid.pinned is not None
        return self.grid.pinned

    @property
    def step(self) -> int:
        """The first step that may change."""
        return self.pinned.step

    def spot(self, spot: Spot) -> int | None:
        """Index of a rack or oven; None if the kitchen does not have it."""
        return self.grid.spot_of.get((spot.place, spot.rack))

    def open_begun(self) -> list[Begun]:
        """What has begun and is not served yet, or not even done though its serving is over."""
        found = []
        for begun in self.state.past.begun:
            demand = self.grid.demand_of.get((begun.cut, begun.wave))
            open_wave = demand is not None and self.grid.served_min[demand] > self.state.from_min
            if open_wave or not begun.done:
                found.append(begun)
        return found


def basis_of(state: State, price: ChangePrice = PRICES) -> Basis:
    """Lay a state on the grid of its plan.

    The price of a call is laid on the wages, so that the search reckons with it.
    """
    bare = build_grid(state.scenario, state.plan.certificate.grid_min)
    step = min(bare.down(state.from_min), bare.steps)
    running = tuple(running_option(state, run) for run in state.past.shifts)
    told = told_shifts(state)
    shifts = (*running, *(dearer(option, told, price) for option in to_call(state, bare, running)))
    helped = help_step(state, bare, running, shifts)
    pinned = Pinned(
        step=step,
        ways=(),
        burnt=tuple(_burnt(state, bare, i, step) for i in range(len(bare.fireboxes))),
        running=running,
        closed=tuple(tuple(_closed(state, bare, box.name)) for box in bare.fireboxes),
        helped=helped,
        counter=counter_most(bare, running, shifts, step, helped),
    )
    known = {
        "counter": tuple(counter_spans(bare, pinned.counter, step)),
        "helped_min": helped * bare.step_min,
        "begun": tuple(wraps_in_time(begun, helped * bare.step_min, state.from_min) for begun in state.past.begun),
    }
    state = replace(state, past=state.past.model_copy(update=known))
    grid = replace(bare, pinned=pinned, shifts=shifts, skill_sets=skill_sets(shifts), demands=_deliverable(state, bare))
    basis = Basis(
        state=state,
        grid=grid,
        frame=Frame(_levels(state, grid), called_shifts(state, grid)),
        old={},
        can_burn=tuple(_can_burn(grid, i) for i in range(len(grid.fireboxes))),
        can_pull=people_with(grid, shifts, frozenset({"pit"})) > 0,
        price=price,
        called_cents={o: laid_on(o, told, price) for o in shifts if o not in running},
        offsets=tuple(grid.places[s.place].offset_f for s in grid.spots),
    )
    return replace(basis, old=dict(_still_to_come(basis)))


# Fires ---------------------------------------------------------------------------------------------------------------


def _burnt(state: State, grid: Grid, firebox: int, step: int) -> Burnt:
    box = grid.fireboxes[firebox]
    held = np.zeros(grid.steps, dtype=np.int64)
    ready_step, setpoint, clean_left = None, box.setpoints_f[0], 0
    for fire in state.past.fires:
        if fire.firebox != box.name:
            continue
        ready = grid.up(fire.lit_min + box.warm_up_min)
        end = step if fire.out_min is None else min(step, grid.up(fire.out_min))
        _hold(held, grid, fire, ready, end)
        setpoint = fire.setpoints[-1][1]
        ready_step, clean_left = (ready, 0) if fire.out_min is None else (None, _to_clean(state, box, fire.out_min))
    return Burnt(held, ready_step, setpoint, clean_left)


def _to_clean(state: State, box: Firebox, out_min: int) -> int:
    """Minutes of cleaning out that are left after a burn."""
    done = sum(
        task.minutes
        for task in state.past.tasks
        if task.kind == "clean" and task.place == box.name and state.clock.minute(task.at) >= out_min
    )
    return max(0, box.clean_out_min - done)


def _hold(held: Ints, grid: Grid, fire: Burning, ready: int, end: int) -> None:
    for i, (minute, setpoint) in enumerate(fire.setpoints):
        first = ready if i == 0 else max(ready, grid.up(minute))
        held[first : max(first, end)] = setpoint


def _closed(state: State, grid: Grid, name: str) -> Iterator[tuple[int, int]]:
    weekend = state.scenario.weekend
    for out in weekend.out_of_use:
        if out.place == name:
            first = 0 if out.from_at is None else grid.down(grid.minute(weekend.local(out.from_at)))
            last = grid.steps if out.until_at is None else grid.up(grid.minute(weekend.local(out.until_at)))
            yield max(0, first), min(grid.steps, last)


def _levels(state: State, grid: Grid) -> tuple[Ints, ...]:
    """Setpoints by step as the old plan has them."""
    found = []
    for box in grid.fireboxes:
        held = np.zeros(grid.steps, dtype=np.int64)
        for fire in state.plan.fires:
            if fire.firebox == box.name:
                _plan_levels(held, grid, fire)
        found.append(held)
    return tuple(found)


def _plan_levels(held: Ints, grid: Grid, fire: Fire) -> None:
    out = grid.up(grid.minute(fire.out_at))
    for setpoint in fire.setpoints:
        first = grid.up(grid.minute(setpoint.from_at))
        held[first : max(first, out)] = setpoint.setpoint_f


def _can_burn(grid: Grid, firebox: int) -> Ints:
    assert grid.pinned is not None
    burnt = grid.pinned.burnt[firebox]
    level = burnt.setpoint_f
    everywhere = tuple(
        np.full(grid.steps, level if i == firebox else 0, dtype=np.int64) for i in range(len(grid.fireboxes))
    )
    held = grid.pinned.frame(grid, Frame(everywhere, ())).levels[firebox]
    watched = people_with(grid, grid.shifts, frozenset({"fire"})) > 0
    watched[: grid.pinned.helped] = True
    found: Ints = ((held > 0) & watched).astype(np.int64)
    found[: grid.pinned.step] = 0
    return found


# Waves and loads -----------------------------------------------------------------------------------------------------


def _deliverable(state: State, grid: Grid) -> tuple[Demand, ...]:
    """Demands still to be served, less what was not delivered: the last waves and the cheapest pieces go first, never
    what is on.
    """
    demands = [
        demand if served > state.from_min else replace(demand, pieces=0)
        for demand, served in zip(grid.demands, grid.served_min, strict=True)
    ]
    on: dict[tuple[str, str], int] = {}
    for begun in state.past.begun:
        on[begun.cut, begun.wave] = on.get((begun.cut, begun.wave), 0) + begun.pieces
    order = sorted(range(len(demands)), key=lambda d: (grid.short_cents(d), -grid.ready_min[d]))
    for cut, missing in state.missing.items():
        planned: dict[str, int] = {}
        for load in state.plan.loads:
            if load.cut == cut:
                planned[load.wave] = planned.get(load.wave, 0) + load.pieces
        left = missing
        for d in order:
            demand = demands[d]
            if demand.cut != cut or not left or grid.served_min[d] <= state.from_min:
                continue  # What was served was there, whenever it is written down that pieces were missing.
            gone = min(left, max(0, planned.get(demand.wave, 0) - on.get((cut, demand.wave), 0)))
            demands[d] = replace(demand, pieces=planned.get(demand.wave, 0) - gone)
            left -= gone
    return tuple(demands)


def _still_to_come(basis: Basis) -> Iterator[tuple[str, Placed]]:
    begun = {b.code for b in basis.state.past.begun} | {loss.load for loss in basis.state.past.losses}
    for load in basis.state.plan.loads:
        if load.code not in begun:
            placed = placed_of(basis.grid, load)
            if placed is not None and placed.load_step >= basis.step and _in_time(basis, placed):
                yield load.code, placed


def _in_time(basis: Basis, load: Placed) -> bool:
    """True if it still suits its wrap window and its wave: weights and weather may have changed."""
    grid = basis.grid
    stream, places = grid.streams[load.stream], spots_of(grid)
    finish = next((f for f in stream.finish if f.place == places[load.finish_spot]), None)
    if finish is None or load.finish_step not in grid.finish_steps(stream, finish, load.demand):
        return False
    if load.wrap_step is None:
        return True
    smoke = next((s for s in stream.smoke if s.place == places[load.smoke_spot]), None)
    delay = (load.wrap_step - load.load_step) * grid.step_min
    return smoke is not None and smoke.wrap_from_min <= delay <= smoke.wrap_to_min
