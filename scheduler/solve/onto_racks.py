"""Batches on racks, shelves and in cabinets: the flow model only says in which smoker and when."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from scheduler.model.base import hundredths
from scheduler.solve.board import Board, Placed
from scheduler.solve.extract import Batch, Draft
from scheduler.solve.frame import Frame, Ints
from scheduler.solve.grid import Grid
from scheduler.solve.pack import Bin, Item, Option, Use, pack
from scheduler.solve.settle import PLAIN, refill


def settled(grid: Grid, drafted: Draft, spared: tuple[tuple[int, float], ...] = ()) -> tuple[Board, bool]:
    """The board of a draft, with racks, shelves and cabinets; and whether all its pieces could be packed."""
    board = Board.empty(grid, Frame(drafted.levels, drafted.shifts, spared))
    whole = put_on_racks(board, drafted.batches)
    if not whole:
        refill(board, PLAIN)
    return board, whole


def put_on_racks(board: Board, batches: Mapping[Batch, int]) -> bool:
    """Put pieces of batches on a board wherever they fit beside what is there; True if all of them did."""
    grid = board.grid
    rooms = _rooms(board)
    ways = [_ways(board, batch, rooms) for batch in batches]
    items = [
        Item(pieces, grid.short_cents(batch.demand), tuple(Option(_uses(board, way), _awkward(way)) for way in mine))
        for (batch, pieces), mine in zip(batches.items(), ways, strict=True)
    ]
    packed = pack(items, rooms)
    for mine, counts in zip(ways, packed, strict=True):
        for way, pieces in zip(mine, counts, strict=True):
            if pieces:
                board.put(replace(way, pieces=pieces))
    return sum(map(sum, packed)) == sum(batches.values())


def batch_of(board: Board, load: Placed) -> Batch:
    """What a load on the board is to the flow model."""
    smoke, finish = board.spots[load.smoke_spot].place, board.spots[load.finish_spot].place
    return Batch(load.stream, smoke, finish, load.load_step, load.wrap_step, load.demand)


def _ways(board: Board, batch: Batch, rooms: Mapping[Bin, Ints]) -> list[Placed]:
    """Every way to settle a batch, for one piece."""
    cut = board.grid.streams[batch.stream].cut
    finishes = _spots(board, batch.finish_place, cut.spaces)
    smokes = None if batch.wrap_step is None else _spots(board, batch.smoke_place, cut.spaces)
    rests = range(len(board.rest)) if cut.rest_spaces else (-1,)
    holds = board.grid.cabinets_for(cut) if cut.hold_spaces else (-1,)
    ways = [
        Placed(batch.stream, batch.demand, 1, smoke, finish, batch.load_step, batch.wrap_step, rest, hold)
        for finish in finishes
        for smoke in ((finish,) if smokes is None else smokes)
        for rest in rests
        for hold in holds
    ]
    return [
        w for w in ways if all(rooms[u.bin][u.start : u.end].min(initial=u.size) >= u.size for u in _uses(board, w))
    ]


def _spots(board: Board, place: int, spaces: float) -> list[int]:
    """The racks of a place, or its oven, on which a piece fits."""
    return [i for i, spot in enumerate(board.spots) if spot.place == place and spot.size >= hundredths(spaces)]


def _rooms(board: Board) -> dict[Bin, Ints]:
    """Room by step of every rack, by minute of every shelf and cabinet; none while it is out of use."""
    kinds = (("spot", board.free), ("rest", board.rest), ("hold", board.hold))
    return {(kind, i): room for kind, rooms in kinds for i, room in enumerate(rooms)}


def _uses(board: Board, load: Placed) -> tuple[Use, ...]:
    """What one piece of a load takes where, in steps touched or in minutes: the same that the board takes for it."""
    cut, start = board.grid.streams[load.stream].cut, load.finish_step
    late = start + board.grid.up(board.took(load).late_min)
    rest, hold = board.rest_minutes(load), board.hold_minutes(load)
    uses = [
        (("spot", load.smoke_spot), load.load_step, start, cut.spaces),
        (("spot", load.finish_spot), start, late, cut.spaces),
        (("rest", load.rest), rest.start, rest.stop, cut.rest_spaces),
        (("hold", load.hold), hold.start, hold.stop, cut.hold_spaces),
    ]
    return tuple(Use(name, first, last, hundredths(size)) for name, first, last, size in uses if size and first < last)


def _awkward(load: Placed) -> int:
    """Wrapped pieces had better go back on the rack they came from."""
    return int(load.smoke_spot != load.finish_spot)
