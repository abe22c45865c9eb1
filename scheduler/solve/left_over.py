"""What a plan leaves to a stretch of it that is planned anew: room, hands, and fires that somebody could tend."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

import numpy as np

from scheduler.solve.board import Board, Placed
from scheduler.solve.fire_rounds import rounds_every, rounds_of
from scheduler.solve.frame import Floats
from scheduler.solve.grid import Grid
from scheduler.solve.hands import SPARE_MIN, fire_minutes, people_with, share_of
from scheduler.solve.in_hand import InHand
from scheduler.solve.pinned import Stay

MOST_STARTS = 6
"""Steps to choose from for a wave in one place, spread over all that are allowed."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """What is planned anew; all else stays."""

    demands: frozenset[int]
    fires: frozenset[int]
    most_starts: int = MOST_STARTS
    phase: int = 0
    """So many steps before the last ones lie those to choose from, where they are thinned out."""


@dataclass(frozen=True, slots=True)
class LeftOver:
    """A plan without a stretch of it."""

    stretch: Stretch
    board: Board
    """The loads that stay. Hands are as if the fires of the stretch were cold all weekend; the frame is the plan's."""
    grid: Grid
    """Places with the room that is left, demands with the pieces that are wanted in the stretch."""
    loads: tuple[Placed, ...]
    """Those of the stretch."""
    fires: Floats
    """Fires that could burn beside those that stay, by step."""
    in_hand: tuple[InHand, ...] = ()
    """What has begun and may go on otherwise; it is not on the board."""

    def needs_fire(self) -> Iterator[tuple[int, Stay]]:
        """What stands over a fire and stays, with the firebox."""
        board, grid = self.board, self.board.grid
        stays = [stay for load in board.placed for stay in board.stays(load)]
        stays += [stay for way in (grid.pinned.ways if grid.pinned is not None else ()) for stay in way.stays]
        for stay in stays:
            firebox = grid.places[board.spots[stay.spot].place].firebox
            if firebox is not None:
                yield firebox, stay

    def rest_room(self, minute: int) -> float:
        """Room on all shelves together."""
        return float(sum(max(0, int(room[minute])) for room in self.board.rest))

    def hold_room(self, cabinets: frozenset[int], minute: int, until: int) -> float:
        """Room in some cabinets together from one minute up to another."""
        together = sum((np.maximum(0, self.board.hold[i][minute:until]) for i in cabinets), start=np.zeros(1))
        return float(together.min())

    def rounds_due(self, firebox: int) -> list[int]:
        """The steps into which rounds of tending a fire would fall: its own ones, as burns are lit in step.

        A fire that burns as a plan is changed on the way keeps to the rounds that it has, until it goes out.
        """
        grid = self.board.grid
        every = rounds_every(grid, grid.fireboxes[firebox])
        due = set(range(firebox % every, grid.steps, every))
        for burn in self.board.frame.burns(grid):
            if burn.firebox == firebox and grid.pinned is not None and burn.lit < grid.pinned.step:
                due = {step for step in due if step >= burn.out}.union(rounds_of(grid, burn))
        return sorted(due)


def left_over(
    board: Board, stretch: Stretch, in_hand: tuple[InHand, ...] = (), crowded: Collection[int] = ()
) -> LeftOver:
    """A plan without the loads and fires of a stretch, and without what has begun and may go on otherwise.

    Of crowded steps the work could not be shared out before, so not all hands are to be used there.
    """
    grid, frame = _without(board.grid, in_hand), board.frame
    stay = [load for load in board.placed if load.demand not in stretch.demands]
    rest = Board.holding(grid, frame, stay)
    rest.hands.spend("fire", slice(0, grid.steps), -fire_minutes(grid, rest.frame, stretch.fires))
    _spare(rest, board, crowded)
    room = [np.zeros(grid.steps, dtype=np.int64) for _ in grid.places]
    for spot, free in zip(rest.spots, rest.free, strict=True):
        room[spot.place] += np.maximum(0, free)
    places = tuple(replace(place, cap=cap) for place, cap in zip(grid.places, room, strict=True))
    made = rest.made()
    wanted = stretch.demands.union(way.demand for load in in_hand for way in load.ways)
    demands = tuple(
        replace(demand, pieces=max(0, demand.pieces - made[d]) if d in wanted else 0)
        for d, demand in enumerate(grid.demands)
    )
    loads = tuple(load for load in board.placed if load.demand in stretch.demands)
    return LeftOver(
        stretch, rest, replace(grid, places=places, demands=demands), loads, _tended(rest, stretch), in_hand
    )


def _spare(rest: Board, board: Board, crowded: Collection[int]) -> None:
    """Leave some of the hands at some steps, but no more than the plan does."""
    steps = sorted(crowded)
    for (skills, minutes), (_, now) in zip(rest.hands.left, board.hands.left, strict=True):
        minutes[steps] -= np.clip(now[steps], 0.0, share_of(skills, SPARE_MIN))


def _without(grid: Grid, in_hand: tuple[InHand, ...]) -> Grid:
    if grid.pinned is None or not in_hand:
        return grid
    codes = {load.code for load in in_hand}
    return replace(grid, pinned=grid.pinned.going(way for way in grid.pinned.ways if way.code not in codes))


def _tended(board: Board, stretch: Stretch) -> Floats:
    grid = board.grid
    fires = people_with(grid, board.frame.shifts, frozenset({"fire"})) * grid.scenario.crew.fires_per_person
    for burn in board.frame.burns(grid):
        if burn.firebox not in stretch.fires:
            fires[max(0, burn.lit) : burn.out] -= 1
    if grid.pinned is not None:
        fires[: grid.pinned.helped] = len(grid.fireboxes)
    return np.maximum(0.0, fires)
