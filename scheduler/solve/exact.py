"""Proven optima of small weekends: the flow model of every place, solved to the end, and its point made a board again.

The flow model counts pieces by place, so racks, rest shelves and cabinets are settled after it. Where they can't be
packed, pieces are placed anew or left out, the plan costs more than the model's point, and the gap stays open.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from scheduler.model.base import hundredths
from scheduler.solve.board import Board, Placed
from scheduler.solve.extract import Batch, Draft, draft
from scheduler.solve.flow import build_flow
from scheduler.solve.frame import Frame, Ints
from scheduler.solve.grid import Grid
from scheduler.solve.highs import Effort, Progress, solve
from scheduler.solve.milp import INF, Floats
from scheduler.solve.pack import Bin, Item, Option, Use, pack
from scheduler.solve.settle import PLAIN, cost_cents, refill
from scheduler.solve.start import integers_of
from scheduler.solve.zones import one_by_one

SMALL_CELLS = 1000
"""Size up to which a weekend is small. Measured on one core: 220 cells are proven in 2 s; at 700 the bound is above the
melted kitchen's after 15 s, but the gap stays open."""
TINY_CELLS = 400
"""Size up to which a run limited by nodes alone is started: beyond it the root takes a minute (93 s at 700 cells)."""
EQUAL_CENTS = 0.01
"""Costs are sums of sixtieths of a cent; what is nearer than this is the same."""
POINTS = 5
"""Points of the model, newest first, that are tried for one that packs whole."""


@dataclass(frozen=True, slots=True)
class Proof:
    """The best board known and what is known about better ones."""

    board: Board
    cents: float
    """Cost of the board."""
    bound: float
    """No plan on the grid costs less, cents; -inf if nothing is known."""

    @property
    def proven(self) -> bool:
        """True if there is no cheaper plan on the grid."""
        return self.cents - self.bound < EQUAL_CENTS


def cells(grid: Grid) -> int:
    """Size of a weekend: ways (recipe, place, step) in which a piece may start to finish, over all waves."""
    return sum(
        len(grid.finish_steps(stream, finish, d))
        for stream in grid.streams
        for finish in stream.finish
        for d in range(len(grid.demands))
    )


def small(grid: Grid) -> bool:
    """True if `prove` has a good chance to come to an end."""
    return cells(grid) <= SMALL_CELLS


def prove(grid: Grid, start: Board, effort: Effort, *, progress: Progress | None = None) -> Proof:
    """Solve a weekend exactly, from a plan on a board.

    The board that comes back never costs more than the start. `progress` hears the bound now and then, on a foreign
    thread; it stops the run by returning True. Runs limited by nodes alone leave weekends that are not tiny unproven.
    """
    if effort.seconds == INF and effort.nodes is not None and cells(grid) > TINY_CELLS:
        return Proof(start, cost_cents(start), -INF)
    model = build_flow(one_by_one(grid))
    points: list[Floats] = []

    def keep(x: Floats, cents: float) -> None:
        del cents
        points.append(x)

    answer = solve(model.milp, effort, start=integers_of(model, start), improved=keep, progress=progress)
    if answer.x is not None:
        points.append(answer.x)
    best, cents = start, cost_cents(start)
    for x in reversed(points[-POINTS:]):
        if any(x[column] > 1e-6 for column in model.unmanned):
            continue
        board, whole = settled(grid, draft(model, x))
        if cost_cents(board) < cents - EQUAL_CENTS:
            best, cents = board, cost_cents(board)
        if whole:
            break
    return Proof(best, cents, answer.bound)


def settled(grid: Grid, drafted: Draft, spared: tuple[tuple[int, float], ...] = ()) -> tuple[Board, bool]:
    """The board of a draft, with racks, shelves and cabinets; and whether all its pieces could be packed."""
    board = Board.empty(grid, Frame(drafted.levels, drafted.shifts, spared))
    ways = [_ways(board, batch) for batch in drafted.batches]
    items = [
        Item(pieces, grid.short_cents(batch.demand), tuple(Option(_uses(board, way), _awkward(way)) for way in mine))
        for (batch, pieces), mine in zip(drafted.batches.items(), ways, strict=True)
    ]
    packed = pack(items, _sizes(board))
    for mine, counts in zip(ways, packed, strict=True):
        for way, pieces in zip(mine, counts, strict=True):
            if pieces:
                board.put(replace(way, pieces=pieces))
    whole = sum(map(sum, packed)) == sum(drafted.batches.values())
    if not whole:
        refill(board, PLAIN)
    return board, whole


def _ways(board: Board, batch: Batch) -> list[Placed]:
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
    rooms = _rooms(board)
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


def _sizes(board: Board) -> dict[Bin, int]:
    """Sizes of the same. Nothing is placed yet, so the most room there ever is."""
    return {name: int(room.max(initial=0)) for name, room in _rooms(board).items()}


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
