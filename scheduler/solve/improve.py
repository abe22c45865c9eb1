"""Neighbourhood search on the board: break a plan in one place, mend it, keep it if it is cheaper.

Moves: do without a shift, swap one for another, clear a stretch of time, clear like waves, let a burn go out, change a
setpoint. After each, loads are placed anew, fires trimmed and the cheapest shifts found.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import product
from math import inf
from random import Random

import numpy as np
from numpy.typing import NDArray

from scheduler.solve.board import Board, Placed
from scheduler.solve.flow_hands import UNMANNED_CENTS
from scheduler.solve.frame import Frame, Ints
from scheduler.solve.grid import Grid
from scheduler.solve.insert import Taste
from scheduler.solve.lean import festival, lean_boards
from scheduler.solve.opened import opened_levels
from scheduler.solve.settle import cost_cents, everywhere, least_cents, rebuild, remade, settle, tended
from scheduler.solve.shift_options import ShiftOption

KEEP_CREW = 0.8
"""Share of the moves that leave the crew as it is."""
SHORTFALLS_CENTS = (2e3, 6e3, 1.2e4, 3e4)
"""Prices of a rush for which nobody is called in; after a move one of them is tried."""
MOST_STARTS = 4
"""Combinations of setpoints tried for the first plan."""
LEAN_STARTS = 2
"""Those of them that are tried with a lean crew at a festival."""


@dataclass(frozen=True, slots=True)
class Found:
    """A board and its cost in cents."""

    board: Board
    cents: float


def found(board: Board) -> Found:
    """A board with its cost; one whose crew can't man the counter or the fires costs more than any plan."""
    return Found(board, cost_cents(board) + UNMANNED_CENTS * board.hands.overspent())


def first_plans(grid: Grid) -> Iterator[Found]:
    """Plans built from nothing, for each combination of setpoints (one a fire), uniform ones first.

    For a festival, others with a leaner crew follow each of the first.
    """
    for number, setpoints in enumerate(_combinations(grid)):
        levels = everywhere(grid, setpoints)
        board = settle(rebuild(grid, Frame(levels, grid.shifts), ()))
        yield found(board)
        if number < LEAN_STARTS and festival(grid):
            yield from map(found, lean_boards(board, levels))


def plans_with(grid: Grid, shifts: tuple[ShiftOption, ...]) -> Iterator[Found]:
    """Plans built from nothing with given shifts, for the same combinations of setpoints."""
    for setpoints in _combinations(grid):
        frame = tended(grid, Frame(everywhere(grid, setpoints), shifts))
        yield found(settle(rebuild(grid, frame, ()), old_shifts=True))


def _combinations(grid: Grid) -> list[tuple[int, ...]]:
    """A setpoint for each fire, uniform ones first."""
    choices = [box.setpoints_f for box in grid.fireboxes]
    uniform = sorted(product(*choices), key=lambda combination: (len(set(combination)), combination))
    return uniform[:MOST_STARTS]


Crew = tuple[ShiftOption, ...]
Move = Callable[[Board, Random, Crew], Board | None]
"""The crew is whose hands loads may be placed with."""


def shift_moves() -> tuple[tuple[Move, int], ...]:
    """Moves that change who is called in, and how often each is tried."""
    return (without_shift, 4), (swap_shift, 4)


def work_moves() -> tuple[tuple[Move, int], ...]:
    """Moves that change when and where things are cooked."""
    return (
        (clear_waves, 3),
        (clear_stretch, 3),
        (let_out, 3),
        (other_setpoint, 2),
        (other_fires, 3),
        (light_another, 4),
    )


def step(now: Found, rng: Random, limit_cents: float = inf) -> Found | None:
    """One move from a plan; None if the move does not apply, or its plan will surely cost more than a limit.

    Most moves keep the crew: a cheap crew is seldom left for a dearer one and found again, and its hands are
    best used by moving the work about.
    """
    board = now.board
    if rng.random() < KEEP_CREW:
        moves, crew, keep = work_moves(), board.frame.shifts, True
    else:
        moves, crew, keep = shift_moves() + work_moves(), _crew_for(board, rng), False
    move = rng.choices([m for m, _ in moves], [w for _, w in moves])[0]
    broken = move(board, rng, crew)
    if broken is None or least_cents(broken, crew_stays=keep) > limit_cents:
        return None
    return found(settle(broken, old_shifts=keep, shortfall_cents=rng.choice(SHORTFALLS_CENTS)))


def without_shift(board: Board, rng: Random, _: Crew) -> Board | None:
    """Do without a shift or two; loads find their hands elsewhere, fires may burn whenever somebody tends."""
    shifts = list(board.frame.shifts)
    if not shifts:
        return None
    gone = rng.choice(shifts)
    shifts.remove(gone)
    beside = [other for other in shifts if _overlap(gone, other)]
    if beside and rng.random() < 0.3:
        shifts.remove(rng.choice(beside))
    return _anew(board, tuple(shifts), rng, _handled(board, gone, rng))


