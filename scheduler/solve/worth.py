"""What it would cost to make pieces for which there is room: with the crew as it is, another shift, or a new roster."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.solve.board import Board
from scheduler.solve.call_in import may_also_work
from scheduler.solve.hands import people_with
from scheduler.solve.lifted import Opened
from scheduler.solve.settle import cost_cents, settle, trimmed
from scheduler.solve.shift_options import ShiftOption

TINY_MIN = 1e-6
MOST_SHIFTS = 10
"""Shifts tried beside those of the plan, the cheapest first."""


@dataclass(frozen=True, slots=True)
class Way:
    """A board with more pieces of a wave, no other wave having fewer."""

    board: Board
    pieces: int
    extra_cents: float
    """Cost beyond the plan's; negative if it pays."""
    extra_shift: ShiftOption | None = None
    """Where it is the plan's crew and one more shift."""

    @property
    def wages_cents(self) -> float:
        """Wages of the whole board."""
        return sum(option.wage_cent_min for option in self.board.frame.shifts) / 60


def more_of(board: Board, planned: Board, demand: int) -> int:
    """Pieces of a wave more than planned; 0 where they only take the place of others."""
    more = [now - then for now, then in zip(board.made(), planned.made(), strict=True)]
    return more[demand] if min(more) >= 0 else 0


def cheapest_way(
    opened: Opened, demand: int, pieces: int, fits: list[Board], closely: Callable[[], bool]
) -> Way | None:
    """The cheapest way to make pieces that fit on the opened boards `fits`; None if no lawful crew can do it.

    Shifts are tried beside those of the plan while `closely` says so.
    """
    planned, before = opened.planned, cost_cents(opened.planned)
    found = []
    for board, shift in _settled(opened, demand, pieces, fits, closely):
        if (more := more_of(board, planned, demand)) and manned(board):
            found.append(Way(board, more, cost_cents(board) - before, shift))
    # A piece that costs less beyond the plan counts before many that cost more.
    return min(found, key=lambda way: way.extra_cents, default=None)


def _settled(
    opened: Opened, demand: int, pieces: int, fits: list[Board], closely: Callable[[], bool]
) -> Iterator[tuple[Board, ShiftOption | None]]:
    crew = opened.planned.frame.shifts
    as_it_is = opened.with_all({demand: pieces}, crew)
    for board in as_it_is:
        yield settle(board, old_shifts=True), None
    for shift in [] if as_it_is else _helpful(opened.planned, fits):
        if not closely():
            break
        for board in opened.with_all({demand: pieces}, (*crew, shift)):
            yield settle(board, old_shifts=True), shift
    for board in fits:
        yield settle(board), None


def _helpful(planned: Board, fits: list[Board]) -> list[ShiftOption]:
    """Shifts of people who may come in beside the crew, at steps at which the crew lacks hands for what fits."""
    grid, crew = planned.grid, planned.frame.shifts
    lacking = np.any([_lacking(planned, board) for board in fits], axis=0)
    able = [
        option
        for option in grid.shifts
        if option not in crew
        and lacking[grid.up(option.start_min) : grid.down(option.end_min)].any()
        and may_also_work(grid, option, crew)
    ]
    return sorted(able, key=lambda option: option.wage_cent_min)[:MOST_SHIFTS]


def _lacking(planned: Board, wanted: Board) -> NDArray[np.bool_]:
    """Steps at which the crew of a plan has too few hands, or nobody, for the loads and fires of another board."""
    grid, crew = planned.grid, planned.frame.shifts
    bare = Board.empty(grid, planned.frame.with_shifts(crew).with_levels(trimmed(wanted)))
    for load in wanted.placed:
        bare.put(load)
    lacking: NDArray[np.bool_] = np.any([left < -TINY_MIN for _, left in bare.hands.left], axis=0)
    fires = np.zeros(grid.steps)
    for burn in bare.frame.burns(grid):
        fires[max(0, burn.lit) : burn.out] += 1
    lacking |= fires > people_with(grid, crew, frozenset({"fire"})) * grid.scenario.crew.fires_per_person
    for load in wanted.placed:
        pulls = bare.pull_steps(load)
        lacking[pulls.start : pulls.stop] |= ~bare.hands.pit_there[pulls.start : pulls.stop]
    return lacking


def manned(board: Board) -> bool:
    """False where hands are overspent, as at a counter that nobody stands at: a board has no price for that."""
    return not board.hands.overspent()
