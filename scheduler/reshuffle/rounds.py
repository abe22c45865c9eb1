"""Rounds of refits between the moves of a reshuffle: one stretch after another is planned anew as a whole."""

from __future__ import annotations

import time
from dataclasses import dataclass, field
from random import Random
from threading import Event

from scheduler.reshuffle.basis import Basis
from scheduler.reshuffle.candidate import Candidate
from scheduler.reshuffle.prices import ChangePrice
from scheduler.reshuffle.together import refitted
from scheduler.solve.board import Board
from scheduler.solve.highs import Effort
from scheduler.solve.lean import festival
from scheduler.solve.left_over import Stretch
from scheduler.solve.pinned import spots_of
from scheduler.solve.refit import Told, stretches

MOVES_BETWEEN = 100
"""Moves between two rounds."""
OTHER_CREW, OTHER_CREW_MOST_S = 1.03, 2.0
"""A repair that costs up to so much as the best one, with another crew, is refitted as well, if a refit takes less."""
REFIT = Effort(gap=0.004, nodes=100)
MOST_CELLS = 700
"""Choices of a stretch: fewer than before the night, as seconds count."""
REFIT_LEAST_S = 1.5
"""In the last seconds only moves are made."""


@dataclass(slots=True)
class Rounds:
    """It begins with a round; then so many moves have their turn before the next."""

    basis: Basis
    price: ChangePrice
    stop: Event
    other: Candidate | None = None
    """Another repair, whose crew may turn out to be the better one once a stretch is refitted."""
    crowded: set[int] = field(default_factory=set)
    """Steps whose work could not be shared out."""
    _last: Stretch | None = None
    """The last stretch that was planned anew."""
    _todo: list[Stretch] = field(default_factory=list)
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
        return self._moves < 0 and (left_s is None or left_s >= max(REFIT_LEAST_S, self._took_s))

    def next(self, now: Candidate, rng: Random, left_s: float | None) -> Candidate | None:
        """The next stretch planned anew, or once the last one with another crew; None if that is not cheaper."""
        if not self._todo:
            self._todo = self._to_come(now.board, rng)
        if self._last is not None and self.other is not None:
            other, self.other = self.other, None
            if self._took_s < OTHER_CREW_MOST_S:
                return self._refit(other, self._last, left_s)
        self._last = self._todo.pop(0) if self._todo else None
        if not self._todo:
            self._moves = MOVES_BETWEEN
        return None if self._last is None else self._refit(now, self._last, left_s)

    def once_more(self) -> None:
        """What came of the last stretch did not pass: it is next again."""
        if self._last is not None:
            self._todo.insert(0, self._last)
            self._moves = 0

    def _to_come(self, board: Board, rng: Random) -> list[Stretch]:
        """Stretches of which anything is still to be cooked, each with as many fires as can burn: time is short. None
        at a festival, where they take too long."""
        if festival(board.grid):
            return []
        burning = [firebox for firebox, steps in enumerate(self.basis.can_burn) if steps.any()]
        found = stretches(board, rng, burning, MOST_CELLS)
        most = max((len(stretch.fires) for stretch in found), default=0)
        wanted = {d for d, demand in enumerate(board.grid.demands) if demand.pieces}
        return [stretch for stretch in found if stretch.demands & wanted and len(stretch.fires) == most]

    def _refit(self, now: Candidate, stretch: Stretch, left_s: float | None) -> Candidate | None:
        effort = REFIT if left_s is None else Effort(gap=REFIT.gap, seconds=left_s)
        began_s = time.monotonic()
        found = refitted(
            self.basis, self.price, now, stretch, effort, lambda _: self.stop.is_set(), self.told, self.crowded
        )
        if left_s is not None:
            self._took_s = time.monotonic() - began_s
        return found

    @property
    def told(self) -> Told:
        """What the crew was told, and about what each piece costs that is told otherwise."""
        old, places = list(self.basis.old.values()), spots_of(self.basis.grid)
        starts = frozenset((load.stream, places[load.finish_spot], load.demand, load.finish_step) for load in old)
        pieces = sum(load.pieces for load in old) / max(1, len(old))
        return Told(starts, (self.price.time + self.price.place) / max(1.0, pieces))
