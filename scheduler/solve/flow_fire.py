"""Fires in the flow model: lighting, warm-up, clean-out, setpoints, and the room that each setpoint opens."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import partial

from scheduler.model.site import Firebox
from scheduler.solve.frame import Ints
from scheduler.solve.grid import Grid
from scheduler.solve.milp import INF, MilpBuilder, Terms
from scheduler.solve.zones import OVEN, Room, Zones


@dataclass(frozen=True, slots=True)
class Taken:
    """Room that something takes at a zone and step: where it may stand, and how much, hundredths of a space."""

    room: Room
    terms: Terms


@dataclass(slots=True)
class FireColumns:
    """Columns of one firebox by step."""

    firebox: Firebox
    lit: list[int]
    lighting: list[int]
    relighting: list[int]
    """1 where it is lit again after an earlier burn, and so needs a clean-out before."""
    holds: dict[int, list[int]]
    """Ready to cook at a setpoint, by setpoint."""

    def cooking(self, step: int) -> Terms:
        """1 where the fire is ready to cook."""
        return [(columns[step], 1.0) for columns in self.holds.values()]


@dataclass(frozen=True, slots=True)
class Heat:
    """What opens the racks."""

    grid: Grid
    fires: Mapping[int, FireColumns]
    """Those that are free, by firebox."""
    steady: Mapping[int, Callable[[frozenset[int]], Ints]] = field(default_factory=dict)
    """All others: 1 at the steps at which the fire suits what accepts some setpoints."""

    def open(self, step: int, room: Room) -> tuple[Terms, float]:
        """Hundredths of a space open in a room at a step: terms of the setpoints held, and a constant."""
        terms: Terms = []
        constant = 0.0
        others: dict[int, set[int]] = {}
        for place_index, level in room:
            place = self.grid.places[place_index]
            if level == OVEN or place.firebox is None:
                constant += float(place.cap[step])
            elif place.firebox in self.fires:
                terms.append((self.fires[place.firebox].holds[level][step], float(place.cap[step])))
            else:
                others.setdefault(place_index, set()).add(level)
        for place_index, levels in others.items():
            place = self.grid.places[place_index]
            assert place.firebox is not None
            constant += float(place.cap[step] * self.steady[place.firebox](frozenset(levels))[step])
        return terms, constant


TakenAt = Callable[[int, int, int], list[Taken]]
"""What takes room in a zone from so many minutes into a step on."""


def build_fires(b: MilpBuilder, zones: Zones, taken: TakenAt, *, changes: bool) -> list[FireColumns]:
    """Columns and rows of all fireboxes, and the room that they and the ovens give; `changes` of setpoint take time."""
    grid = zones.grid
    fires = [burns(b, grid, firebox) for firebox in grid.fireboxes]
    room_rows(b, zones, Heat(grid, dict(enumerate(fires))), taken, changes=changes)
    return fires


def room_rows(b: MilpBuilder, zones: Zones, heat: Heat, taken: TakenAt, *, changes: bool = True) -> None:
    """What stands somewhere takes no more than the room that is open there."""
    for zone in range(len(zones.zones)):
        for step in range(zones.grid.steps):
            here = taken(zone, step, 0)
            if here:
                _room(b, heat, step, here)
                under = {zones.grid.places[place].firebox for on in here for place, _ in on.room}
                for firebox in heat.fires:
                    if changes and firebox in under:
                        _change(b, heat, firebox, step, partial(taken, zone, step))


def burns(b: MilpBuilder, grid: Grid, firebox: Firebox) -> FireColumns:
    """Columns and rows of one firebox."""
    wood_cents = firebox.wood_lb_per_h * grid.scenario.site.wood_cents_per_lb * grid.step_min / 60
    steps = range(grid.steps)
    lit = [b.column(1, wood_cents) for _ in steps]
    lighting = [b.column(1) for _ in steps]
    holds = {level: [b.column(1) for _ in steps] for level in firebox.setpoints_f}
    burnt = [b.column(1, integer=False) for _ in steps]
    relighting = [b.column(1, integer=False) for _ in steps]
    fire = FireColumns(firebox, lit, lighting, relighting, holds)
    warm, clean = grid.up(firebox.warm_up_min), grid.up(firebox.clean_out_min)
    for k in steps:
        before: Terms = [(lit[k - 1], -1.0)] if k else []
        b.row(-INF, [(lit[k], 1.0), *before, (lighting[k], -1.0)], 0.0)
        b.row(-INF, [(lit[k], 1.0), (burnt[k], -1.0)], 0.0)
        if k:
            b.row(-INF, [(burnt[k - 1], 1.0), (burnt[k], -1.0)], 0.0)
            b.row(-INF, [(lighting[k], 1.0), (burnt[k - 1], 1.0), (relighting[k], -1.0)], 1.0)
        # Cold through the clean-out before it is lit again; at least out in the step before.
        for back in range(1, max(1, clean) + 1):
            if k - back >= 0:
                b.row(-INF, [(lighting[k], 1.0), (lit[k - back], 1.0)], 1.0)
        warming: Terms = [(lighting[j], 1.0) for j in range(max(0, k - warm + 1), k + 1)]
        b.row(-INF, [*fire.cooking(k), *warming, (lit[k], -1.0)], 0.0)
    return fire


def _room(b: MilpBuilder, heat: Heat, step: int, here: list[Taken]) -> None:
    """What may stand only in some room takes no more than that room (Hall's condition over the rooms in use)."""
    rooms = {taken.room for taken in here}
    for room in sorted({*rooms, frozenset().union(*rooms)}, key=sorted):
        inside = [term for taken in here if taken.room <= room for term in taken.terms]
        given, constant = heat.open(step, room)
        b.row(-INF, [*inside, *((column, -cap) for column, cap in given)], constant)


def _change(b: MilpBuilder, heat: Heat, firebox: int, step: int, still: Callable[[int], list[Taken]]) -> None:
    """A change of setpoint starts early: what does not accept the new one must be off that fire by then.

    `still` tells what takes room from so many minutes into the step on: a change may start inside it.
    """
    grid, fire = heat.grid, heat.fires[firebox]
    change_min = fire.firebox.setpoint_change_min
    for ahead in range(1, grid.up(change_min) + 1):
        if step + ahead >= grid.steps or len(fire.holds) == 1:
            break
        here = still(max(0, ahead * grid.step_min - change_min))
        for level in fire.holds:
            for room in {taken.room for taken in here}:
                mine = {(p, at) for p, at in room if grid.places[p].firebox == firebox}
                if not mine or any(at == level for _, at in mine):
                    continue
                # Only the room on this fire closes; the rest of the room stays as it is.
                inside = [term for taken in here if taken.room <= room for term in taken.terms]
                given, constant = heat.open(step, frozenset(room - mine))
                closed = float(sum({p: int(grid.places[p].cap[step]) for p, _ in mine}.values()))
                row = [*inside, *((column, -cap) for column, cap in given), (fire.holds[level][step + ahead], closed)]
                b.row(-INF, row, constant + closed)


def one_fire(b: MilpBuilder, fires: list[FireColumns], step: int) -> int:
    """A column that is 1 where any fire is lit."""
    column = b.column(1, integer=False)
    for fire in fires:
        b.row(-INF, [(fire.lit[step], 1.0), (column, -1.0)], 0.0)
    return column


def cooking_at_all(b: MilpBuilder, grid: Grid, fires: list[FireColumns]) -> list[int]:
    """Columns by step that can be 1 only where some fire is ready to cook."""
    found = []
    for step in range(grid.steps):
        column = b.column(1, integer=False)
        b.row(-INF, [(column, 1.0), *((c, -v) for fire in fires for c, v in fire.cooking(step))], 0.0)
        found.append(column)
    return found
