"""How many pieces of a load that has begun can go on by a way, on a board as it stands."""

from __future__ import annotations

from scheduler.model.base import hundredths
from scheduler.reshuffle.basis import Basis
from scheduler.solve.board import Board
from scheduler.solve.frame import Ints, one_of
from scheduler.solve.pinned import Stay, WayOn

MANY = 10**6


def pieces_by(basis: Basis, board: Board, way: WayOn) -> int:
    """Most pieces, from room, fire and hands; shelves are chosen by `shelf_of` before."""
    cut = basis.grid.streams[way.stream].cut
    most = min(MANY, way.pieces)
    for stay in way.stays:
        room = board.free[stay.spot][stay.first : stay.last]
        most = min(most, int(room.min()) // hundredths(cut.spaces))
        if most <= 0:
            return 0
    if not all(_can_be_hot(basis, board, box, stay) for box, stay in basis.pinned.burning(basis.grid, way)):
        return 0
    return max(0, min(most, _hands(basis, board, way)))


def _can_be_hot(basis: Basis, board: Board, firebox: int, stay: Stay) -> bool:
    """The fire holds one of the setpoints all along, or is cold and could be lit for it."""
    held, hot = board.frame.levels[firebox], board.hot[firebox]
    can = basis.can_burn[firebox][stay.first : stay.last] > 0
    here = held[stay.first : stay.last]
    if basis.pinned.turns_too_late(basis.grid, firebox, stay):
        return False
    fine = one_of(here, stay.levels)
    idle = (here == 0) | (hot[stay.first : stay.last] == 0)
    # A change to another setpoint starts before it holds; it can wait if nothing needs it.
    change = basis.grid.up(basis.grid.fireboxes[firebox].setpoint_change_min)
    after = slice(stay.last, stay.last + change)
    comes = (held[after] > 0) & ~one_of(held[after], stay.levels) & (hot[after] > 0)
    return bool((can & (fine | idle)).all() and not comes.any())


def _hands(basis: Basis, board: Board, way: WayOn) -> int:
    grid, hands = basis.grid, board.hands
    need = grid.streams[way.stream].cut.hands
    most = float(MANY)
    if way.stop_step is not None and need.load_min:
        most = min(most, float(hands.least("pit")[way.stop_step]) / (2 * need.load_min))
    if way.wrap_step is not None and need.wrap_min:
        most = min(most, float(hands.least("wrap")[way.wrap_step]) / need.wrap_min)
    pulls = grid.touched(way.early_min, way.late_min)
    ahead = slice(max(pulls.start, basis.pinned.helped), pulls.stop)
    if ahead.start < ahead.stop:
        if not hands.pit_there[ahead].all():
            return 0
        if need.pull_min:
            most = min(most, float(hands.least("pit")[ahead].min()) * len(pulls) / need.pull_min)
    slices = grid.touched(grid.ready_min[way.demand], grid.served_min[way.demand])
    asked = slice(max(slices.start, basis.pinned.helped), max(slices.stop, basis.pinned.helped))
    if need.slice_min and asked.start < asked.stop:
        most = min(most, float(hands.least("slice")[asked].min()) * len(slices) / need.slice_min)
    return int(most + 1e-6)


def shelf_of(shelves: Ints, which: list[int], size: int, first: int, last: int, liked: int) -> tuple[int, int]:
    """A shelf or cabinet with room from one minute to another, and the pieces it takes; -1 where none is needed.

    The one that is liked is taken where it has any room; else the roomiest.
    """
    if not size or first >= last:
        return (liked if size else -1), MANY
    room = {i: max(0, int(shelves[i][first:last].min())) // size for i in which}
    if room.get(liked, 0) > 0:
        return liked, room[liked]
    best = max(room, key=lambda i: room[i], default=-1)
    return best, room.get(best, 0)