def swap_shift(board: Board, rng: Random, _: Crew) -> Board | None:
    """Call in another shift in place of one or two, mostly one of about the same hours."""
    shifts = list(board.frame.shifts)
    others = [option for option in board.grid.shifts if option not in shifts]
    if not shifts or not others:
        return None
    gone = rng.choice(shifts)
    shifts.remove(gone)
    like = [option for option in others if _overlap(option, gone)]
    new = rng.choice(like if like and rng.random() < 0.8 else others)
    beside = [other for other in shifts if _overlap(new, other)]
    if beside and rng.random() < 0.3:
        shifts.remove(rng.choice(beside))
    rest = board.grid.scenario.crew.least_rest_min
    shifts = [
        mine
        for mine in shifts
        if mine.person.name != new.person.name
        or mine.end_min + rest <= new.start_min
        or new.end_min + rest <= mine.start_min
    ]
    return _anew(board, (*shifts, new), rng, _handled(board, gone, rng))


def _overlap(one: ShiftOption, other: ShiftOption) -> bool:
    return one.start_min < other.end_min and other.start_min < one.end_min


def _handled(board: Board, shift: ShiftOption, rng: Random) -> list[Placed]:
    """Loads put on or wrapped during a shift, or none: they may have to be timed anew when it goes."""
    if rng.random() < 0.5:
        return []
    first, last = board.grid.down(shift.start_min), board.grid.up(shift.end_min)
    return [load for load in board.placed if first <= load.load_step < last or first <= load.finish_step < last]


def clear_waves(board: Board, rng: Random, crew: Crew) -> Board | None:
    """Take off a few waves near each other in time; if something is short, mostly near that."""
    grid, made = board.grid, board.made()
    demands = sorted(range(len(grid.demands)), key=lambda d: grid.ready_min[d])
    short = [at for at, d in enumerate(demands) if made[d] < grid.demands[d].pieces]
    if not demands:
        return None
    number = rng.randint(1, 8)
    at = rng.randrange(len(demands))
    if short and rng.random() < 0.7:
        at = max(0, rng.choice(short) - rng.randint(0, number - 1))
    chosen = set(demands[at : at + number])
    return _anew(board, crew, rng, [load for load in board.placed if load.demand in chosen])


def clear_stretch(board: Board, rng: Random, crew: Crew) -> Board | None:
    """Take off all that is handled in a stretch of hours."""
    length = rng.randint(4, 24)
    first = rng.randrange(board.grid.steps)
    gone = [load for load in board.placed if first <= load.load_step < first + length]
    gone += [load for load in board.placed if load not in gone and first <= load.finish_step < first + length]
    return _anew(board, crew, rng, gone)


