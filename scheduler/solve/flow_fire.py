"""Fires in the flow model: lighting, warm-up, clean-out, setpoints, and the room that each setpoint opens."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from scheduler.model.site import Firebox
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


def build_fires(
    b: MilpBuilder, zones: Zones, taken: Callable[[int, int, int], list[Taken]], *, changes: bool
) -> list[FireColumns]:
    """Columns and rows of all fireboxes, and the room that they and the ovens give; `changes` of setpoint take time."""
    grid = zones.grid
    fires = [_burns(b, grid, firebox) for firebox in grid.fireboxes]
    for zone in range(len(zones.zones)):
        for step in range(grid.steps):
            here = taken(zone, step, 0)
            if here:
                _room(b, grid, fires, step, here)
                if changes:
                    _change(b, grid, fires, step, partial(taken, zone, step))
    return fires


def _burns(b: MilpBuilder, grid: Grid, firebox: Firebox) -> FireColumns:
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


def _open(grid: Grid, fires: list[FireColumns], step: int, room: Room) -> tuple[Terms, float]:
    """Hundredths of a space open in a room at a step: terms of the setpoints held, and what ovens give."""
    terms: Terms = []
    constant = 0.0
    for place_index, level in room:
        place = grid.places[place_index]
        cap = float(place.cap[step])
        if level == OVEN or place.firebox is None:
            constant += cap
        else:
            terms.append((fires[place.firebox].holds[level][step], cap))
    return terms, constant


def _room(b: MilpBuilder, grid: Grid, fires: list[FireColumns], step: int, here: list[Taken]) -> None:
    """What may stand only in some room takes no more than that room (Hall's condition over the rooms in use)."""
    rooms = {taken.room for taken in here}
    for room in sorted({*rooms, frozenset().union(*rooms)}, key=sorted):
        inside = [term for taken in here if taken.room <= room for term in taken.terms]
        given, constant = _open(grid, fires, step, room)
        b.row(-INF, [*inside, *((column, -cap) for column, cap in given)], constant)


def _change(
    b: MilpBuilder, grid: Grid, fires: list[FireColumns], step: int, still: Callable[[int], list[Taken]]
) -> None:
    """A change of setpoint starts early: what does not accept the new one must be off that fire by then.

    `still` tells what takes room from so many minutes into the step on: a change may start inside it.
    """
    for f, fire in enumerate(fires):
        change_min = fire.firebox.setpoint_change_min
        for ahead in range(1, grid.up(change_min) + 1):
            if step + ahead >= grid.steps or len(fire.holds) == 1:
                break
            here = still(max(0, ahead * grid.step_min - change_min))
            for level in fire.holds:
                for room in {taken.room for taken in here}:
                    mine = {(p, at) for p, at in room if grid.places[p].firebox == f}
                    if not mine or any(at == level for _, at in mine):
                        continue
                    # Only the room on this fire closes; the rest of the room stays as it is.
                    inside = [term for taken in here if taken.room <= room for term in taken.terms]
                    given, constant = _open(grid, fires, step, frozenset(room - mine))
                    closed = float(sum({p: int(grid.places[p].cap[step]) for p, _ in mine}.values()))
                    row = [
                        *inside,
                        *((column, -cap) for column, cap in given),
                        (fire.holds[level][step + ahead], closed),
                    ]
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
