"""Counting back: when each wave goes on by fixed hours, and which racks it takes, smokers filled in order.

The kitchen has one house temperature and one house recipe a cut. For each wave it counts back from the time at which
the wave must be ready: the rest, a buffer, the hours of the cut; that is when it goes on. Smokers are filled in order,
rack by rack; what finds no room by the kitchen's own reckoning is short.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np

from scheduler.model.base import hundredths
from scheduler.model.menu import Recipe
from scheduler.solve.board import Board, Placed
from scheduler.solve.frame import Frame, Ints
from scheduler.solve.grid import Finish, Grid, Smoke, Stream

BUFFER_MIN = 60
"""Up the sleeve of every cut. Common practice, no source."""
STAGGER_MIN = 60
"""With the rules kept, loads for which there is no room or nobody free go on up to so much earlier."""


def house_setpoints(grid: Grid) -> tuple[int, ...]:
    """One setpoint a firebox: that at which most pieces of the weekend can be cooked, the cooler of two that tie.

    Cuts that can't be cooked at it anywhere get the last firebox, at what suits most of them.
    """
    wanted: Counter[str] = Counter()
    for demand in grid.demands:
        wanted[demand.cut] += demand.pieces
    found = [_most_suited(grid, box.setpoints_f, wanted) for box in grid.fireboxes]
    left = Counter({cut: n for cut, n in wanted.items() if not any(_house_recipe(grid, cut, f) for f in found)})
    if left and len(found) > 1:
        found[-1] = _most_suited(grid, grid.fireboxes[-1].setpoints_f, left)
    return tuple(found)


def _most_suited(grid: Grid, setpoints_f: Iterable[int], wanted: Counter[str]) -> int:
    def suited(setpoint: int) -> int:
        return sum(n for cut, n in wanted.items() if _house_recipe(grid, cut, setpoint))

    return max(sorted(setpoints_f), key=suited)


def _house_recipe(grid: Grid, cut: str, setpoint_f: int) -> Recipe | None:
    """The first recipe of the menu for a cut that accepts a setpoint all along."""
    for recipe in grid.scenario.menu.cut(cut).recipes:
        low, high = recipe.finish_band_f if recipe.wrapped else (recipe.low_f, recipe.high_f)
        if recipe.low_f <= setpoint_f <= recipe.high_f and low <= setpoint_f <= high:
            return recipe
    return None


@dataclass(frozen=True, slots=True)
class _Rack:
    """A rack on which a cut can be cooked at the house temperature, from the wrap on too."""

    spot: int
    stream: Stream
    smoke: Smoke | None
    finish: Finish


def _racks(board: Board, demand: int, setpoints: tuple[int, ...]) -> Iterator[_Rack]:
    """The racks for a wave: smokers in the order of the site, rack by rack."""
    grid = board.grid
    order = [(smoker.name, rack.name) for smoker in grid.scenario.site.smokers for rack in smoker.racks]
    for spot in (grid.spot_of[key] for key in order):
        place = grid.places[board.spots[spot].place]
        if place.firebox is None:
            continue
        recipe = _house_recipe(grid, grid.demands[demand].cut, setpoints[place.firebox])
        for stream in grid.streams:
            if recipe is None or stream.cut.name != grid.demands[demand].cut or stream.recipe.name != recipe.name:
                continue
            finish = next((f for f in stream.finish if f.place == place.index), None)
            smoke = next((s for s in stream.smoke if s.place == place.index), None)
            if finish is not None and (smoke is not None or not recipe.wrapped):
                yield _Rack(spot, stream, smoke, finish)


# the loading list --------------------------------------------------------------------------------------------------

When = tuple[int, int | None]
"""Load step and wrap step."""
Hours = Callable[[_Rack, int], list[When]]
"""When a wave may go on a rack, in order of preference; nothing if it can't be done in time."""


class _Reckoning(Protocol):
    """Says whether there is room for a load, by whatever reckoning."""

    def try_put(self, load: Placed) -> bool:
        """Put it down if it fits; True if it did."""

    def take(self, load: Placed) -> None:
        """Take it off again."""


def _fill_in_order(board: Board, setpoints: tuple[int, ...], hours: Hours, reckoning: _Reckoning) -> None:
    """All waves, in the order in which they go on; each takes the racks in order until its pieces are on."""
    grid = board.grid
    todo = []
    for demand in range(len(grid.demands)):
        ways = [(rack, when) for rack in _racks(board, demand, setpoints) for when in hours(rack, demand)]
        if ways:
            todo.append((min(load for _, (load, _) in ways), demand, ways))
    for _, demand, ways in sorted(todo, key=lambda item: item[:2]):
        want = grid.demands[demand].pieces
        for rack, (load_step, wrap_step) in ways:
            for rest, hold in _shelves(grid, rack.stream):
                load = Placed(rack.stream.index, demand, want, rack.spot, rack.spot, load_step, wrap_step, rest, hold)
                want -= _most(load, reckoning)


