"""Fewer and simpler loads at no higher cost: what a plan's price does not see, but the crew does."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from scheduler.solve.assemble import merged
from scheduler.solve.board import Board, Placed
from scheduler.solve.settle import load_cents


def tidied(board: Board) -> Board:
    """The same pieces for the same waves under the same frame, in fewer loads that change racks less.

    Small loads first, each joins another load of its wave, or else stays on one rack, where that costs nothing.
    """
    tidy = Board.empty(board.grid, board.frame)
    for load in merged(board.placed):
        tidy.put(load)
    for load in sorted(tidy.placed, key=lambda load: load.pieces):
        if load in tidy.placed:
            _simplify(tidy, load)
    return tidy


def _simplify(board: Board, load: Placed) -> None:
    """Put a load otherwise, if that is simpler and no dearer."""
    others = [other for other in board.placed if other != load and other.demand == load.demand]
    board.take(load)
    joined = sorted((replace(other, pieces=load.pieces) for other in others), key=lambda way: load_cents(board, way))
    for way in (*joined, *_on_one_rack(board, load)):
        if load_cents(board, way) <= load_cents(board, load) + 1e-6 and board.try_put(way):
            twin = next((other for other in others if replace(other, pieces=way.pieces) == way), None)
            if twin is not None:
                board.take(way)
                board.take(twin)
                board.put(replace(way, pieces=way.pieces + twin.pieces))
            return
    board.put(load)


def _on_one_rack(board: Board, load: Placed) -> Iterator[Placed]:
    """The same on one of its racks from loading to pulling."""
    if load.smoke_spot == load.finish_spot or board.spots[load.finish_spot].rack is None:
        return
    for spot in (load.smoke_spot, load.finish_spot):
        if _allowed(board, load, board.spots[spot].place):
            yield replace(load, smoke_spot=spot, finish_spot=spot)


def _allowed(board: Board, load: Placed, place: int) -> bool:
    """True if the load may be smoked and finished at a place at its times."""
    grid, stream = board.grid, board.grid.streams[load.stream]
    smoked_min = (load.finish_step - load.load_step) * grid.step_min
    return any(o.place == place and o.wrap_from_min <= smoked_min <= o.wrap_to_min for o in stream.smoke) and any(
        o.place == place and load.finish_step in grid.finish_steps(stream, o, load.demand) for o in stream.finish
    )
