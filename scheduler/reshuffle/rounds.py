"""Rounds of refits between the moves of a reshuffle: one stretch after another is planned anew as a whole."""

from __future__ import annotations

import time
from dataclasses import dataclass, field
from random import Random
from threading import Event

from scheduler.reshuffle.aside import Aside
from scheduler.reshuffle.basis import Basis
from scheduler.reshuffle.candidate import Candidate
from scheduler.reshuffle.prices import ChangePrice
from scheduler.reshuffle.together import refitted
from scheduler.solve.board import Board
from scheduler.solve.highs import Effort, Progress
from scheduler.solve.lean import festival
from scheduler.solve.left_over import Stretch
from scheduler.solve.pinned import spots_of
from scheduler.solve.refit import Told, stretches

MOVES_BETWEEN = 100
"""Moves between two rounds."""
OTHER_CREW, OTHER_CREW_MOST_S = 1.03, 2.0
"""A repair that costs up to so much as the best one, with another crew, is refitted as well, if a refit takes less."""
REFIT = Effort(gap=0.004, nodes=100)
MOST_STARTS, MOST_CELLS = 12, 1440
"""Steps to choose from for a wave in one place, and choices of a stretch. Finer than before the night: fewer loads are
to come, and there is time for one round only."""
REFIT_LEAST_S, TOOK_SHARE = 1.5, 0.8
"""In the last seconds only moves are made, and so where less is left than so much of what the last one took."""
LAST_S = 0.4
"""To be left at the end of a refit, for the plan and its audit."""


@dataclass(frozen=True, slots=True)
class Job:
    """A stretch to be planned anew, with what is urgent in it or with everything that is in hand."""

    stretch: Stretch
    everything: bool