def let_out(board: Board, rng: Random, crew: Crew) -> Board | None:
    """A burn, or one end of it, is not to be."""
    burns = board.frame.burns(board.grid)
    if not burns:
        return None
    burn = rng.choice(burns)
    first, last = burn.lit, burn.out
    if rng.random() < 0.6:
        cut = rng.randint(1, max(1, (last - first) // 2))
        first, last = (first, first + cut) if rng.random() < 0.5 else (last - cut, last)
    levels = [held.copy() for held in _open_levels(board, board.frame.shifts, rng)]
    warm = board.grid.up(board.grid.fireboxes[burn.firebox].warm_up_min)
    levels[burn.firebox][max(0, first) : last + (warm if first == burn.lit and last < burn.out else 0)] = 0
    return remade(board, Frame(tuple(levels), crew, board.frame.spared), board.placed, _taste(rng))


def other_setpoint(board: Board, rng: Random, crew: Crew) -> Board | None:
    """A burn at another setpoint."""
    grid = board.grid
    burns = [burn for burn in board.frame.burns(grid) if len(grid.fireboxes[burn.firebox].setpoints_f) > 1]
    if not burns:
        return None
    burn = rng.choice(burns)
    levels = [held.copy() for held in _open_levels(board, board.frame.shifts, rng)]
    held = levels[burn.firebox]
    now = burn.setpoints[0][1]
    new = rng.choice([f for f in grid.fireboxes[burn.firebox].setpoints_f if f != now])
    first = 0 if rng.random() < 0.5 else burn.lit
    held[first : burn.out] = np.where(held[first : burn.out] > 0, new, 0)
    return remade(board, Frame(tuple(levels), crew, board.frame.spared), board.placed, _taste(rng))


def other_fires(board: Board, rng: Random, crew: Crew) -> Board | None:
    """Cook a service day on some fires only, each at one setpoint; its loads are placed anew."""
    grid = board.grid
    days = service_days(grid)
    if not days:
        return None
    demands = set(rng.choice(days))
    gone = [load for load in board.placed if load.demand in demands]
    if not gone:
        return None
    first = min(load.load_step for load in gone) - rng.randint(0, 8)
    last = max(grid.up(grid.ready_min[d]) for d in demands)
    number = rng.randint(1, len(grid.fireboxes))
    chosen = set(rng.sample(range(len(grid.fireboxes)), number))
    keep = [load for load in board.placed if load.demand not in demands]
    levels = []
    for firebox, held in enumerate(board.frame.levels):
        used = _used(board, keep, firebox)
        setpoint = rng.choice(grid.fireboxes[firebox].setpoints_f) if firebox in chosen else 0
        stretch = np.arange(grid.steps)
        inside = (stretch >= first + grid.up(grid.fireboxes[firebox].warm_up_min)) & (stretch < last) & ~used
        levels.append(np.where(inside, setpoint, held).astype(np.int64))
    return remade(board, tended(grid, Frame(tuple(levels), crew, board.frame.spared)), keep, _taste(rng))


def light_another(board: Board, rng: Random, crew: Crew) -> Board | None:
    """Light a cold fire for one wave, mostly one that is short, at a setpoint that its cut accepts."""
    grid, made = board.grid, board.made()
    short = [d for d, demand in enumerate(grid.demands) if made[d] < demand.pieces]
    waves = short if short and rng.random() < 0.8 else list(range(len(grid.demands)))
    if not waves:
        return None
    demand = rng.choice(waves)
    ways = [
        (stream, finish, firebox, level)
        for stream in grid.streams
        for finish in stream.finish
        if (firebox := grid.places[finish.place].firebox) is not None
        for level in finish.levels
        if len(grid.finish_steps(stream, finish, demand))
    ]
    if not ways:
        return None
    stream, finish, firebox, level = rng.choice(ways)
    steps = grid.finish_steps(stream, finish, demand)
    smoke = max((grid.down(option.wrap_to_min) for option in stream.smoke), default=0)
    first = max(0, steps[0] - smoke, steps[-1] - smoke - rng.randint(0, 8))
    last = steps[-1] + grid.up(finish.took.late_min)
    levels = [held.copy() for held in _open_levels(board, board.frame.shifts, rng)]
    levels[firebox][first:last] = np.where(board.hot[firebox][first:last] > 0, levels[firebox][first:last], level)
    frame = tended(grid, Frame(tuple(levels), crew, board.frame.spared))
    if rng.random() < 0.5:
        return remade(board, frame, board.placed, _taste(rng))
    near = [d for d in range(len(grid.demands)) if abs(grid.ready_min[d] - grid.ready_min[demand]) < 120]
    gone = set(rng.sample(near, rng.randint(1, len(near))))
    return remade(board, frame, [load for load in board.placed if load.demand not in gone], _taste(rng))


def service_days(grid: Grid) -> list[list[int]]:
    """Demands by the service day that they belong to."""
    days: dict[str, list[int]] = {}
    for d, demand in enumerate(grid.demands):
        days.setdefault(demand.ready_by_at.date().isoformat(), []).append(d)
    return list(days.values())


def _used(board: Board, loads: list[Placed], firebox: int) -> NDArray[np.bool_]:
    """Steps at which some loads stand on a firebox."""
    grid = board.grid
    used = np.zeros(grid.steps, dtype=np.bool_)
    for load in loads:
        if grid.places[board.spots[load.smoke_spot].place].firebox == firebox:
            used[load.load_step : load.finish_step] = True
        if grid.places[board.spots[load.finish_spot].place].firebox == firebox:
            used[load.finish_step : load.finish_step + grid.up(board.took(load).late_min)] = True
    return used


def _crew_for(board: Board, rng: Random) -> tuple[ShiftOption, ...]:
    """Mostly the shifts called in; now and then everyone, so that dearer hands may pay elsewhere."""
    return board.frame.shifts if rng.random() < 0.75 else board.grid.shifts


def _taste(rng: Random) -> Taste:
    return Taste(rng.choice((150.0, 1000.0, 1e9, 1e9)), rng.choice((0.0, 0.05, 0.3, 1.5)), rng)


def _anew(board: Board, shifts: tuple[ShiftOption, ...], rng: Random, gone: list[Placed]) -> Board:
    frame = Frame(_open_levels(board, shifts, rng), shifts, board.frame.spared)
    keep = [load for load in board.placed if load not in gone]
    return remade(board, frame, keep, _taste(rng))


def _open_levels(board: Board, shifts: tuple[ShiftOption, ...], rng: Random) -> tuple[Ints, ...]:
    """The fires as they are; at times kept burning longer, wherever somebody could tend them."""
    if rng.random() < 0.4:
        return board.frame.levels
    boxes = board.grid.fireboxes
    return opened_levels(board.grid, board.frame.levels, shifts, lambda f: rng.choice(boxes[f].setpoints_f))
