"""Fewer and simpler loads at about the same cost: what a plan's price does not see, but the crew does."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

from scheduler.solve.assemble import merged
from scheduler.solve.board import Board, Placed
from scheduler.solve.insert import Taste, best_way
from scheduler.solve.settle import load_cents

EQUAL_CENTS = 1e-6


def tidied(board: Board, load_less_cents: float = 0.0) -> Board:
    """The same pieces for the same waves under the same frame, in fewer loads that change racks less.

    Small loads first, each joins another load of its wave, or two of them go together to a third place, or a load stays
    on one rack. A load less may cost so much; a change of rack less, nothing.
    """
    tidy = Board.holding(board.grid, board.frame, merged(board.placed))
    for load in sorted(tidy.placed, key=lambda load: load.pieces):
        if load in tidy.placed and not _join(tidy, load, load_less_cents):
            _on_one_rack(tidy, load)
    for demand in range(len(board.grid.demands)):
        while _two_in_one(tidy, demand, load_less_cents):
            pass
    return tidy


def _join(board: Board, load: Placed, most_cents: float) -> bool:
    """Put a load with another of its wave, the cheapest way; True if that could be."""
    others = [other for other in board.placed if other != load and other.demand == load.demand]
    board.take(load)
    for other in sorted(others, key=lambda other: load_cents(board, replace(other, pieces=load.pieces))):
        way = replace(other, pieces=load.pieces)
        if load_cents(board, way) > load_cents(board, load) + most_cents + EQUAL_CENTS:
            break
        if board.try_put(way):
            board.take(way)
            board.take(other)
            board.put(replace(other, pieces=other.pieces + load.pieces))
            return True
    board.put(load)
    return False


def _on_one_rack(board: Board, load: Placed) -> None:
    """Keep a load on one of its racks from loading to pulling, if it suits it there and is no dearer."""
    if load.smoke_spot == load.finish_spot or board.spots[load.finish_spot].rack is None:
        return
    board.take(load)
    for spot in (load.smoke_spot, load.finish_spot):
        way = replace(load, smoke_spot=spot, finish_spot=spot)
        allowed = _allowed(board, load, board.spots[spot].place)
        if allowed and load_cents(board, way) <= load_cents(board, load) + EQUAL_CENTS and board.try_put(way):
            return
    board.put(load)


def _allowed(board: Board, load: Placed, place: int) -> bool:
    """True if the load may be smoked and finished at a place at its times."""
    grid, stream = board.grid, board.grid.streams[load.stream]
    smoked_min = (load.finish_step - load.load_step) * grid.step_min
    return any(o.place == place and o.wrap_from_min <= smoked_min <= o.wrap_to_min for o in stream.smoke) and any(
        o.place == place and load.finish_step in grid.finish_steps(stream, o, load.demand) for o in stream.finish
    )


def _two_in_one(board: Board, demand: int, most_cents: float) -> bool:
    """Two loads of a wave as one in another place, the smallest first; True if there was such a place."""
    loads = [load for load in board.placed if load.demand == demand]
    for one, other in sorted(combinations(loads, 2), key=lambda pair: pair[0].pieces + pair[1].pieces):
        board.take(one)
        board.take(other)
        way = best_way(board, demand, one.pieces + other.pieces, Taste())
        if way is not None and way.pieces == one.pieces + other.pieces:
            before = load_cents(board, one) + load_cents(board, other)
            if load_cents(board, way) <= before + most_cents + EQUAL_CENTS and board.try_put(way):
                return True
        board.put(one)
        board.put(other)
    return False
