"""A new plan from a state: a first answer at once by a rule, then a better one by search, always near the old plan."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import chain
from random import Random
from threading import Event

from scheduler.audit import Breach, audit
from scheduler.model.past import Past
from scheduler.model.plan import Plan
from scheduler.reshuffle.basis import Basis, basis_of
from scheduler.reshuffle.candidate import (
    EASY_NOISE,
    Candidate,
    built,
    cheapest,
    chosen_anew,
    eased,
    priced,
    worth_cents,
)
from scheduler.reshuffle.choose import Chosen
from scheduler.reshuffle.moves import move
from scheduler.reshuffle.prices import PRICES, ChangePrice
from scheduler.reshuffle.repairs import last_repairs, repairs, with_everyone
from scheduler.reshuffle.rounds import Rounds
from scheduler.reshuffle.shed import shed
from scheduler.reshuffle.state import State, went_as_planned
from scheduler.reshuffle.written import written
from scheduler.solve.board import Board
from scheduler.solve.flow_hands import UNMANNED_CENTS
from scheduler.solve.frame import Frame
from scheduler.solve.hands import SPARE_MIN
from scheduler.solve.settle import remade, settle

REPAIRS, FEW_REPAIRS = 6, 2
"""Times that hands are spared at steps whose work could not be shared out; and where time is short."""
CHECK_EVERY_S = 1.5
"""A better board is made into an audited plan no more often than this."""


@dataclass(frozen=True, slots=True)
class Reshuffled:
    """A new plan that passed the audit."""

    plan: Plan
    candidate: Candidate | None
    """None where the plan came back as it was."""
    seconds: float
    """Until it was there."""
    moves: int


@dataclass(slots=True)
class Search:
    """One search from a state. Boards are compared by cost and change; only audited plans are kept."""

    state: State
    price: ChangePrice = PRICES
    seed: int = 0
    stop: Event = field(default_factory=Event)
    basis: Basis = field(init=False)
    best: Candidate | None = None
    kept: Reshuffled | None = None
    breaches: tuple[Breach, ...] = ()
    """Of the last plan that did not pass."""
    moves: int = 0
    started: float = field(default_factory=time.monotonic)
    _kept_cents: float = float("inf")
    _more: Iterator[Candidate] = field(default_factory=lambda: iter(()))
    rounds: Rounds = field(init=False)

    def __post_init__(self) -> None:
        self.basis = basis_of(self.state, self.price)
        self.rounds = Rounds(self.basis, self.price, self.stop, self._sound)

    @property
    def elapsed(self) -> float:
        """Seconds since the start."""
        return time.monotonic() - self.started

    @property
    def past(self) -> Past:
        """What is fixed, as the audit wants to be told."""
        return self.basis.state.past

    def run(
        self,
        *,
        seconds: float | None = None,
        moves: int | None = None,
        first: Callable[[Reshuffled], None] | None = None,
    ) -> Reshuffled | None:
        """The first answer, of which `first` hears, and then a better one: for so long in all, or for so many moves."""
        seconds = seconds if moves is None else None
        self.rounds.begin(self._with_another_crew, self._left_s(seconds))
        try:
            found = self.first()
            if found is not None and first is not None:
                first(found)
            return self.improve(seconds=seconds, moves=moves)
        finally:
            self.rounds.end()

    # the first answer --------------------------------------------------------------------------------------------

    def first(self) -> Reshuffled | None:
        """The repair rule: what has begun goes on where it can, the rest as planned as far as it fits."""
        self._more = repairs(self.basis, self.price)
        for found in chain(self._more, last_repairs(self.basis, self.price)):
            if self._better(found) and self.best is not None and self.check(self.best):
                break
        if self.kept is None and self.best is not None:
            self.best = shed(self.basis, self.best, self.price)
            self.check(self.best)
        # What the first repair asked of one moment says little of what a refit will ask.
        self.rounds.crowded.clear()
        return self.kept

    def _better(self, found: Candidate) -> bool:
        """Take a repair for the best if it is, with less work where too much falls together; True if it can be."""
        candidate = self._eased(found)
        if self.best is not None and candidate.cents >= self.best.cents:
            return False
        self.best = candidate
        return candidate.cents < UNMANNED_CENTS

    def _eased(self, found: Candidate) -> Candidate:
        """A repair, with less work where it has too much at once."""
        return eased(self.basis, found, self.price) if found.cents >= UNMANNED_CENTS else found

    def _with_another_crew(self) -> Candidate:
        """With the cheapest crew of all who could come, with less work where it has too much at once."""
        return self._eased(next(with_everyone(self.basis, self.price)))

    # better ------------------------------------------------------------------------------------------------------

    def improve(self, *, seconds: float | None = None, moves: int | None = None) -> Reshuffled | None:
        """Search on for so long, counted from the start, or, repeatably, for so many moves."""
        if self.kept is not None:
            self._look_at_other_repairs()
        self._search(seconds, moves)
        if self.best is not None and self.best.cents < self._kept_cents - 1e-6:
            self._keep_or_drop(seconds)
        return self.kept

    def _search(self, seconds: float | None, moves: int | None) -> None:
        """Moves and rounds of refits until time or moves are over."""
        rng = Random(self.seed)
        checked = self.elapsed
        while self.best is not None and not self._is_over(seconds, moves):
            self.moves += 1
            left_s = self._left_s(seconds)
            if self.rounds.due(left_s):
                found = self._shared_out(self.rounds.next(self.best, rng, left_s), seconds)
            else:
                found = move(self.basis, self.price, self.best, rng)
            if found is not None and found.cents < self.best.cents - 1e-6:
                self.best = found
            if moves is None and self.best.cents < self._kept_cents - 1 and self.elapsed - checked >= CHECK_EVERY_S:
                self._keep_or_drop(seconds)
                checked = self.elapsed
        if self.best is not None:
            found = self.rounds.last(self.best)
            self.best = found if found is not None and found.cents < self.best.cents else self.best

    def _shared_out(self, found: Candidate | None, seconds: float | None) -> Candidate | None:
        """What came of a refit, if its work can be shared out among the crew; if not, that stretch is planned once
        more, with hands left free where they were short."""
        if found is None or self.best is None or found.cents >= self.best.cents - 1e-6:
            return None
        passed = self.check(found, repairs=0)
        if not passed and self.rounds.once_more(self._left_s(seconds)):
            return None
        return found

    def _look_at_other_repairs(self) -> None:
        """The best of the repairs is gone on from."""
        sound = self.best is not None and self.best.cents < UNMANNED_CENTS
        for found in self._more:
            repair = found if sound else self._eased(found)
            if self.best is None or repair.cents < self.best.cents:
                self.best = repair

    def _keep_or_drop(self, seconds: float | None) -> None:
        """The best so far becomes a plan; if it does not pass as it is, the search goes back to one that did, and to
        the stretch that was planned last."""
        if self.best is None:
            return
        passed = self.check(self.best)
        if self.kept is not None and not (passed and self._kept_cents <= self.best.cents + 1):
            self.best = self.kept.candidate
            self.rounds.once_more(self._left_s(seconds))

    def _left_s(self, seconds: float | None) -> float | None:
        return None if seconds is None else seconds - self.elapsed

    def _is_over(self, seconds: float | None, moves: int | None) -> bool:
        if self.stop.is_set():
            return True
        if moves is not None:
            return self.moves >= moves
        return seconds is None or self.elapsed >= seconds

    # plans -------------------------------------------------------------------------------------------------------

    def check(self, candidate: Candidate, repairs: int = REPAIRS) -> bool:
        """Make a plan of a candidate and audit it; keep it if it is the best. True if it passed."""
        passing = self._passing(candidate, repairs)
        if passing is None:
            return False
        now, plan = passing
        if now.cents < self._kept_cents:
            self.kept = Reshuffled(plan, now, self.elapsed, self.moves)
            self._kept_cents = now.cents
        return True

    def _passing(self, now: Candidate, repairs: int) -> tuple[Candidate, Plan] | None:
        """A candidate that passes the audit, with its plan: hands are spared so many times where work could not be
        shared out. None if it does not pass."""
        number = self.state.plan.number + 1
        for left in reversed(range(repairs + 1)):
            made = written(self.basis, now, number, self.elapsed, self.seed)
            if not made.overfull:
                self.breaches = audit(made.plan, self.state.scenario, self.past)
                return None if self.breaches else (now, made.plan)
            frame = now.board.frame
            self.rounds.crowded.update(made.overfull)
            if left:
                spared = (*frame.spared, *((k, SPARE_MIN) for k in made.overfull))
                now = self._spared(now, Frame(frame.levels, frame.shifts, spared), set(made.overfull))
        return None

    def _sound(self, candidate: Candidate) -> Candidate:
        """A candidate as it passes, if little is in the way of that; else as it is."""
        passing = self._passing(candidate, FEW_REPAIRS)
        return candidate if passing is None else passing[0]

    def _spared(self, now: Candidate, frame: Frame, full: set[int]) -> Candidate:
        """With hands left free at steps whose work could not be shared out: what is in hand there gives way, no more
        of it than must."""
        grid, placed = now.board.grid, now.board.placed
        codes = {way.code for way in now.chosen.ways if {way.wrap_step, way.stop_step} & full}
        if not codes:
            with_crew = settle(remade(now.board, frame, placed), old_shifts=True)
            boards = with_crew, settle(Board.holding(grid, frame, placed))
            return cheapest(priced(self.basis, board, now.chosen, self.price) for board in boards)

        def otherwise(some: set[str]) -> Chosen:
            return chosen_anew(self.basis, frame, now.chosen, some, EASY_NOISE, Random(self.seed))

        def around(chosen: Chosen) -> Candidate:
            return cheapest(built(self.basis, chosen, frame, placed, self.price))

        alone = {code: otherwise({code}) for code in sorted(codes)}
        order = sorted(alone, key=lambda code: -worth_cents(self.basis, alone[code], self.price))
        found: list[Candidate] = []
        for chosen in chain(
            (alone[code] for code in order), (otherwise(set(order[:n])) for n in range(2, len(order) + 1))
        ):
            found.append(around(chosen))
            if found[-1].cents < UNMANNED_CENTS:
                return found[-1]
        return cheapest(found)


def reshuffle(
    state: State,
    *,
    seconds: float = 5.0,
    moves: int | None = None,
    seed: int = 0,
    price: ChangePrice = PRICES,
    stop: Event | None = None,
    first: Callable[[Reshuffled], None] | None = None,
) -> Reshuffled:
    """A plan from a state on. The old one where nothing happened. `first` hears of the first answer.

    RuntimeError if no plan passes the audit, which is a mistake of this program.
    """
    if went_as_planned(state):
        return Reshuffled(state.plan, None, 0.0, 0)
    search = Search(state, price, seed, stop or Event())
    found = search.run(seconds=seconds, moves=moves, first=first)
    if found is None:
        said = "; ".join(breach.sentence for breach in search.breaches[:3])
        raise RuntimeError(f"no plan that goes on from here passes the audit: {said}")
    return found
