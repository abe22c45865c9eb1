"""Bold moves: fires or the crew are changed, and what stood on them is placed anew by HiGHS, not load by load.

Placed load by load, a plan is nearly always dearer with other fires. The relaxation says in a third of a second what
could be made of them; most changes go no further than that.
"""

from __future__ import annotations

from random import Random

from scheduler.solve.board import Board
from scheduler.solve.highs import Effort, Progress
from scheduler.solve.improve import (
    Found,
    Move,
    found,
    let_out,
    light_another,
    other_fires,
    other_setpoint,
    swap_shift,
    without_shift,
)
from scheduler.solve.left_over import Stretch
from scheduler.solve.redrawn import outlook
from scheduler.solve.refit import refit, stretches
from scheduler.solve.settle import settle, shorts_cents

FIRE_MOVES: tuple[tuple[Move, int], ...] = ((other_fires, 3), (let_out, 3), (other_setpoint, 2), (light_another, 3))
CREW_MOVES: tuple[tuple[Move, int], ...] = ((without_shift, 5), (swap_shift, 5))
FAR = 1.3
"""A plan that costs so many times as much when its loads are placed one by one is past mending."""
OTHERS_TOO = 0.5
"""Share of the moves that change the crew after which all the crew is chosen anew."""
MOST_STRETCHES = 3
"""Stretches looked at, those that are changed most."""
LEAST_GAIN = 0.002
"""Share of the cost that has to be hoped for: the relaxation promises more than can be had."""

_KEEP = {move for move, _ in FIRE_MOVES}


def bold_step(now: Found, rng: Random, effort: Effort, progress: Progress | None = None) -> Found | None:
    """A cheaper plan with other fires or another crew; None if this one change comes to nothing."""
    moves = FIRE_MOVES + CREW_MOVES
    move, _ = rng.choices(moves, [weight for _, weight in moves])[0]
    broken = move(now.board, rng, now.board.frame.shifts)
    if broken is None:
        return None
    keep = move in _KEEP or rng.random() >= OTHERS_TOO
    plan = found(settle(broken, old_shifts=keep))
    if plan.cents < now.cents:
        return plan
    enough = now.cents * (1 - LEAST_GAIN)
    if plan.cents > FAR * now.cents or plan.cents - shorts_cents(plan.board) > enough:
        return None
    changed = _changed(now.board, plan.board, rng)
    views = [outlook(plan.board, stretch, effort, progress) for stretch in changed]
    hoped_for = plan.cents - sum(view.gain_cents for view in views if view is not None)
    if hoped_for > enough:
        return None
    start = plan
    for stretch, view in zip(changed, views, strict=True):
        plan = refit(plan.board, stretch, effort, progress, view if plan is start else None) or plan
    return plan if plan.cents < now.cents else None


def _changed(old: Board, new: Board, rng: Random) -> list[Stretch]:
    """Stretches in which loads stand otherwise, with all fires as they are."""
    demands = {load.demand for load in set(old.placed) ^ set(new.placed)}
    met = [one for one in stretches(new, rng, (), otherwise=True) if one.demands & demands]
    return sorted(met, key=lambda one: -len(one.demands & demands))[:MOST_STRETCHES]
