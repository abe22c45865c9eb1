"""One way to go on: how what has begun goes on, and a board of what is still to come, with its price."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from random import Random

import numpy as np

from scheduler.reshuffle.basis import Basis
from scheduler.reshuffle.choose import Chooser, Chosen, urgent_first
from scheduler.reshuffle.price import change_cents, way_change
from scheduler.reshuffle.prices import PRICES, ChangePrice
from scheduler.solve.board import Board, Placed
from scheduler.solve.flow_hands import UNMANNED_CENTS
from scheduler.solve.frame import Frame
from scheduler.solve.grid import Grid
from scheduler.solve.insert import Taste
from scheduler.solve.opened import opened_levels
from scheduler.solve.pinned import WayOn
from scheduler.solve.settle import cost_cents, needs_hands_from, rebuild, settle, tended

PLAIN = Taste()
TINY = 1e-6
EASINGS = 6
EASY_NOISE = 0.05


@dataclass(frozen=True, slots=True)
class Candidate:
    """A board with what it costs."""

    board: Board
    chosen: Chosen
    cents: float
    """Cost, margin lost by lateness, meat lost, and the price of change; dearer than any plan where it cannot be."""


def priced(basis: Basis, board: Board, chosen: Chosen, price: ChangePrice = PRICES) -> Candidate:
    """A candidate of a finished board."""
    assert board.grid.pinned is not None
    late = late_cents(chosen)
    wrong = board.hands.overspent() + board.grid.pinned.broken(board)
    cents = cost_cents(board) + basis.off_cents + late + meat_cents(basis, chosen)
    cents += change_cents(basis, board, price) + UNMANNED_CENTS * wrong
    return Candidate(board, chosen, cents)


def cheapest(candidates: Iterable[Candidate]) -> Candidate:
    """The one that costs least."""
    return min(candidates, key=lambda candidate: candidate.cents)


def late_cents(chosen: Chosen) -> float:
    """Margin lost because what has begun is ready only after its wave has begun."""
    return sum(way.late_cents for way in chosen.ways)


def worth_cents(basis: Basis, chosen: Chosen, price: ChangePrice = PRICES) -> float:
    """What a choice is worth by itself, whatever becomes of what is to come: a quick look at whether it is better."""
    grid = basis.grid
    served = sum(
        way.pieces * grid.short_cents(way.demand) - way.cents - way_change(basis, way, price) for way in chosen.ways
    )
    return served - late_cents(chosen) - meat_cents(basis, chosen)


def meat_cents(basis: Basis, chosen: Chosen) -> float:
    """Raw cost of what cannot go on: it is paid for, whether it is sold or not."""
    menu = basis.state.scenario.menu
    return float(sum(lost.pieces * menu.cut(lost.begun.cut).cost_cents for lost in chosen.lost))


def plain_cents(basis: Basis, board: Board) -> float:
    """Cost of a board without what was laid on the wages for calls."""
    return cost_cents(board) - basis.laid_on_cents(board.frame.shifts)


def with_ways(basis: Basis, ways: tuple[WayOn, ...]) -> Grid:
    """The grid with what has begun laid on it."""
    return replace(basis.grid, pinned=basis.pinned.going(ways))


def chosen_ways(
    basis: Basis, frame: Frame, *, later_only: bool = False, noise: float = 0.0, rng: Random | None = None
) -> Chosen:
    """Ways on for everything that has begun, nothing of what is to come being in the way."""
    board = Board.empty(basis.grid, frame)
    chooser = Chooser(basis, board, noise, rng or Random(0), later_only)
    return chooser.choose((), urgent_first(basis.open_begun()))


def chosen_anew(basis: Basis, frame: Frame, now: Chosen, codes: set[str], noise: float, rng: Random) -> Chosen:
    """The same for some loads only, the others going on as chosen."""
    kept = [way for way in now.ways if way.code not in codes]
    lost = tuple(x for x in now.lost if x.begun.code not in codes)
    chooser = Chooser(basis, Board.empty(basis.grid, frame), noise, rng)
    loads = [begun for begun in basis.open_begun() if begun.code in codes]
    mixed = sorted(rng.sample(loads, len(loads)), key=lambda b: b.dead_min is not None or b.waits_for_wrap)
    again = chooser.choose(kept, urgent_first(loads) if rng.random() < 0.5 else mixed)
    return Chosen(again.ways, (*lost, *again.lost))


def overspent_steps(board: Board) -> set[int]:
    """Steps at which more is asked of the crew than it can give."""
    bad = np.zeros(board.grid.steps, dtype=np.bool_)
    for _, left in board.hands.left:
        bad |= left < -TINY
    return {int(k) for k in np.flatnonzero(bad)}


def eased(basis: Basis, now: Candidate, price: ChangePrice = PRICES) -> Candidate:
    """The same with less work where too much falls together: fires lit later, wraps and hand-overs at other times."""
    rng = Random(0)
    for number in range(EASINGS):
        bad = overspent_steps(now.board)
        if not bad:
            break
        basis, frame, waits = lit_later(basis, now.board.frame, bad, 2**number)
        codes = {way.code for way in now.chosen.ways if {way.wrap_step, way.stop_step} & bad}
        # What was to go over such a fire as soon as it is warm goes elsewhere, or there later.
        codes |= {
            way.code
            for way in now.chosen.ways
            for firebox, stay in basis.pinned.burning(basis.grid, way)
            if stay.first in waits.get(firebox, ())
        }
        chosen = chosen_anew(basis, frame, now.chosen, codes, EASY_NOISE, rng) if codes else now.chosen
        found = cheapest(built(basis, chosen, frame, now.board.placed, price))
        now = found if found.cents < now.cents or len(overspent_steps(found.board)) < len(bad) else now
    return now


def lit_later(basis: Basis, frame: Frame, bad: set[int], by: int) -> tuple[Basis, Frame, dict[int, range]]:
    """Fires that are cleaned out or lit at one of the steps are lit so much later, and nothing can be done over them
    before that; and the steps at which each of them, by firebox, is no longer warm."""
    levels = [held.copy() for held in frame.levels]
    can_burn = [steps.copy() for steps in basis.can_burn]
    waits: dict[int, range] = {}
    for burn in frame.burns(basis.grid):
        asking = range(max(basis.step, needs_hands_from(basis.grid, burn)), burn.lit + 1)
        if burn.lit >= basis.step and bad.intersection(asking):
            ready = burn.setpoints[0][0]
            levels[burn.firebox][ready : ready + by] = 0
            can_burn[burn.firebox][: ready + by] = 0
            waits[burn.firebox] = range(ready, ready + by)
    return replace(basis, can_burn=tuple(can_burn)), frame.with_levels(tuple(levels)), waits


def fitting(grid: Grid, ways: tuple[WayOn, ...], loads: Iterable[Placed]) -> list[Placed]:
    """Loads to come, cut down to what their waves can still take."""
    left = [demand.pieces for demand in grid.demands]
    for way in ways:
        left[way.demand] -= way.pieces
    found = []
    for load in loads:
        pieces = min(load.pieces, max(0, left[load.demand]))
        left[load.demand] -= pieces
        if pieces:
            found.append(replace(load, pieces=pieces))
    return found


def opened(basis: Basis, frame: Frame, *, everyone: bool = False, cold_f: int | None = None) -> Frame:
    """Fires as they are and, where cold, at their usual setpoint, or at another one that they have, wherever somebody
    could tend them."""
    grid = basis.grid
    crew = grid.shifts if everyone else frame.shifts
    levels = opened_levels(grid, frame.levels, crew, lambda f: basis.pinned.burnt[f].setpoint_f)
    if cold_f is not None:
        levels = tuple(
            np.where((held == 0) & (wide > 0), cold_f, wide) if cold_f in box.setpoints_f else wide
            for box, held, wide in zip(grid.fireboxes, frame.levels, levels, strict=True)
        )
    return Frame(levels, crew, frame.spared)


def burnt_through(basis: Basis, now: Candidate, price: ChangePrice = PRICES) -> Candidate:
    """The same with fires kept up from their first burn to come until their last one is out, wherever somebody of the
    crew can tend them: nobody need come to light them again. As it is where hands are short for that."""
    grid, wide = now.board.grid, opened(basis, now.board.frame)
    levels = []
    for held, kept_up in zip(now.board.frame.levels, wide.levels, strict=True):
        to_come = basis.step + np.flatnonzero(held[basis.step :])
        between = slice(to_come[0], to_come[-1]) if len(to_come) else slice(0)
        through = held.copy()
        through[between] = kept_up[between]
        levels.append(through)
    frame = tended(grid, wide.with_levels(tuple(levels)))
    through_all = priced(basis, Board.holding(grid, frame, now.board.placed), now.chosen, price)
    return through_all if through_all.cents < UNMANNED_CENTS else now


def let_out_at_pauses(basis: Basis, now: Candidate, price: ChangePrice = PRICES) -> Candidate:
    """The same without what each fire burns on for after a pause in which nothing stands over it, where that pays: few
    loads after it go elsewhere."""
    for burn in now.board.frame.burns(now.board.grid):
        hot = now.board.hot[burn.firebox] > 0
        ends = 1 + np.flatnonzero(hot[:-1] & ~hot[1:])
        for end in ends[(ends > max(basis.step, burn.lit)) & (ends < burn.out)]:
            levels = [held.copy() for held in now.board.frame.levels]
            levels[burn.firebox][end : burn.out] = 0
            frame = now.board.frame.with_levels(tuple(levels))
            found = cheapest(built(basis, now.chosen, frame, now.board.placed, price, crews=(True,)))
            now = found if found.cents < now.cents else now
    return now


def built(
    basis: Basis,
    chosen: Chosen,
    frame: Frame,
    loads: Iterable[Placed],
    price: ChangePrice = PRICES,
    taste: Taste = PLAIN,
    crews: tuple[bool, ...] = (True, False),
) -> Iterable[Candidate]:
    """Boards of what is to come around what has begun: with the crew as called, and with the cheapest crew."""
    grid = with_ways(basis, chosen.ways)
    keep = fitting(grid, chosen.ways, loads)
    board = rebuild(grid, frame, keep, taste)
    # A crew of everyone who could come has to be chosen from: they cannot all come.
    for old_shifts in (False,) if set(frame.shifts) == set(basis.grid.shifts) else crews:
        yield priced(basis, settle(board, old_shifts=old_shifts), chosen, price)
