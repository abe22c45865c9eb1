"""Rows that lift the bound: fires that waves need for certain, whatever is chosen.

However a piece is timed, there is a stretch in which it stands on a rack: from the latest possible loading to the
soonest late end. Pieces of all waves in that stretch at a step need room there. If a set of fires lacks that room,
another fire must burn, or pieces are short. Without these rows the relaxation lights a third of a fire for a third of
its racks.
"""

from __future__ import annotations

from itertools import product
from math import prod

from scheduler.model.base import hundredths
from scheduler.model.menu import Cut
from scheduler.solve.flow_fire import FireColumns
from scheduler.solve.grid import Grid
from scheduler.solve.milp import INF, MilpBuilder, Terms
from scheduler.solve.zones import Room, Zones, ZoneStream

MOST_SETS = 5000
"""Sets of fires and setpoints are listed one by one up to this number; beyond it a step has no such rows."""


def cover_rows(b: MilpBuilder, zones: Zones, shorts: list[int], fires: list[FireColumns]) -> None:
    """Add the rows for all steps."""
    grid = zones.grid
    cores = [certain_steps(zones, d) for d in range(len(grid.demands))]
    allowed = [_allowed(zones, d) for d in range(len(grid.demands))]
    for step in range(grid.steps):
        there = [d for d, core in enumerate(cores) if step in core and allowed[d]]
        rooms = {allowed[d] for d in there}
        for room in sorted({*rooms, frozenset().union(*rooms)}, key=sorted):
            inside = {d: shorts[d] for d in there if allowed[d] <= room}
            if inside:
                _cover(b, zones, fires, step, room, inside)


def room_by_fire(grid: Grid, room: Room, step: int) -> tuple[dict[tuple[int, int], int], int]:
    """Hundredths of a space that each (fire, setpoint) opens in a room at a step, and what the ovens give."""
    by_fire: dict[tuple[int, int], int] = {}
    ovens = 0
    for place_index, level in room:
        place = grid.places[place_index]
        if place.firebox is None:
            ovens += int(place.cap[step])
        else:
            key = place.firebox, level
            by_fire[key] = by_fire.get(key, 0) + int(place.cap[step])
    return by_fire, ovens


def need_fire(
    b: MilpBuilder,
    grid: Grid,
    fires: list[FireColumns],
    cooking: int,
    step: int,
    cut: Cut,
    most: int,
    by_room: dict[Room, Terms],
) -> None:
    """Pieces (at most `most` of them) stand where a fire holds a setpoint of their room, or in an oven.

    `cooking` is the column that is 1 where any fire cooks, which somebody must tend.
    """
    size = hundredths(cut.spaces)
    every = frozenset().union(*by_room)
    for room in sorted({*by_room, every}, key=sorted):
        inside = [term for other, terms in by_room.items() if other <= room for term in terms]
        by_fire, ovens = room_by_fire(grid, room, step)
        given = [(fires[f].holds[level][step], -float(min(most, cap // size))) for (f, level), cap in by_fire.items()]
        b.row(-INF, [*inside, *given], float(min(most, ovens // size)))
    _, ovens = room_by_fire(grid, every, step)
    baked = float(min(most, ovens // size))
    b.row(-INF, [*(term for terms in by_room.values() for term in terms), (cooking, baked - most)], baked)


def certain_steps(zones: Zones, demand: int) -> range:
    """Steps at which every piece of a demand is on a rack or in an oven, whatever recipe, place and time are chosen."""
    grid = zones.grid
    first, last = 0, grid.steps
    options = 0
    for option in zones.streams:
        if option.stream.cut.name != grid.demands[demand].cut:
            continue
        smoke = _soonest_wrap(zones, option)
        for finish in option.finish:
            steps = zones.finish_steps(option.stream, finish, demand)
            if not len(steps) or smoke is None:
                continue
            options += 1
            first = max(first, steps[-1] - smoke)
            last = min(last, steps[0] + grid.up(finish.late_min))
    return range(first, last) if options else range(0)


def _soonest_wrap(zones: Zones, option: ZoneStream) -> int | None:
    """Least steps of smoke before the uncertain stage; None if the stream can't be smoked at all."""
    if not option.stream.recipe.wrapped:
        return 0
    return min((zones.grid.up(smoke.wrap_from_min) for smoke in option.smoke), default=None)


def _allowed(zones: Zones, demand: int) -> Room:
    """Where pieces of a demand may ever stand."""
    mine = [option for option in zones.streams if option.stream.cut.name == zones.grid.demands[demand].cut]
    rooms = [smoke.room for option in mine for smoke in option.smoke]
    return frozenset().union(*rooms, *(finish.room for option in mine for finish in option.finish))


def _cover(
    b: MilpBuilder, zones: Zones, fires: list[FireColumns], step: int, room: Room, shorts: dict[int, int]
) -> None:
    grid = zones.grid
    size = {d: hundredths(grid.cut_of(d).spaces) for d in shorts}
    by_fire, ovens = room_by_fire(grid, room, step)
    need = sum(grid.demands[d].pieces * size[d] for d in shorts) - ovens
    for few, lacking in _too_small(by_fire, need):
        terms: Terms = [(fires[f].holds[level][step], 1.0) for f, level in by_fire if (f, level) not in few]
        terms += [(short, size[d] / lacking) for d, short in shorts.items()]
        b.row(1.0, terms, INF)


Atoms = frozenset[tuple[int, int]]


def _too_small(by_fire: dict[tuple[int, int], int], need: int) -> list[tuple[Atoms, int]]:
    """The largest sets of (fire, setpoint) whose room together is less than the need, with what they lack.

    A fire holds one setpoint at a time, so it gives the room of the roomiest of its setpoints in the set.
    """
    if need <= 0:
        return []
    found: list[tuple[Atoms, int]] = []
    ways = [_by_room(by_fire, fire) for fire in sorted({fire for fire, _ in by_fire})]
    if prod(len(way) for way in ways) > MOST_SETS:
        return []
    for chosen in product(*ways):
        atoms = frozenset(atom for _, some in chosen for atom in some)
        room = sum(cap for cap, _ in chosen)
        if room < need:
            found.append((atoms, need - room))
    return [(few, lacking) for few, lacking in found if not any(few < more for more, _ in found)]


def _by_room(by_fire: dict[tuple[int, int], int], fire: int) -> list[tuple[int, Atoms]]:
    """Sets of a fire's setpoints by the room that they give: none, then one by one from the least roomy up."""
    mine = sorted((cap, atom) for atom, cap in by_fire.items() if atom[0] == fire)
    found: list[tuple[int, Atoms]] = [(0, frozenset())]
    for cap, atom in mine:
        found.append((cap, found[-1][1] | {atom}))
    return found
