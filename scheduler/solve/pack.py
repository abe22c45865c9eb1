"""Packing pieces into racks, shelves and cabinets over time: an exact small model for CP-SAT."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from ortools.sat.python import cp_model

from scheduler.solve.frame import Ints

Bin = tuple[str, int]
"""Kind and number of a rack, shelf or cabinet."""


@dataclass(frozen=True, slots=True)
class Use:
    """One piece takes so many hundredths of a space of a bin, from one step up to another."""

    bin: Bin
    start: int
    end: int
    size: int


@dataclass(frozen=True, slots=True)
class Option:
    """One way to place a piece, and how awkward that is for the crew (0 is best)."""

    uses: tuple[Use, ...]
    awkward: int = 0


@dataclass(frozen=True, slots=True)
class Item:
    """So many like pieces to be placed."""

    pieces: int
    worth: int
    """What one piece left out costs, in any unit that compares items."""
    options: tuple[Option, ...]


Packed = tuple[tuple[int, ...], ...]
"""Pieces of each item by option; what is missing from an item's pieces is left out."""

SPLIT = 4
"""Awkwardness of each option used: splitting a load in two makes two loads to label, wrap and pull."""


def pack(items: Sequence[Item], rooms: Mapping[Bin, Ints], work: float = 1.0) -> Packed:
    """Place as much worth as can be, then as little awkwardly as the work limit allows.

    `rooms` tells the room of each bin over time, in hundredths of a space. `work` is CP-SAT's deterministic time: the
    answer repeats.
    """
    model = cp_model.CpModel()
    counts = [[model.new_int_var(0, item.pieces, "") for _ in item.options] for item in items]
    awkward: list[cp_model.LinearExpr] = []
    placed: list[cp_model.LinearExpr] = []
    for item, count in zip(items, counts, strict=True):
        model.add(cp_model.LinearExpr.sum(count) <= item.pieces)
        for option, n in zip(item.options, count, strict=True):
            used = model.new_bool_var("")
            model.add(n <= item.pieces * used)
            awkward.append((SPLIT + option.awkward) * used)
            placed.append(item.worth * n)
        if item.options:
            model.add_hint(count[0], item.pieces)
    _fit(model, items, counts, rooms)
    # One piece of the least worth outweighs all awkwardness together.
    dearest = sum(SPLIT + option.awkward for item in items for option in item.options) + 1
    model.minimize(cp_model.LinearExpr.sum(awkward) - dearest * cp_model.LinearExpr.sum(placed))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_deterministic_time = work
    if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return tuple(tuple(0 for _ in item.options) for item in items)
    return tuple(tuple(solver.value(n) for n in count) for count in counts)


def _fit(
    model: cp_model.CpModel, items: Sequence[Item], counts: list[list[cp_model.IntVar]], rooms: Mapping[Bin, Ints]
) -> None:
    """What overlaps fits the bin, at each start of a use and where there is less room than before."""
    by_bin: dict[Bin, list[tuple[Use, cp_model.IntVar]]] = {}
    for item, count in zip(items, counts, strict=True):
        for option, n in zip(item.options, count, strict=True):
            for use in option.uses:
                by_bin.setdefault(use.bin, []).append((use, n))
    for name, uses in by_bin.items():
        room = rooms[name]
        falls = (np.flatnonzero(np.diff(room) < 0) + 1).tolist()
        for at in sorted({*(use.start for use, _ in uses), *falls}):
            on = [use.size * n for use, n in uses if use.start <= at < use.end]
            if on:
                model.add(cp_model.LinearExpr.sum(on) <= int(room[at]))
