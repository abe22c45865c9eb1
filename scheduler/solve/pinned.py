"""What no move of the search may change: the past, and how what has begun goes on.

A grid that carries a `Pinned` is searched from its step on: before it nothing can be placed, lit or called in; the
fires and shifts of the past stay as they were; loads that have begun take their room, their fire and their hands by the
way on that was chosen for each. Everything else is the search's to change.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from scheduler.model.base import hundredths
from scheduler.solve.frame import Frame, Ints, one_of

if TYPE_CHECKING:
    from scheduler.model.crew import Skill
    from scheduler.model.menu import Cut
    from scheduler.solve.board import Board
    from scheduler.solve.grid import Grid
    from scheduler.solve.shift_options import ShiftOption

PAST_HEADS = 1000.0
"""People in the past, so that no rule is asked of it."""


@dataclass(frozen=True, slots=True)
class Stay:
    """On a spot from one step to before another, while its fire holds one of some setpoints."""

    spot: int
    first: int
    last: int
    levels: frozenset[int]


@dataclass(frozen=True, slots=True)
class WayOn:
    """How pieces of a load that has begun go on. Steps and minutes as in `Board`; -1 where no shelf is needed."""

    code: str
    pieces: int
    stream: int
    demand: int
    stays: tuple[Stay, ...]
    """From the moment on, in order of time."""
    stop_step: int | None
    wrap_step: int | None
    """The wrap still to come; None if there is none."""
    early_min: int
    likely_min: int
    late_min: int
    rest: int
    hold: int
    cents: float
    """Quality lost in the hold, and moves, as the audit prices them."""
    late_cents: float
    """Margin lost because it is ready only after its wave has begun."""


@dataclass(frozen=True, slots=True)
class Burnt:
    """A firebox before the moment."""

    held: Ints
    """Setpoint by step before it, 0 where it could not cook."""
    ready_step: int | None
    """From when it can cook, if it burns or warms up at the moment; None if it is cold."""
    setpoint_f: int
    """What it holds, or will once it is warm."""
    clean_left_min: int
    """Minutes of cleaning out still to be done before it is lit again."""


@dataclass(frozen=True, slots=True)
class Pinned:
    """All that is fixed from a step on."""

    step: int
    ways: tuple[WayOn, ...]
    burnt: tuple[Burnt, ...]
    """By firebox."""
    running: tuple[ShiftOption, ...]
    closed: tuple[tuple[tuple[int, int], ...], ...]
    """Steps (from, until) at which a firebox is out of use, by firebox."""
    helped: int
    """The step before which nobody can come for those who are missing: fires may burn with nobody there."""
    counter: Ints
    """The most people that can stand at the counter, by step."""

    def going(self, ways: Iterable[WayOn]) -> Pinned:
        """The same where what has begun goes on by these ways."""
        return replace(self, ways=tuple(ways))

    # the frame ---------------------------------------------------------------------------------------------------

    @property
    def to_clean(self) -> set[int]:
        """Fireboxes to be cleaned out before they are lit again, also where nothing was cooked over the last burn."""
        return {firebox for firebox, burnt in enumerate(self.burnt) if burnt.clean_left_min > 0}

    def frame(self, grid: Grid, frame: Frame) -> Frame:
        """The same with the fires of the past, those that what has begun needs, and the shifts that run.

        A frame without any shifts stays so: it asks what is needed if nobody were there.
        """
        levels = [held.copy() for held in frame.levels]
        for way in self.ways:
            for firebox, stay in self.burning(grid, way):
                self.heat(grid, firebox, levels[firebox], stay)
        fires = tuple(self._possible(grid, firebox, held) for firebox, held in enumerate(levels))
        return Frame(fires, self._crew(grid, frame.shifts), frame.spared)

    def burning(self, grid: Grid, way: WayOn) -> Iterator[tuple[int, Stay]]:
        """The stays of a load that need a fire, with their firebox."""
        spots = spots_of(grid)
        for stay in way.stays:
            firebox = grid.places[spots[stay.spot]].firebox
            if firebox is not None and stay.first < stay.last:
                yield firebox, stay

    def heat(self, grid: Grid, firebox: int, levels: Ints, stay: Stay) -> None:
        """Set a fire, where it is cold or at what the load does not accept, to a setpoint that it does.

        A change to another starts before it holds, so it waits until the load is off.
        """
        best = self._level(levels, stay)
        held = levels[stay.first : stay.last]
        held[~one_of(held, stay.levels)] = best
        after = levels[stay.last : stay.last + grid.up(grid.fireboxes[firebox].setpoint_change_min)]
        after[(after > 0) & ~one_of(after, stay.levels)] = best

    def _level(self, held: Ints, stay: Stay) -> int:
        before = int(held[stay.first - 1]) if stay.first else 0
        if before in stay.levels:
            return before
        there = [int(level) for level in held[stay.first : stay.last] if int(level) in stay.levels]
        return there[0] if there else min(stay.levels)

    def _possible(self, grid: Grid, firebox: int, levels: Ints) -> Ints:
        """Setpoints that can still be held: the past as it was, no fire before it can be warm, none out of use."""
        box, burnt = grid.fireboxes[firebox], self.burnt[firebox]
        warm, clean = grid.up(box.warm_up_min), grid.up(box.clean_out_min)
        levels[: self.step] = burnt.held[: self.step]
        if burnt.ready_step is None:
            levels[self.step : self.step + grid.up(burnt.clean_left_min) + warm] = 0
        else:
            self._goes_on(grid, firebox, levels)
        for first, last in self.closed[firebox]:
            start = max(first, self.step)
            levels[start : max(last, start + clean) + warm] = 0
        return levels

    def _goes_on(self, grid: Grid, firebox: int, levels: Ints) -> None:
        """A fire that burns, or warms up, holds its setpoint until another can be reached."""
        box, burnt = grid.fireboxes[firebox], self.burnt[firebox]
        ready = max(self.step, burnt.ready_step or 0)
        levels[self.step : ready] = 0
        if ready > self.step and ready < grid.steps:
            levels[ready] = burnt.setpoint_f
        if not levels[ready : ready + 1].any():
            levels[self.step : self.step + grid.up(box.clean_out_min) + grid.up(box.warm_up_min)] = 0
            return
        change = grid.up(box.setpoint_change_min)
        soon = levels[self.step : self.step + change]
        soon[soon > 0] = burnt.setpoint_f

    def _crew(self, grid: Grid, shifts: tuple[ShiftOption, ...]) -> tuple[ShiftOption, ...]:
        if not shifts:
            return ()
        rest = grid.scenario.crew.least_rest_min

        def apart(option: ShiftOption) -> bool:
            return all(
                run.person.name != option.person.name
                or run.end_min + rest <= option.start_min
                or option.end_min + rest <= run.start_min
                for run in self.running
            )

        return (*self.running, *(option for option in shifts if option not in self.running and apart(option)))

    def free_to_burn(self, grid: Grid, firebox: int) -> NDArray[np.bool_]:
        """Steps at which a fire may be lit or let out: not in the past, not while it cannot be warm."""
        box, burnt = grid.fireboxes[firebox], self.burnt[firebox]
        free = np.ones(grid.steps, dtype=np.bool_)
        left = grid.up(burnt.clean_left_min) + grid.up(box.warm_up_min) if burnt.ready_step is None else 0
        free[: max(self.step + left, burnt.ready_step or 0)] = False
        for first, last in self.closed[firebox]:
            free[first:last] = False
        return free

    # the board ---------------------------------------------------------------------------------------------------

    def lay(self, board: Board) -> None:
        """Take from an empty board what has begun, and all room before the step."""
        for room in board.free:
            room[: self.step] = 0
        for firebox, burnt in enumerate(self.burnt):
            board.hot[firebox][: self.step] += burnt.held[: self.step] > 0
            if burnt.ready_step is not None and self.step < burnt.ready_step < board.grid.steps:
                board.hot[firebox][burnt.ready_step] += 1
        for way in self.ways:
            self.lay_way(board, way, 1)

    def lay_way(self, board: Board, way: WayOn, sign: int) -> None:
        """Take one load's room, fire and hands, or give them back."""
        grid = board.grid
        cut = grid.streams[way.stream].cut
        n = sign * way.pieces
        for stay in way.stays:
            board.free[stay.spot][stay.first : stay.last] -= n * hundredths(cut.spaces)
        for firebox, stay in self.burning(grid, way):
            board.hot[firebox][stay.first : stay.last] += sign
        start = self.step * grid.step_min
        early, late = max(way.early_min, start), way.late_min
        if way.rest >= 0 and late + cut.rest_min > early:
            board.rest[way.rest][early : late + cut.rest_min] -= n * hundredths(cut.rest_spaces)
        if way.hold >= 0:
            held = max(way.early_min + cut.rest_min, start)
            board.hold[way.hold][held : grid.served_min[way.demand]] -= n * hundredths(cut.hold_spaces)
        self._work(board, way, cut, n)

    def _work(self, board: Board, way: WayOn, cut: Cut, n: int) -> None:
        grid, hands = board.grid, board.hands
        for skill, steps, minutes in self.handled(grid, way, n):
            hands.spend(skill, steps, minutes)
        slices = grid.touched(grid.ready_min[way.demand], grid.served_min[way.demand])
        hands.spend("slice", self._ahead(slices), n * cut.hands.slice_min / len(slices))

    def handled(self, grid: Grid, way: WayOn, pieces: int) -> Iterator[tuple[Skill, slice, float]]:
        """What handing over, wrapping and pulling pieces ask of the hands: skill, steps, minutes at each of them."""
        need = grid.streams[way.stream].cut.hands
        if way.stop_step is not None:
            yield "pit", slice(way.stop_step, way.stop_step + 1), 2 * pieces * need.load_min
        if way.wrap_step is not None:
            yield "wrap", slice(way.wrap_step, way.wrap_step + 1), pieces * need.wrap_min
        pulls = grid.touched(way.early_min, way.late_min)
        yield "pit", self._ahead(pulls), pieces * need.pull_min / len(pulls)

    def _ahead(self, steps: range) -> slice:
        """Those of some steps at which somebody can be there."""
        return slice(max(steps.start, self.helped), max(steps.stop, self.helped))

    def alone(self, board: Board, way: WayOn) -> bool:
        """True if nobody is there to pull a load, whenever it is done."""
        return not board.hands.pit_there[self._ahead(board.grid.touched(way.early_min, way.late_min))].all()

    def turns_too_late(self, grid: Grid, firebox: int, stay: Stay) -> bool:
        """True if a fire burns at another setpoint than a stay accepts, and a change takes longer than there is."""
        burnt, change = self.burnt[firebox], grid.up(grid.fireboxes[firebox].setpoint_change_min)
        soon = burnt.ready_step is not None and stay.first < self.step + change
        return soon and burnt.setpoint_f not in stay.levels

    def pulls(self, grid: Grid) -> NDArray[np.bool_]:
        """Steps at which something that has begun may be pulled."""
        there = np.zeros(grid.steps, dtype=np.bool_)
        for way in self.ways:
            there[self._ahead(grid.touched(way.early_min, way.late_min))] = True
        return there

    def fails(self, board: Board, way: WayOn) -> bool:
        """True if its fire, or the hands to pull it, are not there, or it goes on what is full."""
        cold = any(
            not board.accepted(stay.spot, stay.levels)[stay.first : stay.last].all()
            for _, stay in self.burning(board.grid, way)
        )
        put = [stay for stay in way.stays if stay.first > self.step or way.stop_step is not None]
        full = any(board.free[stay.spot][stay.first : stay.last].min(initial=0) < 0 for stay in put)
        return cold or self.alone(board, way) or full

    def broken(self, board: Board) -> int:
        """Loads that have begun whose fire, or whose hands to pull them, are not there, or that go on what is full.

        What is overfull by what happened is not counted: nobody chose it.
        """
        found = sum(self.fails(board, way) for way in self.ways)
        shelves = [*board.rest, *board.hold]
        since = self.step * board.grid.step_min
        return found + sum(int(room[since:].min(initial=0)) < 0 for room in shelves)


def spots_of(grid: Grid) -> list[int]:
    """The place of each spot, in the order of `Board.spots`."""
    return [spot.place for spot in grid.spots]