def _most(load: Placed, reckoning: _Reckoning) -> int:
    """Put as many of a load's pieces as there is room for; how many."""
    if not load.pieces or reckoning.try_put(load):
        return load.pieces
    fits, too_many = 0, load.pieces
    while too_many - fits > 1:
        middle = replace(load, pieces=(fits + too_many) // 2)
        if reckoning.try_put(middle):
            reckoning.take(middle)
            fits = middle.pieces
        else:
            too_many = middle.pieces
    if fits:
        reckoning.try_put(replace(load, pieces=fits))
    return fits


def _shelves(grid: Grid, stream: Stream) -> list[tuple[int, int]]:
    """Rest shelf and holding cabinet, in order; -1 where the cut needs none."""
    rest = range(len(grid.rest)) if hundredths(stream.cut.rest_spaces) else [-1]
    hold = grid.cabinets_for(stream.cut) if hundredths(stream.cut.hold_spaces) else [-1]
    return [(r, h) for h in hold for r in rest]


def loads_by_likely(grid: Grid, buffer_min: int) -> Board:
    """Loads by likely hours and a buffer; room is reckoned as if the likely hours were sure."""
    setpoints = house_setpoints(grid)
    board = Board.empty(grid, Frame(all_day(grid, setpoints), ()))

    def hours(rack: _Rack, demand: int) -> list[When]:
        recipe, cut = rack.stream.recipe, rack.stream.cut
        wrap = (recipe.wrap_from_min + recipe.wrap_to_min) // 2
        done = grid.ready_min[demand] - cut.rest_min - buffer_min
        load = grid.down(done - wrap - recipe.finish.likely_min)
        when = load, load + round(wrap / grid.step_min) if recipe.wrapped else None
        return [when] if load >= _warm_from(board, rack) else []

    _fill_in_order(board, setpoints, hours, _AsIfSure(board, Board.empty(grid, board.frame)))
    return board


@dataclass(frozen=True, slots=True)
class _AsIfSure:
    """Reckons as if a cut took its likely hours, on whatever rack."""

    board: Board
    own: Board
    """Room by this reckoning; nothing is ever placed on it."""

    def try_put(self, load: Placed) -> bool:
        """Put it down if there is room by the likely hours; True if there was."""
        taken = self._taken(load)
        if any((room[a:b] < load.pieces * each).any() for room, a, b, each in taken):
            return False
        self._spend(load, 1)
        self.board.put(load)
        return True

    def take(self, load: Placed) -> None:
        """Take it off again."""
        self._spend(load, -1)
        self.board.take(load)

    def _spend(self, load: Placed, sign: int) -> None:
        for room, first, last, each in self._taken(load):
            room[first:last] -= sign * load.pieces * each

    def _taken(self, load: Placed) -> list[tuple[Ints, int, int, int]]:
        """Room, first and last step, hundredths of a space for a piece."""
        grid, own = self.board.grid, self.own
        stream = grid.streams[load.stream]
        cut, done = stream.cut, load.finish_step * grid.step_min + stream.recipe.finish.likely_min
        rested = done + cut.rest_min
        taken = [(own.free[load.finish_spot], load.load_step, grid.up(done), hundredths(cut.spaces))]
        if load.rest >= 0:
            taken.append((own.rest[load.rest], grid.down(done), grid.up(rested), hundredths(cut.rest_spaces)))
        if load.hold >= 0:
            end = grid.up(grid.served_min[load.demand])
            taken.append((own.hold[load.hold], grid.down(rested), end, hundredths(cut.hold_spaces)))
        return taken


def loads_by_late(grid: Grid, frame: Frame) -> Board:
    """Loads by late hours, where room, temperature and hands allow; a quarter hour or two earlier where they don't."""
    board = Board.empty(grid, frame)

    def hours(rack: _Rack, demand: int) -> list[When]:
        starts = grid.finish_steps(rack.stream, rack.finish, demand)
        delay = _middle_of_window(grid, rack)
        if delay is None:
            return []
        earliest = _warm_from(board, rack)
        found = starts[::-1][: 1 + STAGGER_MIN // grid.step_min]
        return [(k - delay, k if rack.smoke is not None else None) for k in found if k - delay >= earliest]

    _fill_in_order(board, house_setpoints(grid), hours, board)
    return board


def _middle_of_window(grid: Grid, rack: _Rack) -> int | None:
    """Steps from loading to the wrap: about the middle of the window; 0 for no wrap, None if no step lies in it."""
    if rack.smoke is None:
        return 0
    first, last = grid.up(rack.smoke.wrap_from_min), grid.down(rack.smoke.wrap_to_min)
    middle = (rack.smoke.wrap_from_min + rack.smoke.wrap_to_min) // 2 // grid.step_min
    return min(max(middle, first), last) if first <= last else None


def _warm_from(board: Board, rack: _Rack) -> int:
    """The first step at which the fire of a rack can be ready."""
    firebox = board.grid.places[board.spots[rack.spot].place].firebox
    assert firebox is not None, "an oven is no rack of a smoker"
    return board.grid.up(board.grid.fireboxes[firebox].warm_up_min)


def all_day(grid: Grid, setpoints: tuple[int, ...]) -> tuple[Ints, ...]:
    """Every fire at its setpoint from the first moment at which it can be ready."""
    found = []
    for box, setpoint in zip(grid.fireboxes, setpoints, strict=True):
        levels = np.full(grid.steps, setpoint, dtype=np.int64)
        levels[: grid.up(box.warm_up_min)] = 0
        found.append(levels)
    return tuple(found)
