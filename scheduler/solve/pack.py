"""Packing pieces into racks, shelves and cabinets over time: an exact small model for CP-SAT."""

from __future__ import annotations

from dataclasses import dataclass

from ortools.sat.python import cp_model


@dataclass(frozen=True, slots=True)
class Use:
    """One piece takes so many hundredths of a space of a bin from one minute to another."""

    bin: str
    start_min: int
    end_min: int
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


@dataclass(frozen=True, slots=True)
class Packed:
    """Pieces of each item by option, and pieces left out of each item."""

    placed: tuple[tuple[int, ...], ...]
    left: tuple[int, ...]


SPLIT = 4
"""Awkwardness of each option used: splitting a load in two makes two loads to label, wrap and pull."""


def pack(items: list[Item], sizes: dict[str, int], work: float = 4.0) -> Packed:
    """Place as much worth as can be, then as little awkwardly as the work limit allows.

    `sizes` are the bins' sizes in hundredths of a space. `work` is CP-SAT's deterministic time, so that the answer repeats.
    """
    if not items:
        return Packed((), ())
    model = cp_model.CpModel()
    counts = [[model.new_int_var(0, item.pieces, "") for _ in item.options] for item in items]
    used = [[model.new_bool_var("") for _ in item.options] for item in items]
    left = [model.new_int_var(0, item.pieces, "") for item in items]
    awkward: list[cp_model.LinearExprT] = []
    for item, count, use, rest in zip(items, counts, used, left, strict=True):
        model.add(sum(count) + rest == item.pieces)
        for option, n, yes in zip(item.options, count, use, strict=True):
            model.add(n <= item.pieces * yes)
            model.add(n >= yes)
            awkward.append((SPLIT + option.awkward) * yes)
    _fit(model, items, counts, sizes)
    dearest = sum((SPLIT + o.awkward) for item in items for o in item.options) + 1
    model.minimize(sum(rest * item.worth * dearest for item, rest in zip(items, left, strict=True)) + sum(awkward))
    for item, count, rest in zip(items, counts, left, strict=True):
        if item.options:
            model.add_hint(rest, 0)
            model.add_hint(count[0], item.pieces)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_deterministic_time = work
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Packed(tuple(tuple(0 for _ in item.options) for item in items), tuple(item.pieces for item in items))
    return Packed(
        tuple(tuple(solver.value(n) for n in count) for count in counts), tuple(solver.value(rest) for rest in left)
    )


def _fit(
    model: cp_model.CpModel, items: list[Item], counts: list[list[cp_model.IntVar]], sizes: dict[str, int]
) -> None:
    """At each start of a use, what overlaps it fits the bin: occupancy only rises at starts."""
    by_bin: dict[str, list[tuple[Use, cp_model.IntVar]]] = {}
    for item, count in zip(items, counts, strict=True):
        for option, n in zip(item.options, count, strict=True):
            for use in option.uses:
                by_bin.setdefault(use.bin, []).append((use, n))
    for name, uses in by_bin.items():
        for start in sorted({use.start_min for use, _ in uses}):
            on = [(use.size, n) for use, n in uses if use.start_min <= start < use.end_min]
            model.add(sum(size * n for size, n in on) <= sizes[name])
