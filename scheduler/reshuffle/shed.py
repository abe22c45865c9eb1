"""The last resort: where there are too few hands whoever is called, loads in hand are given up, least worth first."""

from __future__ import annotations

from dataclasses import replace

from scheduler.reshuffle.basis import Basis
from scheduler.reshuffle.candidate import Candidate, built, cheapest, overspent_steps
from scheduler.reshuffle.choose import Chosen, Lost
from scheduler.reshuffle.prices import ChangePrice
from scheduler.solve.pinned import WayOn

MOST = 60


def shed(basis: Basis, now: Candidate, price: ChangePrice) -> Candidate:
    """The same without what asks for hands where there are too few, until there are enough."""
    for _ in range(MOST):
        bad = overspent_steps(now.board)
        pinned = now.board.grid.pinned
        assert pinned is not None
        failing = {id(way) for way in now.chosen.ways if pinned.fails(now.board, way)}
        asking = [way for way in now.chosen.ways if id(way) in failing or _asks(basis, way, bad)]
        if not asking:
            break
        least = min(asking, key=lambda way: (id(way) not in failing, way.pieces * basis.grid.short_cents(way.demand)))
        chosen = _without(basis, now.chosen, least)
        now = cheapest(built(basis, chosen, now.board.frame, now.board.placed, price))
    return now


def _asks(basis: Basis, way: WayOn, bad: set[int]) -> bool:
    """True if it asks for hands at one of the steps: to be moved, wrapped, pulled or sliced, or for its fire."""
    grid = basis.grid
    steps = {way.stop_step, way.wrap_step}
    steps |= set(grid.touched(way.early_min, way.late_min))
    steps |= set(grid.touched(grid.ready_min[way.demand], grid.served_min[way.demand]))
    for _, stay in basis.pinned.burning(grid, way):
        steps |= set(range(stay.first, stay.last))
    return bool(steps & bad)


def _without(basis: Basis, chosen: Chosen, way: WayOn) -> Chosen:
    begun = basis.state.past.load(way.code)
    assert begun is not None
    why = "too few hands for it, whoever is called"
    lost = Lost(begun, way.pieces, "left" if begun.dead_min is None else "written off", why)
    kept = list(chosen.ways)
    kept.remove(way)
    return replace(chosen, ways=tuple(kept), lost=(*chosen.lost, lost))
