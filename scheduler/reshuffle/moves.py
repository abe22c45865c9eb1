"""Moves of a reshuffle: what has begun goes on otherwise, what is to come is placed anew, or goes back to as told."""

from __future__ import annotations

from random import Random

from scheduler.reshuffle.basis import Basis
from scheduler.reshuffle.candidate import (
    Candidate,
    built,
    cheapest,
    chosen_anew,
    fitting,
    late_cents,
    meat_cents,
    opened,
    priced,
    with_ways,
    worth_cents,
)
from scheduler.reshuffle.prices import ChangePrice
from scheduler.solve.improve import KEEP_CREW, Found, step
from scheduler.solve.insert import Taste
from scheduler.solve.settle import rebuild, settle

WORSE_CENTS, WORSE_SHARE = 500.0, 0.1
"""A choice of ways that is by itself worse by more than this is seldom looked into."""
AGAIN_SHARE = 0.3
"""Share of the moves that choose anew how what has begun goes on."""


def move(basis: Basis, price: ChangePrice, now: Candidate, rng: Random) -> Candidate | None:
    """One move; None if nothing came of it."""
    if basis.open_begun() and rng.random() < AGAIN_SHARE:
        return _other_ways(basis, price, now, rng)
    if rng.random() < 0.15:
        return _nearer(basis, price, now, rng)
    fixed = basis.off_cents + meat_cents(basis, now.chosen) + late_cents(now.chosen)
    found = step(Found(now.board, now.cents), rng, now.cents - fixed)
    return None if found is None else priced(basis, found.board, now.chosen, price)


def _other_ways(basis: Basis, price: ChangePrice, now: Candidate, rng: Random) -> Candidate | None:
    """Some of what has begun goes on otherwise; what is to come is fitted around it."""
    loads = [begun for begun in basis.open_begun() if not begun.done]
    if not loads:
        return None
    hot = [begun for begun in loads if begun.dead_min is not None]
    pool = hot if hot and rng.random() < 0.7 else loads
    some = rng.sample(pool, min(len(pool), rng.randint(1, 4)))
    codes = {begun.code for begun in some} | {lost.begun.code for lost in now.chosen.lost}
    everyone = rng.random() < 0.3
    frame = opened(basis, now.board.frame, everyone=everyone)
    chosen = chosen_anew(basis, frame, now.chosen, codes, rng.choice((0.05, 0.3, 1.0)), rng)
    worse = worth_cents(basis, now.chosen, price) - worth_cents(basis, chosen, price)
    if worse > WORSE_CENTS and rng.random() > WORSE_SHARE:
        return None
    taste = Taste(1e9, rng.choice((0.0, 0.05, 0.3)), rng)
    use = frame if rng.random() < 0.5 or everyone else now.board.frame
    crews = (rng.random() < KEEP_CREW,)
    found = list(built(basis, chosen, use, now.board.placed, price, taste, crews))
    return cheapest(found)


def _nearer(basis: Basis, price: ChangePrice, now: Candidate, rng: Random) -> Candidate | None:
    """Some loads back to how the crew was told, where that can be."""
    told = list(basis.old.values())
    missing = [load for load in told if load not in now.board.placed]
    if not missing:
        return None
    back = rng.sample(missing, min(len(missing), rng.randint(1, 6)))
    grid = with_ways(basis, now.chosen.ways)
    near = {load.demand for load in back}
    keep = [*back, *(load for load in now.board.placed if load.demand not in near or rng.random() < 0.5)]
    frame = opened(basis, now.board.frame) if rng.random() < 0.5 else now.board.frame
    board = rebuild(grid, frame, fitting(grid, now.chosen.ways, keep), Taste())
    return priced(basis, settle(board), now.chosen, price)
