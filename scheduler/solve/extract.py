"""From a point of the flow model back to things that happen: batches of pieces, burns, shifts."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from scheduler.solve.flow import FlowModel, StreamColumns
from scheduler.solve.flow_fire import FireColumns
from scheduler.solve.grid import Grid, ShiftOption, Stream
from scheduler.solve.milp import Floats, RunningTotal


@dataclass(frozen=True, slots=True)
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
class Burn:
    """A firebox from lighting to out, in steps; setpoints from the step at which each holds."""

    firebox: int
    lit: int
    out: int
    setpoints: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Draft:
    """What a point of the flow model says, before racks, shelves and people are settled."""

    grid: Grid
    batches: dict[Batch, int]
    """Pieces in each batch."""
    burns: tuple[Burn, ...]
    shifts: tuple[ShiftOption, ...]


def draft(model: FlowModel, x: Floats) -> Draft:
    """Read a point of the flow model."""
    grid = model.grid
    batches: Counter[Batch] = Counter()
    for stream, columns in zip(grid.streams, model.streams, strict=True):
        batches.update(_batches(grid, stream, columns, x))
    burns = tuple(
        burn for b, fire in enumerate(model.fires) for burn in _burns(b, fire, x, grid.up(fire.firebox.warm_up_min))
    )
    shifts = tuple(option for option, column in zip(grid.shifts, model.shifts, strict=True) if x[column] > 0.5)
    return Draft(grid, dict(batches), burns, shifts)


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


def _hand_over(
    grid: Grid, off: list[list[int]], on: list[list[int]]
) -> Counter[tuple[int, int, int, int]]:
    """Match pieces coming off with finish places: same racks first, then the same smoker, then the rest."""
    found: Counter[tuple[int, int, int, int]] = Counter()

    def same_rack(a: int, b: int) -> bool:
        return a == b

    def same_smoker(a: int, b: int) -> bool:
        return grid.places[a].name == grid.places[b].name

    def any_place(a: int, b: int) -> bool:
        del a, b
        return True

    for alike in (same_rack, same_smoker, any_place):
        for source in off:
            for target in on:
                taken = min(source[2], target[2])
                if taken and alike(source[0], target[0]):
                    found[source[0], source[1], target[0], target[1]] += taken
                    source[2] -= taken
                    target[2] -= taken
    return found


def _burns(index: int, fire: FireColumns, x: Floats, warm: int) -> list[Burn]:
    found: list[Burn] = []
    start: int | None = None
    for step in range(len(fire.lit) + 1):
        lit = step < len(fire.lit) and x[fire.lit[step]] > 0.5
        if lit and start is None:
            start = step
        elif not lit and start is not None:
            found.append(Burn(index, start, step, _setpoints(fire, x, start + warm, step)))
            start = None
    return [burn for burn in found if burn.setpoints]


def _setpoints(fire: FireColumns, x: Floats, first: int, last: int) -> tuple[tuple[int, int], ...]:
    """Changes of setpoint; the first one is moved to the moment at which the fire is ready."""
    found: list[tuple[int, int]] = []
    for step in range(first, last):
        held = [level for level, columns in fire.holds.items() if x[columns[step]] > 0.5]
        if held and (not found or found[-1][1] != held[0]):
            found.append((step if found else first, held[0]))
    return tuple(found)
