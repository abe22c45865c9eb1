"""What a board tells the crew otherwise than the old plan, in cents."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable

from scheduler.reshuffle.basis import Basis
from scheduler.reshuffle.prices import PRICES, ChangePrice
from scheduler.solve.board import Board, Placed
from scheduler.solve.pinned import WayOn


def matched(old: dict[str, Placed], new: Iterable[Placed]) -> list[tuple[str | None, Placed | None]]:
    """Pairs of an old load's code and what became of it; None where there was none, or is none any more.

    The same ones first, then those of the same cut that differ least.
    """
    left = Counter(new)
    pairs: list[tuple[str | None, Placed | None]] = []
    open_old: defaultdict[int, list[str]] = defaultdict(list)
    for code, load in old.items():
        if left[load]:
            left[load] -= 1
            pairs.append((code, load))
        else:
            open_old[load.stream].append(code)
    for load in sorted(left.elements(), key=_order):
        codes = open_old[load.stream]
        best = min(codes, key=lambda code: _apart(old[code], load), default=None)
        if best is not None:
            codes.remove(best)
        pairs.append((best, load))
    pairs += [(code, None) for codes in open_old.values() for code in codes]
    return pairs


def _order(load: Placed) -> tuple[int, ...]:
    return load.load_step, load.smoke_spot, load.finish_spot, load.demand, load.pieces, load.wrap_step or 0, load.hold


def _apart(old: Placed, new: Placed) -> float:
    far = abs(old.load_step - new.load_step) / 4
    return far + 2 * (old.smoke_spot != new.smoke_spot) + (old.demand != new.demand) + (old.pieces != new.pieces) / 2


def load_change(old: Placed, new: Placed, price: ChangePrice) -> float:
    """Cents of a load that was told otherwise."""
    times = (old.load_step != new.load_step) + (old.wrap_step != new.wrap_step)
    places = (old.smoke_spot != new.smoke_spot) + (old.finish_spot != new.finish_spot)
    found = times * price.time + places * price.place
    return found + (old.demand != new.demand) * price.wave + (old.pieces != new.pieces) * price.pieces


def change_cents(basis: Basis, board: Board, price: ChangePrice = PRICES) -> float:
    """Cents of all that a board tells otherwise than the old plan, shifts aside: those prices are in their wages."""
    total = 0.0
    for code, new in matched(basis.old, board.placed):
        if code is None or new is None:
            total += price.load
        else:
            total += load_change(basis.old[code], new, price)
    old_burns = {(b.firebox, b.lit, b.out) for b in basis.frame.burns(basis.grid)}
    new_burns = {(b.firebox, b.lit, b.out) for b in board.frame.burns(basis.grid)}
    total += price.fire * len(new_burns - old_burns)
    return total + sum(way_change(basis, way, price) for way in basis_ways(board))


def basis_ways(board: Board) -> tuple[WayOn, ...]:
    """The ways on that a board is built on."""
    return () if board.grid.pinned is None else board.grid.pinned.ways


def way_change(basis: Basis, way: WayOn, price: ChangePrice) -> float:
    """Cents of a load in hand that goes on otherwise than told."""
    begun = basis.state.past.load(way.code)
    if begun is None or begun.done:
        return 0.0
    usual = basis.ways(begun).usual
    wave = basis.grid.demand_of.get((begun.cut, begun.wave)) != way.demand
    total = price.wave * wave + price.place * (way.stop_step is not None)
    if usual is None:
        return total
    end = way.stays[-1].spot if way.stays else usual.end_spot
    return total + price.time * (usual.wrap_step != way.wrap_step) + price.place * (usual.end_spot != end)
