"""What the rest shelves, the holding cabinets and the hands that pull allow after a load is done."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.model.base import hundredths
from scheduler.solve.board import Board
from scheduler.solve.frame import Floats, Ints
from scheduler.solve.grid import Finish, Stream
from scheduler.solve.windows import least, whole, window

NO_LIMIT = np.iinfo(np.int64).max


@dataclass(frozen=True, slots=True)
class After:
    """By the step at which the uncertain stage starts."""

    most: Ints
    """Pieces for which there is room and hands."""
    rest: Ints
    """The roomiest shelf; -1 where none is needed."""
    hold: Ints
    """The same of the cabinets."""


class Afters:
    """What follows a load of one demand on a board as it stands, worked out once for places with the same times."""

    def __init__(self, board: Board, demand: int, want: int, pit: Floats) -> None:
        self.board, self.grid, self.demand = board, board.grid, demand
        self.want = want
        self.pit = pit
        self._known: dict[tuple[int, int, int], After] = {}
        self._held_from = 0
        self._held: Ints | None = None

    def of(self, stream: Stream, finish: Finish, steps: range) -> After:
        """What follows if a stream is finished in such a place from one of some steps on."""
        key = stream.index, finish.took.early_min, finish.took.late_min
        if key not in self._known:
            self._known[key] = self._worked_out(stream, finish, steps)
        return self._known[key]

    def _worked_out(self, stream: Stream, finish: Finish, steps: range) -> After:
        most = self._pulling(stream, finish, steps)
        most = np.minimum(most, self.want)
        if not most.any():
            return After(most, most, most)
        rest, on_shelf = self._resting(stream, finish, steps)
        hold, in_cabinet = self._holding(stream, finish, steps)
        for limit in (on_shelf, in_cabinet):
            if limit is not None:
                most = np.minimum(most, limit)
        return After(most, rest, hold)

    def _resting(self, stream: Stream, finish: Finish, steps: range) -> tuple[Ints, Ints | None]:
        """The roomiest shelf by start step, and pieces that fit on it; (-1, no limit) where no room is needed."""
        size, took, step_min = hundredths(stream.cut.rest_spaces), finish.took, self.grid.step_min
        if not size:
            return np.full(len(steps), -1, dtype=np.int64), None
        minutes = range(steps.start * step_min + took.early_min, steps.stop * step_min + took.early_min, step_min)
        stay = took.late_min + stream.cut.rest_min - took.early_min
        return _roomiest(least(self.board.rest, minutes, stay), range(len(self.board.rest)), size, len(steps))

    def _holding(self, stream: Stream, finish: Finish, steps: range) -> tuple[Ints, Ints | None]:
        """The same for the holding cabinets, whose time ends with the serving."""
        size, end = hundredths(stream.cut.hold_spaces), self.grid.served_min[self.demand]
        if not size:
            return np.full(len(steps), -1, dtype=np.int64), None
        which = self.grid.cabinets_for(stream.cut)
        if self._held is None:
            # Least room from each minute to the end of serving: a running minimum from behind.
            self._held_from = max(0, end - stream.cut.hold_max_min)
            held = np.full((len(which), end - self._held_from + 1), NO_LIMIT, dtype=np.int64)
            held[:, :-1] = self.board.hold[which, self._held_from : end]
            self._held = np.minimum.accumulate(held[:, ::-1], axis=1)[:, ::-1]
        offset = finish.took.early_min + stream.cut.rest_min
        enters = np.minimum(np.arange(steps.start, steps.stop) * self.grid.step_min + offset, end)
        return _roomiest(self._held[:, enters - self._held_from], which, size, len(steps))

    def _pulling(self, stream: Stream, finish: Finish, steps: range) -> Ints:
        took = finish.took
        touched = self.grid.touched(took.early_min, took.late_min)
        shifted = range(steps.start + touched.start, steps.stop + touched.start)
        there = window(self.board.hands.pit_there.astype(np.int64), shifted, len(touched))
        if not stream.cut.hands.pull_min:
            return there * self.want
        spare = window(self.pit, shifted, len(touched))
        return there * whole(spare * len(touched) / stream.cut.hands.pull_min)


def _roomiest(room: Ints, which: range | list[int], size: int, steps: int) -> tuple[Ints, Ints]:
    """By step, which of some shelves has most room, and pieces that it takes."""
    if not len(which):
        return np.full(steps, -1, dtype=np.int64), np.zeros(steps, dtype=np.int64)
    pick = room.argmax(axis=0)
    return np.array(which, dtype=np.int64)[pick], np.maximum(room.max(axis=0), 0) // size