@dataclass(slots=True)
class Rounds:
    """It begins with a round; then so many moves have their turn before the next. By the clock, two stretches are
    planned at once, one of them aside."""

    basis: Basis
    price: ChangePrice
    stop: Event
    other: Candidate | None = None
    """Another repair, whose crew may turn out to be the better one once a stretch is refitted."""
    crowded: set[int] = field(default_factory=set)
    """Steps whose work could not be shared out."""
    _todo: list[Job] = field(default_factory=list)
    _last: Job | None = None
    """What was done last."""
    _again: Job | None = None
    """What is done, or was done, once more."""
    _aside: Aside | None = None
    _rounds: int = 0
    _took_s: float = 0.0
    """What the last one took; 0 where the search is to be repeatable."""
    _moves: int = 0
    """To be made before the next round."""

    def compare(self, repairs: list[Candidate]) -> None:
        """Of repairs, the cheapest first, the next one with another crew: whoever is called in too early stays."""
        best = repairs[0]
        others = [repair for repair in repairs if set(repair.board.frame.shifts) != set(best.board.frame.shifts)]
        self.other = next((other for other in others if other.cents < OTHER_CREW * best.cents), None)

    def due(self, left_s: float | None) -> bool:
        """True if a refit is next, False for a move. `left_s` are the seconds left, None if it is to be repeatable."""
        self._moves -= 1
        if self._aside is not None and self._aside.done():
            return True
        if left_s is not None and left_s < max(REFIT_LEAST_S, TOOK_SHARE * self._took_s):
            return False
        if self._todo or self._aside is not None:
            return self._with_other_crew() or self._beside(self._in_work()) is not None
        return self._moves < 0

    def next(self, now: Candidate, rng: Random, left_s: float | None) -> Candidate | None:
        """The next stretch planned anew, or once the last one with another crew; None if that is not cheaper."""
        if self._aside is not None and self._aside.done():
            return self._taken(self._aside, now)
        if self._with_other_crew():
            assert self._last is not None
            other, self.other = self.other, None
            if other is not None and self._took_s < OTHER_CREW_MOST_S:
                return self._refit(other, self._last, left_s)
        if not self._todo:
            self._todo = self._to_come(now.board, rng)
        job = self._beside(self._in_work())
        if job is None:
            self._moves = MOVES_BETWEEN
            return None
        self._todo.remove(job)
        self._put_aside(now, job, left_s)
        if not self._todo:
            self._moves = MOVES_BETWEEN
        return self._refit(now, job, left_s)

    def last(self, now: Candidate) -> Candidate | None:
        """What was planned aside and is done when the search is over; None if that is nothing cheaper."""
        return self._taken(self._aside, now) if self._aside is not None and self._aside.done() else None

    def once_more(self) -> bool:
        """What came of the last stretch did not pass: it is next again, once. False if it has been."""
        again, self._again = self._again, None
        if self._last is None or again == self._last:
            return False
        self._again = self._last
        self._todo.insert(0, self._last)
        self._moves = 0
        self._took_s = 0.0
        return True

    def _with_other_crew(self) -> bool:
        return self._last is not None and self.other is not None

    def _in_work(self) -> Stretch | None:
        """The stretch that is planned aside."""
        return None if self._aside is None else self._aside.stretch

    def _beside(self, stretch: Stretch | None) -> Job | None:
        """The next thing to do that can be done while a stretch is planned."""
        return next((job for job in self._todo if job.stretch != stretch), None)

    def _put_aside(self, now: Candidate, here: Job, left_s: float | None) -> None:
        """By the clock, what can be done beside a job is begun on the other core."""
        job = self._beside(here.stretch)
        if left_s is None or self._aside is not None or job is None:
            return
        self._todo.remove(job)
        effort = Effort(gap=REFIT.gap, seconds=left_s - LAST_S)
        self._aside = Aside(now, job.stretch, lambda now: self._refitted(now, job, effort, None))

    def _taken(self, aside: Aside, now: Candidate) -> Candidate | None:
        """What was planned aside as a part of the plan."""
        self._aside = None
        self._last = Job(aside.stretch, everything=True)
        return aside.onto(self.basis, self.price, now)

    def _to_come(self, board: Board, rng: Random) -> list[Job]:
        """Stretches of which anything is still to be cooked, each with as many fires as can burn: time is short. None
        at a festival, where they take too long. What loses most is planned in two goes at first, as the program with
        everything in hand is far better off with a good plan to begin with."""
        if festival(board.grid):
            return []
        burning = [firebox for firebox, steps in enumerate(self.basis.can_burn) if steps.any()]
        found = stretches(board, rng, burning, MOST_CELLS, MOST_STARTS)
        most = max((len(stretch.fires) for stretch in found), default=0)
        wanted = {d for d, demand in enumerate(board.grid.demands) if demand.pieces}
        jobs = [Job(x, everything=True) for x in found if x.demands & wanted and len(x.fires) == most]
        first = [Job(job.stretch, everything=False) for job in jobs[:1] if not self._rounds]
        self._rounds += 1
        return first + jobs

    def _refit(self, now: Candidate, job: Job, left_s: float | None) -> Candidate | None:
        self._last = job
        effort = REFIT if left_s is None else Effort(gap=REFIT.gap, seconds=left_s - LAST_S)
        began_s = time.monotonic()
        found = self._refitted(now, job, effort, lambda _: self.stop.is_set())
        if left_s is not None:
            self._took_s = time.monotonic() - began_s
        return found

    def _refitted(self, now: Candidate, job: Job, effort: Effort, progress: Progress | None) -> Candidate | None:
        return refitted(
            self.basis,
            self.price,
            now,
            job.stretch,
            effort,
            progress,
            self.told,
            frozenset(self.crowded),
            everything=job.everything,
        )

    @property
    def told(self) -> Told:
        """What the crew was told, and about what each piece costs that is told otherwise."""
        old, places = list(self.basis.old.values()), spots_of(self.basis.grid)
        starts = frozenset((load.stream, places[load.finish_spot], load.demand, load.finish_step) for load in old)
        pieces = sum(load.pieces for load in old) / max(1, len(old))
        return Told(starts, (self.price.time + self.price.place) / max(1.0, pieces))
