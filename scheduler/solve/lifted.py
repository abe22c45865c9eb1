"""A finished board with some of its limits lifted, to try out what would still fit on it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from scheduler.model.crew import Skill
from scheduler.model.plan import Limit
from scheduler.model.site import Firebox
from scheduler.solve.board import Board
from scheduler.solve.frame import Frame, Ints
from scheduler.solve.grid import Finish, Grid, Smoke
from scheduler.solve.hands import people_with
from scheduler.solve.insert import Taste, fill
from scheduler.solve.shift_options import ShiftOption

MUCH = 10**9
"""More room, or more minutes, than any weekend has."""


@dataclass(frozen=True, slots=True)
class Lift:
    """What is lifted: whole limits, or hands of one skill, or the wrap tables and cutting boards alone."""

    limits: frozenset[Limit] = frozenset()
    skill: Skill | None = None
    tables: bool = False
    boards: bool = False


NOTHING = Lift()


class Opened:
    """A finished board, opened: whoever may come in is there, cold fires may burn wherever somebody could tend them.

    Its loads stay as they are, and so do the setpoints at which they cook.
    """

    def __init__(self, board: Board) -> None:
        self.grid = board.grid
        self.planned = board
        self._made: dict[tuple[Lift, int], Board] = {}
        setpoints = {f for box in self.grid.fireboxes for f in box.setpoints_f}
        self._setpoints = sorted(setpoints)

    def most(self, demand: int, want: int, lift: Lift = NOTHING) -> int:
        """Most pieces of a wave that can be placed, cold fires lit at one setpoint or another."""
        best = 0
        for setpoint in self._setpoints:
            best = max(best, self._placed(demand, want, lift, setpoint))
            if best == want:
                break
        return best

    def with_all(self, short: dict[int, int], shifts: tuple[ShiftOption, ...] | None = None) -> list[Board]:
        """Boards with as many pieces of some waves as can be placed, nothing lifted; by setpoint of the cold fires.

        With everyone who may come in, or with some shifts only.
        """
        found = []
        for setpoint in self._setpoints:
            board = self._board(NOTHING, setpoint, shifts)
            before = len(board.placed)
            for demand, pieces in short.items():
                fill(board, demand, pieces, Taste())
            if len(board.placed) > before:
                found.append(board)
        return found

    def _placed(self, demand: int, want: int, lift: Lift, setpoint: int) -> int:
        key = lift, setpoint
        if key not in self._made:
            self._made[key] = self._board(lift, setpoint)
        board = self._made[key]
        before = len(board.placed)
        missing = fill(board, demand, want, Taste())
        for load in board.placed[before:]:
            board.take(load)
        return want - missing

    def _board(self, lift: Lift, setpoint: int, shifts: tuple[ShiftOption, ...] | None = None) -> Board:
        grid = _any_temperature(self.grid) if "temperature" in lift.limits else self.grid
        levels = tuple(self._levels(firebox, box, setpoint, lift) for firebox, box in enumerate(self.grid.fireboxes))
        there = grid.shifts if shifts is None else shifts
        board = Board.empty(grid, Frame(levels, there, self.planned.frame.spared))
        # Fires beyond those of the plan are tended for nothing here: `settle` has the last word on that.
        board.hands = Board.empty(grid, self.planned.frame.with_shifts(there)).hands
        for load in self.planned.placed:
            board.put(load)
        _lift_room(board, lift)
        _lift_hands(board, lift)
        return board

    def _levels(self, firebox: int, box: Firebox, setpoint: int, lift: Lift) -> Ints:
        """The plan's setpoints, and another where the fire is cold and could be lit."""
        grid, held = self.grid, self.planned.frame.levels[firebox]
        other = setpoint if setpoint in box.setpoints_f else box.setpoints_f[0]
        levels = np.where(held > 0, held, other).astype(np.int64)
        if "fire" in lift.limits:
            return levels
        may = np.ones(grid.steps, dtype=np.bool_)
        warm = grid.up(box.warm_up_min)
        if "hands" not in lift.limits and lift.skill != "fire":
            tended = people_with(grid, grid.shifts, frozenset({"fire"})) > 0
            may = tended & np.append(np.zeros(warm, dtype=np.bool_), tended[: grid.steps - warm])
        may[:warm] = False
        # Loads at the end of a burn must not feel a change to another setpoint coming.
        change = grid.up(box.setpoint_change_min)
        for end in np.flatnonzero((held[:-1] > 0) & (held[1:] == 0)) + 1:
            if held[end - 1] != other:
                may[end : end + change] = False
        return np.where((held > 0) | may, levels, 0)


def _any_temperature(grid: Grid) -> Grid:
    """The same grid, but every cut accepts every setpoint."""

    def all_of(place: int) -> frozenset[int]:
        firebox = grid.places[place].firebox
        return frozenset() if firebox is None else frozenset(grid.fireboxes[firebox].setpoints_f)

    def smoke(option: Smoke) -> Smoke:
        return replace(option, levels=all_of(option.place))

    def finish(option: Finish) -> Finish:
        return replace(option, levels=all_of(option.place))

    streams = tuple(
        replace(stream, smoke=tuple(map(smoke, stream.smoke)), finish=tuple(map(finish, stream.finish)))
        for stream in grid.streams
    )
    return replace(grid, streams=streams)


def _lift_room(board: Board, lift: Lift) -> None:
    if "rack" in lift.limits:
        for room in board.free:
            room += MUCH
    if "rest" in lift.limits:
        for room in board.rest:
            room += MUCH
    if "hold" in lift.limits:
        for room in board.hold:
            room += MUCH


def _lift_hands(board: Board, lift: Lift) -> None:
    hands, every = board.hands, "hands" in lift.limits
    for skills, left in hands.left:
        if every or lift.skill in skills:
            left += MUCH
    if every or lift.tables:
        hands.tables += MUCH
    if every or lift.boards:
        hands.boards += MUCH
    if every or lift.skill == "pit":
        hands.pit_there[:] = True
