"""A stretch planned anew on the other core while the search goes on here; its outcome is put into the plan of then."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from scheduler.reshuffle.basis import Basis
from scheduler.reshuffle.candidate import Candidate, built, cheapest, priced, with_ways
from scheduler.reshuffle.choose import Chosen
from scheduler.reshuffle.forked import Forked, Tell
from scheduler.reshuffle.prices import ChangePrice
from scheduler.solve.board import Board, Placed
from scheduler.solve.frame import Frame
from scheduler.solve.left_over import Stretch

Sent = tuple[Frame, list[Placed], Chosen | None]
"""A candidate as it is sent between processes; what is chosen only where that has changed."""


class Aside:
    """One refit in a process of its own: of a stretch of the candidate of the moment, or of another plan as a whole."""

    def __init__(
        self, refit: Callable[[Tell], Candidate | None], part: tuple[Candidate, Stretch] | None = None
    ) -> None:
        self._part = part
        self._found = Forked(lambda tell: _sent(refit(tell), part))

    @property
    def stretch(self) -> Stretch | None:
        """What is planned anew; None if it is another plan."""
        return None if self._part is None else self._part[1]

    def done(self, patience_s: float = 0.0) -> bool:
        """True if `onto` need not wait; it is waited for so long."""
        return self._found.done(patience_s)

    def hoped_for(self, patience_s: float) -> float | None:
        """What it is likely to cost, as it has told; None if it does not tell in so many seconds."""
        return self._found.told(patience_s)

    def stop(self) -> None:
        """End it; nothing comes of it."""
        self._found.stop()

    def onto(self, basis: Basis, price: ChangePrice, now: Candidate) -> Candidate | None:
        """What came of it, put into a candidate that may have become another meanwhile; None if it came to nothing."""
        sent = self._found.result()
        if sent is None:
            return None
        frame, loads, anew = sent
        chosen = now.chosen if anew is None else anew
        if self._part is None or now is self._part[0]:
            board = Board.holding(with_ways(basis, chosen.ways), frame, loads)
            return priced(basis, board, chosen, price)
        then, stretch = self._part
        placed = [load for load in now.board.placed if load.demand not in stretch.demands]
        placed += [load for load in loads if load.demand in stretch.demands]
        # Ways of what has begun are chosen as one; where both have changed them, those here stand.
        chosen = chosen if now.chosen is then.chosen else now.chosen
        changed = _with_changes(now.board.frame, then.board.frame, frame)
        return cheapest(built(basis, chosen, changed, placed, price, crews=(True,)))


def _sent(found: Candidate | None, part: tuple[Candidate, Stretch] | None) -> Sent | None:
    if found is None:
        return None
    as_it_was = part is not None and found.chosen is part[0].chosen
    return found.board.frame, found.board.placed, None if as_it_was else found.chosen


def _with_changes(here: Frame, old: Frame, new: Frame) -> Frame:
    """Fires as they are here, but as in `new` where that differs from `old`."""
    levels = zip(here.levels, old.levels, new.levels, strict=True)
    return here.with_levels(tuple(np.where(changed != was, changed, held) for held, was, changed in levels))
