"""A stretch planned anew together with what has begun: how that goes on and what is to come decide each other."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Hashable, Iterator
from typing import Literal

from scheduler.model.past import Begun
from scheduler.reshuffle.basis import Basis
from scheduler.reshuffle.candidate import (
    Candidate,
    built,
    burnt_through,
    cheapest,
    let_out_at_pauses,
    priced,
    with_ways,
)
from scheduler.reshuffle.choose import Chooser, Chosen, Pick, urgent_first
from scheduler.reshuffle.price import way_change
from scheduler.reshuffle.prices import ChangePrice
from scheduler.solve.board import Board
from scheduler.solve.highs import Effort, Progress
from scheduler.solve.in_hand import InHand
from scheduler.solve.left_over import Stretch
from scheduler.solve.pinned import WayOn
from scheduler.solve.program import Night, Told
from scheduler.solve.redrawn import Redrawn, redrawn
from scheduler.solve.settle import settle

RUSH_CENTS = 1.2e4
"""Price of a person missing for a while, when a shift is looked for that is not needed for what came of a refit."""
Free = Literal["at once", "in the end", "held"]
"""From the start on; when there is a good plan to go on from; or not at all, which is sooner done."""
Key = tuple[Hashable, ...]
Picks = dict[str, list[list[Pick]]]
"""What each load in hand can do, in the order of its ways in the model: like choices, on one rack or another."""


def refitted(
    basis: Basis,
    price: ChangePrice,
    now: Candidate,
    stretch: Stretch,
    effort: Effort,
    progress: Progress | None,
    told: Told,
    crowded: Collection[int] = (),
    free: Free = "in the end",
    worth_it: Callable[[float], bool] | None = None,
) -> Candidate | None:
    """A stretch as HiGHS would have it, what goes on otherwise included; None if that is not cheaper, or what it may
    come to, in cents, is not `worth_it`. `free` says when what could go on as it does is free to do otherwise."""
    picks: Picks = {}
    loads = tuple(in_hand(basis, price, now, stretch, picks, at_once=free == "at once"))
    now = now if loads else burnt_through(basis, now, price)
    night, cents = Night(told, loads, frozenset(crowded), brief=free == "held"), now.cents
    asked = None if worth_it is None else lambda gain: worth_it(cents - gain)
    new = redrawn(now.board, stretch, effort, progress, night, asked)
    if new is None:
        return None
    chosen = _chosen(basis, now.chosen, new, picks)
    board = new.board(with_ways(basis, chosen.ways))
    trimmed = built(basis, chosen, board.frame, board.placed, price, crews=(True,))
    best = cheapest((priced(basis, board, chosen, price), *trimmed))
    lean = priced(basis, settle(best.board, shortfall_cents=RUSH_CENTS), chosen, price)
    return let_out_at_pauses(basis, cheapest((best, lean)), price)


def in_hand(
    basis: Basis, price: ChangePrice, now: Candidate, stretch: Stretch, picks: Picks, *, at_once: bool = False
) -> Iterator[InHand]:
    """Loads for a wave of the stretch, with all that they can do. Those that need not leave a dead smoker, and do not
    wait for their wrap, are held, unless all are to be free `at_once`."""
    menu = basis.state.scenario.menu
    for begun in basis.open_begun():
        if begun.done:
            continue
        alike = _ways(basis, now.board, begun, stretch)
        going = Counter[Key]()
        for way in now.chosen.ways:
            if way.code == begun.code:
                going[_key(basis, way)] += way.pieces
        serves = {demand for *_, demand in alike}
        if not serves & stretch.demands or not going.keys() <= alike.keys():
            continue
        picks[begun.code] = [[pick for pick, _ in same] for same in alike.values()]
        ways = tuple(same[0][1] for same in alike.values())
        yield InHand(
            code=begun.code,
            pieces=begun.pieces,
            ways=ways,
            cents=tuple(way.cents + way.late_cents + way_change(basis, way, price) / begun.pieces for way in ways),
            lost_cents=float(menu.cut(begun.cut).cost_cents),
            now=tuple(going[key] for key in alike),
            held=not (at_once or begun.dead_min is not None or begun.waits_for_wrap),
        )


def _key(basis: Basis, way: WayOn) -> Key:
    """The same for ways that differ in the rack only."""
    places = tuple((basis.grid.spots[stay.spot].place, stay.first, stay.last, stay.levels) for stay in way.stays)
    return places, way.stop_step, way.wrap_step, way.demand


def _ways(basis: Basis, board: Board, begun: Begun, stretch: Stretch) -> dict[Key, list[tuple[Pick, WayOn]]]:
    """Ways on, of one piece, for which the fire could burn and somebody is there to pull; like ones together."""
    ways = basis.ways(begun)
    found: dict[Key, list[tuple[Pick, WayOn]]] = {}
    for option in ways.options:
        for serves in option.serves:
            way = ways.way(option, serves, 1, -1, -1)
            if _can_be(basis, board, way, stretch):
                found.setdefault(_key(basis, way), []).append(((option, serves), way))
    return found


def _can_be(basis: Basis, board: Board, way: WayOn, stretch: Stretch) -> bool:
    grid, pinned = basis.grid, basis.pinned
    if pinned.alone(board, way):
        return False
    for firebox, stay in pinned.burning(grid, way):
        if pinned.turns_too_late(grid, firebox, stay):
            return False
        if firebox in stretch.fires and not basis.can_burn[firebox][stay.first : stay.last].all():
            return False
        if firebox not in stretch.fires and not board.accepted(stay.spot, stay.levels)[stay.first : stay.last].all():
            return False
    return True


def _chosen(basis: Basis, now: Chosen, new: Redrawn, picks: Picks) -> Chosen:
    """Shelves for all that goes on as the model says; where there are none for a load, it is chosen for anew."""
    going = new.model.in_hand.read(new.x)
    if not going:
        return now
    begun = {load.code: load for load in basis.open_begun()}
    free = {load.code for load, _ in going}
    kept = [way for way in now.ways if way.code not in free]
    lost = [x for x in now.lost if x.begun.code not in free]
    chooser = Chooser(basis, Board.empty(basis.grid, new.frame))
    chooser.keep(kept)
    failed: list[Begun] = []
    for load, turns in going:
        mine = begun[load.code]
        ways = chooser.go(mine, [(picks[load.code][i], pieces) for i, pieces in turns])
        if ways is None:
            failed.append(mine)
            continue
        kept += ways
        left = load.pieces - sum(pieces for _, pieces in turns)
        if left:
            lost.append(chooser.lost(mine, left))
    again = Chooser(basis, Board.empty(basis.grid, new.frame)).choose(kept, urgent_first(failed))
    return Chosen(again.ways, (*lost, *again.lost))
