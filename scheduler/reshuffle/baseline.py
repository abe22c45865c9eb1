"""What it would come to without a new plan: only waiting, or doing nothing at all.

`right_shift` is the usual repair of schedules and the one to beat: everything stays where it is planned, with those
who are coming, and only happens later; what then comes too late for every wave is lost. `nothing_done` does not even
wait.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from scheduler.reshuffle.basis import Basis
from scheduler.reshuffle.candidate import chosen_ways, fitting, meat_cents, opened, plain_cents, with_ways
from scheduler.reshuffle.choose import Chosen
from scheduler.solve.board import Board, Placed, finish_at
from scheduler.solve.frame import Frame
from scheduler.solve.settle import settle, tended

LONGEST_WAIT_STEPS = 48


@dataclass(frozen=True, slots=True)
class Baseline:
    """What it would come to. Where hands are lacking for what is on, that is overlooked: in its favour."""

    cents: float
    """Cost of what is still to come, margin lost because loads are ready late, and meat lost."""
    short: int
    """Pieces of waves to come that are not made."""


def right_shift(basis: Basis) -> Baseline:
    """Only later, nothing else; not waiting at all where that is cheaper."""
    return min((_later(basis, wait) for wait in (LONGEST_WAIT_STEPS, 4, 0)), key=lambda found: found.cents)


def nothing_done(basis: Basis) -> Baseline:
    """As planned, as far as that can still be; the rest is lost."""
    return _later(basis, 0)


def _later(basis: Basis, longest: int) -> Baseline:
    frame = opened(basis, basis.frame) if longest else basis.frame
    asked = chosen_ways(basis, frame, later_only=True)
    chosen = _only_sound(basis, frame, asked)
    dropped = [(way.stream, way.pieces) for way in asked.ways if way not in chosen.ways]
    meat = meat_cents(basis, asked) + sum(n * basis.grid.streams[stream].cut.cost_cents for stream, n in dropped)
    grid = with_ways(basis, chosen.ways)
    board = Board.empty(grid, tended(grid, frame))
    loads = fitting(grid, chosen.ways, sorted(basis.old.values(), key=lambda load: (load.load_step, load.smoke_spot)))
    for load in loads:
        _put(board, load, longest)
    kept = _only(settle(board, old_shifts=True), board.placed)
    late = sum(way.late_cents for way in chosen.ways)
    short = sum(d.pieces - made for d, made in zip(kept.grid.demands, kept.made(), strict=True))
    return Baseline(plain_cents(basis, kept) + late + meat, short)


def _only_sound(basis: Basis, frame: Frame, chosen: Chosen) -> Chosen:
    """Without what would have no fire, or nobody to pull it: that is lost."""
    grid = with_ways(basis, chosen.ways)
    board = Board.empty(grid, tended(grid, frame))
    assert grid.pinned is not None
    sound = tuple(way for way in chosen.ways if not grid.pinned.fails(board, way))
    return Chosen(sound, chosen.lost)


def _put(board: Board, load: Placed, longest: int) -> None:
    """At its time or the first one after it at which it fits, for its wave or a later one that still wants it."""
    grid = board.grid
    stream = grid.streams[load.stream]
    finish = finish_at(stream, board.spots[load.finish_spot].place)
    made = board.made()
    name = grid.demands[load.demand].cut
    waves = sorted(
        (d for d, demand in enumerate(grid.demands) if demand.cut == name),
        key=lambda d: (d != load.demand, grid.ready_min[d]),
    )
    for wait in range(longest + 1):
        for wave in waves:
            left = grid.demands[wave].pieces - made[wave]
            if left <= 0 or (wave != load.demand and not wait):
                continue
            moved = _shifted(load, wait, wave, min(load.pieces, left))
            if moved.finish_step in grid.finish_steps(stream, finish, wave) and board.try_put(moved):
                return


def _shifted(load: Placed, wait: int, wave: int, pieces: int) -> Placed:
    wrap = None if load.wrap_step is None else load.wrap_step + wait
    return replace(load, load_step=load.load_step + wait, wrap_step=wrap, demand=wave, pieces=pieces)


def _only(settled: Board, loads: list[Placed]) -> Board:
    """The settled board without what was filled in beside: nothing new is cooked."""
    board = Board.empty(settled.grid, settled.frame)
    for load in loads:
        board.try_put(load)
    return board
