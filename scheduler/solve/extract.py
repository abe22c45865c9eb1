"""From a point of the flow model back to things that happen: batches of pieces, setpoints, shifts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.solve.flow import FlowModel
from scheduler.solve.flow_fire import FireColumns
from scheduler.solve.flow_streams import StreamColumns
from scheduler.solve.frame import Ints
from scheduler.solve.grid import Grid, Stream
from scheduler.solve.milp import Floats, RunningTotal
from scheduler.solve.shift_options import ShiftOption


@dataclass(frozen=True, slots=True, order=True)
class Batch:
    """Pieces of a stream that share place, times and wave; not yet on racks. Steps, not minutes."""

    stream: int
    smoke_place: int
    finish_place: int
    load_step: int
    wrap_step: int | None
    demand: int

    @property
    def finish_step(self) -> int:
        """When the uncertain stage starts."""
        return self.load_step if self.wrap_step is None else self.wrap_step


@dataclass(frozen=True, slots=True)
class Draft:
    """What a point of the flow model says, before racks, shelves and people are settled."""

    batches: dict[Batch, int]
    """Pieces in each batch."""
    levels: tuple[Ints, ...]
    """Setpoint by firebox and step, 0 where it can't cook."""
    shifts: tuple[ShiftOption, ...]


def draft(model: FlowModel, x: Floats) -> Draft:
    """Read a point of the flow model of places seen one by one. ValueError if they are melted."""
    if model.zones.melted:
        raise ValueError("a melted kitchen does not say where things stand")
    grid = model.zones.grid
    batches = batches_of(grid, model.streams, x)
    used = used_by(grid, batches)
    levels = tuple(levels_of(grid, fire, x, hot) for fire, hot in zip(model.fires, used, strict=True))
    shifts = tuple(option for option, column in zip(grid.shifts, model.shifts, strict=True) if x[column] > 0.5)
    return Draft(batches, levels, shifts)


def batches_of(grid: Grid, streams: list[StreamColumns], x: Floats) -> dict[Batch, int]:
    """Pieces by batch, in order of time."""
    found: Counter[Batch] = Counter()
    for stream, columns in zip(grid.streams, streams, strict=True):
        found.update(_batches(grid, stream, columns, x))
    return dict(sorted(found.items(), key=lambda pair: _order(pair[0])))


def _order(batch: Batch) -> tuple[int, ...]:
    wrap = -1 if batch.wrap_step is None else batch.wrap_step
    return batch.load_step, batch.stream, batch.smoke_place, batch.finish_place, wrap, batch.demand


def _amounts(total: RunningTotal, x: Floats) -> list[tuple[int, int]]:
    found = ((step, round(x[column])) for step, column in zip(total.steps, total.amount, strict=True))
    return [(step, n) for step, n in found if n]


def _batches(grid: Grid, stream: Stream, columns: StreamColumns, x: Floats) -> Counter[Batch]:
    found: Counter[Batch] = Counter()
    finishing: dict[int, list[list[int]]] = {}
    for (place, demand, step), column in columns.by_demand.items():
        if n := round(x[column]):
            finishing.setdefault(step, []).append([place, demand, n])
    if not stream.recipe.wrapped:
        for step, starts in finishing.items():
            for place, demand, n in starts:
                found[Batch(stream.index, place, place, step, None, demand)] += n
        return found
    wrapped = _first_in_first_out(columns, x)
    for step, starts in sorted(finishing.items()):
        for (place, load_step, finish, demand), n in _hand_over(grid, wrapped.get(step, []), starts).items():
            found[Batch(stream.index, place, finish, load_step, step, demand)] += n
    return found


def _first_in_first_out(columns: StreamColumns, x: Floats) -> dict[int, list[list[int]]]:
    """Pieces wrapped, by step: [place, load step, pieces]."""
    found: dict[int, list[list[int]]] = {}
    for place, wrapped in columns.wrapped.items():
        waiting = [list(pair) for pair in _amounts(columns.loaded[place], x)]
        for step, n in _amounts(wrapped, x):
            while n:
                taken = min(n, waiting[0][1])
                found.setdefault(step, []).append([place, waiting[0][0], taken])
                waiting[0][1] -= taken
                n -= taken
                if not waiting[0][1]:
                    waiting.pop(0)
    return found


def _hand_over(grid: Grid, off: list[list[int]], on: list[list[int]]) -> Counter[tuple[int, int, int, int]]:
    """Match pieces coming off with finish places: same racks first, then the same smoker, then the rest."""
    found: Counter[tuple[int, int, int, int]] = Counter()

    def same_racks(a: int, b: int) -> bool:
        return a == b

    def same_smoker(a: int, b: int) -> bool:
        return grid.places[a].name == grid.places[b].name

    def any_place(a: int, b: int) -> bool:
        del a, b
        return True

    for alike in (same_racks, same_smoker, any_place):
        for source in off:
            for target in on:
                taken = min(source[2], target[2])
                if taken and alike(source[0], target[0]):
                    found[source[0], source[1], target[0], target[1]] += taken
                    source[2] -= taken
                    target[2] -= taken
    return found


def used_by(grid: Grid, batches: Iterable[Batch]) -> list[NDArray[np.bool_]]:
    """The steps at which something is on a firebox's racks, by firebox."""
    used = [np.zeros(grid.steps, dtype=np.bool_) for _ in grid.fireboxes]
    for batch in batches:
        late_min = next(f.took.late_min for f in grid.streams[batch.stream].finish if f.place == batch.finish_place)
        stays = [
            (batch.smoke_place, batch.load_step, batch.finish_step),
            (batch.finish_place, batch.finish_step, batch.finish_step + grid.up(late_min)),
        ]
        for place, first, last in stays:
            firebox = grid.places[place].firebox
            if firebox is not None:
                used[firebox][first:last] = True
    return used


def levels_of(grid: Grid, fire: FireColumns, x: Floats, used: NDArray[np.bool_]) -> Ints:
    """The setpoint at each step, burn by burn from the moment it is warm to its last use.

    A burn is lit when the point says so, even if nothing is loaded for a while: its lighter may be busy later. Where
    the point names no setpoint, the former goes on.
    """
    warm = grid.up(fire.firebox.warm_up_min)
    held: Ints = np.zeros(len(fire.lit), dtype=np.int64)
    for level, columns in fire.holds.items():
        held[x[columns] > 0.5] = level
    levels = np.zeros_like(held)
    lit = np.flatnonzero(x[fire.lit] > 0.5)
    for burn in np.split(lit, np.flatnonzero(np.diff(lit) > 1) + 1):
        hot = burn[used[burn]]
        if len(hot):
            now = int(held[hot[0]])
            for step in range(int(burn[0]) + warm, int(hot[-1]) + 1):
                now = int(held[step]) if used[step] else now
                levels[step] = now
    return levels
