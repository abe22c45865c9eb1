"""Rounds of refits between the moves of a reshuffle: one stretch after another is planned anew as a whole."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random
from threading import Event

from scheduler.reshuffle.aside import Aside
from scheduler.reshuffle.basis import Basis
from scheduler.reshuffle.candidate import Candidate
from scheduler.reshuffle.forked import Tell
from scheduler.reshuffle.prices import ChangePrice
from scheduler.reshuffle.together import Free, refitted
from scheduler.solve.board import Board
from scheduler.solve.highs import Effort, Progress
from scheduler.solve.lean import festival
from scheduler.solve.left_over import Stretch
from scheduler.solve.pinned import spots_of
from scheduler.solve.program import Told
from scheduler.solve.refit import stretches

MOVES_BETWEEN = 100
"""Moves between two rounds."""
REFIT = Effort(gap=0.004, nodes=100)
FINE, SHORT = (1440, 12), (500, 12)
"""Choices of a stretch, and steps to choose from for a wave in one place. Finer than before the night, as fewer loads
are to come; fewer waves where time is short."""
REFIT_LEAST_S, TOOK_SHARE = 1.5, 0.8
"""In the last seconds only moves are made, and so where less is left than so much of what the last one took."""
FINE_LEAST_S = 3.5
"""Seconds left from which on stretches are long, and another one is planned aside: two cores may be one that does two
things by turns."""
PATIENCE_S, WAITS_S = 0.6, 0.1
"""For what another repair may come to; and between looks at whether it is done."""
BACK_S = 1.0
"""By which another repair is to be back before the end."""
LAST_S = 0.4
"""To be left at the end of a refit, for the plan and its audit."""


@dataclass(slots=True)
class Rounds:
    """It begins with two rounds; then so many moves have their turn before each. By the clock, two things are planned
    at once, one of them aside: in the first round another repair, then another stretch."""

    basis: Basis
    price: ChangePrice
    stop: Event
    sound: Callable[[Candidate], Candidate]
    """A candidate with its work such that it can be shared out, if that is soon found."""
    other: Callable[[], Candidate] | None = None
    """Another repair, whose crew may turn out to be the better one after a round of refits."""
    crowded: set[int] = field(default_factory=set)
    """Steps whose work could not be shared out."""
    _todo: list[Stretch] = field(default_factory=list)
    _last: Stretch | None = None
    """What was done last."""
    _again: Stretch | None = None
    """What is done, or was done, once more."""
    _aside: Aside | None = None
    _rounds: int = 0
    """Begun. From the second on all that is in hand is free at once: the relaxation of that leads astray from a bad
    plan, and further from a good one."""
    _took_s: float = 0.0
    """What the last one took; 0 where the search is to be repeatable."""
    _moves: int = 0
    """To be made before the next round."""

    def begin(self, other: Callable[[], Candidate], left_s: float | None) -> None:
        """By the clock, another repair is made and refitted on the other core during the first round; else after it."""
        if left_s is None:
            self.other = other
        elif left_s >= FINE_LEAST_S:
            self._aside = Aside(lambda tell: self._in_a_round(other(), left_s - BACK_S, tell))

    def due(self, left_s: float | None) -> bool:
        """True if a refit is next, False for a move. `left_s` are the seconds left, None if it is to be repeatable."""
        self._moves -= 1
        if self._ready() is not None:
            return True
        if not self._time_for_another(left_s):
            return False
        if self._todo:
            return self._beside(self._in_work()) is not None
        return self._rounds < 2 or (self._aside is None and self._moves < 0)

    def next(self, now: Candidate, rng: Random, left_s: float | None) -> Candidate | None:
        """The next stretch planned anew, or another repair with a round of refits; None if that is not cheaper."""
        ready = self._ready()
        if ready is not None:
            return self._taken(ready, now)
        if self._rounds == 1 and not self._todo and self.other is not None:
            other, self.other = self.other, None
            return self._in_a_round(other(), left_s)
        if not self._todo:
            self._rounds += 1
            self._todo = self._to_come(now.board, rng, left_s)
        stretch = self._beside(self._in_work())
        if stretch is None:
            self._moves = MOVES_BETWEEN
            return None
        self._todo.remove(stretch)
        self._put_aside(now, stretch, left_s)
        if not self._todo:
            self._moves = MOVES_BETWEEN
            if left_s is not None and self._rounds == 1 and self._other_aside:
                return self._last_of_the_first_round(now, stretch, left_s)
        return self._refit(now, stretch, left_s)

    def last(self, now: Candidate) -> Candidate | None:
        """What was planned aside and is done when the search is over; None if that is nothing cheaper."""
        ready = self._ready()
        return None if ready is None else self._taken(ready, now)

    def end(self) -> None:
        """End what is still planned aside."""
        if self._aside is not None:
            self._aside.stop()

    def once_more(self, left_s: float | None) -> bool:
        """What came of the last stretch did not pass: it is next again, once. False if it has been, or if time is too
        short."""
        again, self._again = self._again, None
        if self._last is None or again == self._last or not self._time_for_another(left_s):
            return False
        self._again = self._last
        self._todo.insert(0, self._last)
        self._moves = 0
        self._took_s = 0.0
        return True

    def _time_for_another(self, left_s: float | None) -> bool:
        return left_s is None or left_s >= max(REFIT_LEAST_S, TOOK_SHARE * self._took_s)

    def _ready(self) -> Aside | None:
        """What was planned aside, if it is done; another repair only when the first round here is over as well."""
        if self._aside is None or (self._other_aside and (self._rounds == 0 or (self._rounds == 1 and self._todo))):
            return None
        return self._aside if self._aside.done() else None

    @property
    def _other_aside(self) -> bool:
        """True if another repair is aside, not a stretch."""
        return self._aside is not None and self._aside.stretch is None

    def _in_work(self) -> Stretch | None:
        """The stretch that is planned aside."""
        return None if self._aside is None else self._aside.stretch

    def _beside(self, stretch: Stretch | None) -> Stretch | None:
        """The next thing to do that can be done while a stretch is planned."""
        return next((one for one in self._todo if one != stretch), None)

    def _in_a_round(self, now: Candidate, left_s: float | None, tell: Tell | None = None) -> Candidate:
        """A repair with each stretch refitted once; it tells what it may come to when only one is left."""

        def going_on(hoped_for: float) -> bool:
            if tell is not None:
                tell(hoped_for)
            return True

        until_s = None if left_s is None else time.monotonic() + left_s
        todo = self._to_come(now.board, Random(0), left_s)
        for stretch in todo:
            left_s = None if until_s is None else until_s - time.monotonic()
            if self._time_for_another(left_s):
                told = going_on if stretch is todo[-1] else None
                found = self._refitted(now, stretch, _effort(left_s), lambda _: self.stop.is_set(), "held", told)
                now = now if found is None or found.cents >= now.cents else found
        return self.sound(now)

    def _last_of_the_first_round(self, now: Candidate, stretch: Stretch, left_s: float) -> Candidate | None:
        """That stretch refitted while another repair is aside, or that one: whichever may come to less goes on alone,
        as two cores are often hardly more than one."""
        other = self._aside
        assert other is not None

        def cheaper_here(hoped_for: float) -> bool:
            there = other.hoped_for(min(PATIENCE_S, max(0.0, left_s - REFIT_LEAST_S)))
            if there is not None and there > hoped_for:
                other.stop()
            return there is None or there > hoped_for

        began_s = time.monotonic()
        found = self._refit(now, stretch, left_s, cheaper_here)
        left_s -= time.monotonic() - began_s
        while found is None and not self.stop.is_set() and left_s > LAST_S and not other.done(WAITS_S):
            left_s -= WAITS_S
        return found

    def _put_aside(self, now: Candidate, here: Stretch, left_s: float | None) -> None:
        """By the clock, what can be planned beside a stretch is begun on the other core."""
        stretch = self._beside(here)
        if left_s is None or left_s < FINE_LEAST_S or self._aside is not None or stretch is None:
            return
        self._todo.remove(stretch)
        self._aside = Aside(lambda _: self._refitted(now, stretch, _effort(left_s), None, self._free), (now, stretch))

    def _taken(self, aside: Aside, now: Candidate) -> Candidate | None:
        """What was planned aside as a part of the plan."""
        self._aside = None
        self._last = aside.stretch
        return aside.onto(self.basis, self.price, now)

    def _to_come(self, board: Board, rng: Random, left_s: float | None) -> list[Stretch]:
        """Stretches of which anything is still to be cooked: in the first two rounds, and then in every second one,
        with all fires as they are, which takes half the time and leaves less to be mended; else each with as many fires
        as can burn. None at a festival, where they take too long."""
        if festival(board.grid):
            return []
        burning = [firebox for firebox, steps in enumerate(self.basis.can_burn) if steps.any()]
        size = FINE if left_s is None or left_s >= FINE_LEAST_S else SHORT
        found = stretches(board, rng, burning, *size)
        stay = self._rounds <= 1 or self._rounds % 2 == 0
        fires = 0 if stay else max((len(stretch.fires) for stretch in found), default=0)
        wanted = {d for d, demand in enumerate(board.grid.demands) if demand.pieces}
        return [stretch for stretch in found if stretch.demands & wanted and len(stretch.fires) == fires]

    def _refit(
        self, now: Candidate, stretch: Stretch, left_s: float | None, worth_it: Callable[[float], bool] | None = None
    ) -> Candidate | None:
        self._last = stretch
        began_s = time.monotonic()
        found = self._refitted(now, stretch, _effort(left_s), lambda _: self.stop.is_set(), self._free, worth_it)
        if left_s is not None:
            self._took_s = time.monotonic() - began_s
        return found

    @property
    def _free(self) -> Free:
        """When what could go on as it does is free in this round."""
        return "at once" if self._rounds > 1 else "in the end"

    def _refitted(
        self,
        now: Candidate,
        stretch: Stretch,
        effort: Effort,
        progress: Progress | None,
        free: Free,
        worth_it: Callable[[float], bool] | None = None,
    ) -> Candidate | None:
        crowded = frozenset(self.crowded)
        return refitted(self.basis, self.price, now, stretch, effort, progress, self.told, crowded, free, worth_it)

    @property
    def told(self) -> Told:
        """What the crew was told, and about what each piece costs that is told otherwise."""
        old, places = list(self.basis.old.values()), spots_of(self.basis.grid)
        starts = frozenset((load.stream, places[load.finish_spot], load.demand, load.finish_step) for load in old)
        pieces = sum(load.pieces for load in old) / max(1, len(old))
        return Told(starts, (self.price.time + self.price.place) / max(1.0, pieces))


def _effort(left_s: float | None) -> Effort:
    """What a refit may take."""
    return REFIT if left_s is None else Effort(gap=REFIT.gap, seconds=left_s - LAST_S)
