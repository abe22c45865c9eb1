"""From a model in which like racks are one zone to that of single places, with no more columns than a point uses.

The relaxation of the zoned model takes a third of the time, and what it uses in a zone may be used in each of its
places.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from scheduler.solve.board import Board, Placed
from scheduler.solve.flow_streams import StreamColumns
from scheduler.solve.flow_stretch import StretchModel
from scheduler.solve.milp import Floats, RunningTotal
from scheduler.solve.zones import Starts

TINY = 1e-6
"""What a point uses less of it does not use."""


def starts_used(board: Board, loads: Iterable[Placed], rough: StretchModel, x: Floats) -> Starts:
    """Steps to choose from: those of the loads, and in each place of a zone what a point has start to finish there."""
    chosen: dict[tuple[int, int, int], set[int]] = {}
    for load in loads:
        key = load.stream, board.spots[load.finish_spot].place, load.demand
        chosen.setdefault(key, set()).add(load.finish_step)
    for option, columns in zip(rough.zones.streams, rough.streams, strict=True):
        places = {finish.zone: [one.place for one in finish.places] for finish in option.finish}
        for (zone, demand, step), column in columns.by_demand.items():
            if x[column] > TINY:
                for place in places[zone]:
                    chosen.setdefault((option.stream.index, place, demand), set()).add(step)
    return {key: sorted(steps) for key, steps in chosen.items()}


def used_columns(model: StretchModel, rough: StretchModel, x: Floats) -> list[int]:
    """Columns of the model of single places of which a point of the zoned one uses anything: those of shorts, fires and
    amounts, and all starts, as there are no others."""
    return [*starts_of(model), *(column for column, other in _pairs(model, rough) if x[other] > TINY)]


def starts_of(model: StretchModel) -> list[int]:
    """Columns of all starts."""
    return [column for columns in model.streams for column in columns.by_demand.values()]


def _pairs(model: StretchModel, rough: StretchModel) -> Iterator[tuple[int, int]]:
    """Columns of the model of single places beside those of the zones that hold them."""
    yield from zip(model.shorts, rough.shorts, strict=True)
    for fire, same in zip(model.fires.values(), rough.fires.values(), strict=True):
        yield from zip(fire.lit, same.lit, strict=True)
        yield from zip(fire.lighting, same.lighting, strict=True)
        for level, columns in fire.holds.items():
            yield from zip(columns, same.holds[level], strict=True)
    zone_of = rough.zones.zone_of
    for mine, theirs in zip(model.streams, rough.streams, strict=True):
        for single, zoned in zip(totals(mine), totals(theirs), strict=True):
            for place, total in single.items():
                for step, column in zip(total.steps, total.amount, strict=True):
                    yield from ((column, other) for other, _ in zoned[zone_of[place]].at(step))


def totals(columns: StreamColumns) -> tuple[dict[int, RunningTotal], ...]:
    """What is loaded, wrapped and begins to finish, by zone."""
    return columns.loaded, columns.wrapped, columns.finishing
