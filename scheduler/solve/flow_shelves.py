"""Rest shelves and holding cabinets in the flow model: room at each minute at which pieces may come to them."""

from __future__ import annotations

from collections.abc import Callable, Collection
from itertools import pairwise

from scheduler.model.base import hundredths
from scheduler.solve.flow_streams import Streams
from scheduler.solve.milp import INF, MilpBuilder, RunningTotal, Terms, scaled


def into_step_min(pieces: Streams) -> list[int]:
    """Minutes into a step at which pieces may come to rest, in order."""
    rests = [option for option in pieces.zones.streams if option.stream.cut.rest_spaces]
    return sorted({finish.early_min % pieces.grid.step_min for option in rests for finish in option.finish})


def rest_rows(b: MilpBuilder, pieces: Streams, into_step: Collection[int], room: Callable[[int], float]) -> None:
    """What rests takes no more than the room at a minute, so many minutes into each step.

    Rest and hold begin and end between grid times. Room for all that touches a step would forbid plans in which one
    piece leaves the shelf as the next one comes, and the bound would not hold for them.
    """
    sizes = [
        (option, columns, finish, float(hundredths(option.stream.cut.rest_spaces)))
        for option, columns in zip(pieces.zones.streams, pieces.columns, strict=True)
        for finish in option.finish
        if option.stream.cut.rest_spaces
    ]
    for step in range(pieces.grid.steps):
        for minute in (step * pieces.grid.step_min + past for past in into_step):
            terms = pieces.in_hand.rests(minute)
            for option, columns, finish, size in sizes:
                terms += scaled(pieces.resting(option, columns, finish, minute), size)
            if terms:
                b.row(-INF, terms, room(minute))


def hold_rows(b: MilpBuilder, pieces: Streams, room: Callable[[frozenset[int], int, int], float]) -> None:
    """Held pieces by demand as running totals, with room at each minute at which pieces may come to the hold or leave.

    `room` tells that of some cabinets from one minute up to another. Cuts that accept fewer cabinets get rows of their
    own.
    """
    grid = pieces.grid
    held = {d: total for d in range(len(grid.demands)) if (total := _held(b, pieces, d)) is not None}
    cabinets = {d: frozenset(grid.cabinets_for(grid.cut_of(d))) for d in held}
    for some in sorted({*cabinets.values(), frozenset[int]().union(*cabinets.values())}, key=sorted):
        inside = [d for d in held if cabinets[d] <= some]
        changes = {minute for d in inside for minute in held[d].steps} | {grid.served_min[d] for d in inside}
        for minute, until in pairwise(sorted(changes)):
            terms: Terms = []
            for d in inside:
                if minute < grid.served_min[d]:
                    terms += scaled(held[d].until(minute), float(hundredths(grid.cut_of(d).hold_spaces)))
            if terms:
                b.row(-INF, terms, room(some, minute, until))


def _held(b: MilpBuilder, pieces: Streams, d: int) -> RunningTotal | None:
    """Pieces of a demand that have come to the hold; None if none ever does."""
    grid = pieces.grid
    entering = pieces.entering(d)
    if not grid.cut_of(d).hold_spaces or not entering:
        return None
    minutes = sorted(entering)
    total = [b.column(grid.demands[d].pieces, integer=False) for _ in minutes]
    for i, minute in enumerate(minutes):
        before: Terms = [(total[i - 1], 1.0)] if i else []
        b.row(0.0, [*before, *entering[minute], (total[i], -1.0)], 0.0)
    return RunningTotal(minutes, total, total)
