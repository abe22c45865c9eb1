"""The end of a plan: why something is short, and what would help most.

Each change (one more of something, an hour more) is tried by carrying the finished board into the changed kitchen,
placing what is missing and searching on for a while. The same search on the kitchen as it is tells how much of a gain
is luck: gains are counted against it, and what is not above it is left out. Prices are the audit's.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from random import Random
from threading import Event

from scheduler.model.plan import Limit, Plan, Relief, Short
from scheduler.solve.board import Board
from scheduler.solve.changes import Change, carried, changes
from scheduler.solve.checked import checked
from scheduler.solve.frame import Frame
from scheduler.solve.grid import Grid, build_grid
from scheduler.solve.improve import Found, found, step
from scheduler.solve.opened import opened_levels
from scheduler.solve.settle import rebuild, settle
from scheduler.solve.why import Finding, findings
from scheduler.solve.worth import manned

NOISE_CENTS = 500
"""Gains below this are not worth a line."""
PRICING_SHARE = 0.3
"""Part of the time kept for making plans of what was found and auditing them."""
LOOKING_SHARE = 0.3
"""Part of the time after which shorts are looked into less closely."""
REPAIRS = 2


def explain(
    plan: Plan, board: Board, *, seconds: float = 8.0, seed: int = 0, work: int | None = None, stop: Event | None = None
) -> Plan:
    """A plan with the reason of each short and with the changes that would help, best first.

    `board` is the one the plan was made of. Takes about `seconds`, or, repeatably, `work` moves for each change; ends
    soon after `stop` is set, with what is known.
    """
    budget = _Budget(seconds, work, stop or Event())
    reasons = findings(board, budget.may_look)
    shorts = _with_reasons(plan.shorts, reasons, board.grid)
    helps = tuple(_reliefs(plan, board, reasons, seed, budget))
    return plan.model_copy(update={"shorts": shorts, "reliefs": helps})


def _with_reasons(shorts: tuple[Short, ...], reasons: tuple[Finding, ...], grid: Grid) -> tuple[Short, ...]:
    why = {(grid.demands[f.demand].cut, grid.demands[f.demand].wave): f.sentence for f in reasons}
    return tuple(s.model_copy(update={"why": why.get((s.cut, s.wave), s.why)}) for s in shorts)


class _Budget:
    """Moves for each change, or a time for all together."""

    def __init__(self, seconds: float, work: int | None, stop: Event) -> None:
        self.work = work
        self.stop = stop
        now = time.monotonic()
        self.look_until = now + seconds * LOOKING_SHARE
        self.search_until = now + seconds * (1 - PRICING_SHARE)
        self.until = now + seconds

    def may_search(self, moves: int) -> bool:
        """True if each change may have another move after so many."""
        if self.stop.is_set():
            return False
        return moves < self.work if self.work is not None else time.monotonic() < self.search_until

    def may_look(self) -> bool:
        """True if there is time to look into another short closely."""
        return not self.stop.is_set() and (self.work is not None or time.monotonic() < self.look_until)

    def may_price(self) -> bool:
        """True if there is time for another plan to be made and audited."""
        return not self.stop.is_set() and (self.work is not None or time.monotonic() < self.until)


@dataclass(slots=True)
class _Trial:
    """One change, the board carried over and the best one found from there."""

    change: Change
    start: Found
    best: Found
    rng: Random

    def move(self) -> None:
        """One move; kept if it is no dearer."""
        new = step(self.best, self.rng)
        if new is not None and new.cents <= self.best.cents and manned(new.board):
            self.best = new

    def plan(self, below_cents: float, budget: _Budget) -> Plan | None:
        """A plan that passes the audit and costs less than so much: of the best board, else of the start."""
        for one in (self.best, self.start):
            if one.cents < below_cents and budget.may_price():
                made = checked(one.board, REPAIRS)
                if made is not None and made.cost.total < below_cents:
                    return made
        return None


def _reliefs(plan: Plan, board: Board, reasons: tuple[Finding, ...], seed: int, budget: _Budget) -> Iterator[Relief]:
    trials = []
    as_it_is = Change("time", "", board.grid.scenario)
    for change in (as_it_is, *_likely_first(changes(board, _pairs(reasons)), reasons)):
        if not budget.may_search(0):
            break
        trials.append(_begun(board, change, seed))
    _search(trials, budget)
    now = trials[0].plan(plan.cost.total - NOISE_CENTS, budget) if trials else None
    luck = 0 if now is None else plan.cost.total - now.cost.total
    now = now or plan
    enough = now.cost.total - max(NOISE_CENTS, luck)
    told = []
    for trial in sorted(trials[1:], key=lambda trial: trial.best.cents):
        if (made := trial.plan(enough, budget)) is not None:
            fewer, saved = _short(now) - _short(made), now.cost.total - made.cost.total
            told.append(Relief(limit=trial.change.limit, change=trial.change.words, pieces=fewer, cents=saved))
    yield from sorted(told, key=lambda relief: -relief.cents)


def _likely_first(some: tuple[Change, ...], reasons: tuple[Finding, ...]) -> list[Change]:
    """Changes of the limits that bind first, the limit of most pieces ahead."""
    bound: dict[Limit, int] = {}
    for reason in reasons:
        bound[reason.limit] = bound.get(reason.limit, 0) + reason.pieces
    return sorted(some, key=lambda change: -bound.get(change.limit, 0))


def _begun(board: Board, change: Change, seed: int) -> _Trial:
    """The board carried over, what is missing placed: with its crew and fires, a new roster, and all that could be."""
    grid = build_grid(change.scenario, board.grid.step_min)
    frame, loads = carried(board, change, grid)
    kept = rebuild(grid, frame, loads)
    levels = opened_levels(grid, frame.levels, grid.shifts, lambda f: grid.fireboxes[f].setpoints_f[0])
    everything = rebuild(grid, Frame(levels, grid.shifts, frame.spared), loads)
    start = found(settle(kept, old_shifts=True))
    others = [one for one in (found(settle(kept)), found(settle(everything))) if manned(one.board)]
    return _Trial(change, start, min([start, *others], key=lambda one: one.cents), Random(seed))


def _search(trials: list[_Trial], budget: _Budget) -> None:
    """Moves for all by turns, so that all have as many."""
    moves = 0
    while budget.may_search(moves):
        for trial in trials:
            if not budget.may_search(moves):
                return  # a move takes seconds at a festival
            trial.move()
        moves += 1


def _short(plan: Plan) -> int:
    return sum(short.pieces for short in plan.shorts)


def _pairs(reasons: tuple[Finding, ...]) -> list[tuple[Limit, Limit]]:
    """Pairs of limits that only bind together, those of most pieces first."""
    pieces: Counter[tuple[Limit, Limit]] = Counter()
    for reason in reasons:
        if reason.with_limit is not None:
            pieces[reason.limit, reason.with_limit] += reason.pieces
    return [pair for pair, _ in pieces.most_common()]
