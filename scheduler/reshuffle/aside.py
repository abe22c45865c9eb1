"""A stretch planned anew on the other core while the search goes on here; its outcome is put into the plan of then."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor

import numpy as np

from scheduler.reshuffle.basis import Basis
from scheduler.reshuffle.candidate import Candidate, built, cheapest
from scheduler.reshuffle.prices import ChangePrice
from scheduler.solve.frame import Frame
from scheduler.solve.left_over import Stretch


class Aside:
    """One refit, from the candidate of the moment on. HiGHS runs beside Python, so one more thread is enough, as long
    as it does not call back: each call would wait for the moves that are made meanwhile. So it can't be told to stop,
    and has to know its end."""

    def __init__(self, now: Candidate, stretch: Stretch, refit: Callable[[Candidate], Candidate | None]) -> None:
        self.stretch = stretch
        self._now = now
        pool = ThreadPoolExecutor(1, "refit")
        self._found: Future[Candidate | None] = pool.submit(refit, now)
        pool.shutdown(wait=False)

    def done(self) -> bool:
        """True if `onto` need not wait."""
        return self._found.done()

    def onto(self, basis: Basis, price: ChangePrice, now: Candidate) -> Candidate | None:
        """What came of it, put into a candidate that may have become another meanwhile; None if it came to nothing."""
        found = self._found.result()
        if found is None or now is self._now:
            return found
        mine = self.stretch.demands
        placed = [load for load in now.board.placed if load.demand not in mine]
        placed += [load for load in found.board.placed if load.demand in mine]
        # Ways of what has begun are chosen as one; where both have changed them, those here stand.
        chosen = found.chosen if now.chosen is self._now.chosen else now.chosen
        frame = _with_changes(now.board.frame, self._now.board.frame, found.board.frame)
        return cheapest(built(basis, chosen, frame, placed, price, crews=(True,)))


def _with_changes(here: Frame, old: Frame, new: Frame) -> Frame:
    """Fires as they are here, but as in `new` where that differs from `old`."""
    levels = zip(here.levels, old.levels, new.levels, strict=True)
    return here.with_levels(tuple(np.where(changed != was, changed, held) for held, was, changed in levels))
