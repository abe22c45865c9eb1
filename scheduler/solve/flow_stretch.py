"""The flow model of a stretch: pieces of some waves and some fires, with the room and the hands that all else leaves.

It finds plans, not bounds: hands are counted as the board counts them, rest shelves are looked at once a step.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache

from scheduler.model.crew import Skill
from scheduler.solve.fire_rounds import rounds_every
from scheduler.solve.flow_fire import FireColumns, Heat, burns, room_rows
from scheduler.solve.flow_hands import HandDemand, ask_for_fire
from scheduler.solve.flow_shelves import hold_rows, into_step_min, rest_rows
from scheduler.solve.flow_streams import StreamColumns, Streams
from scheduler.solve.frame import Floats, Ints, accepted
from scheduler.solve.grid import Grid
from scheduler.solve.in_hand import InHandColumns
from scheduler.solve.left_over import LeftOver
from scheduler.solve.milp import INF, Milp, MilpBuilder, Terms, scaled
from scheduler.solve.pinned import Stay
from scheduler.solve.zones import Zones


@dataclass(slots=True)
class StretchModel:
    """The program and where to find things in it."""

    zones: Zones
    milp: Milp
    streams: list[StreamColumns]
    shorts: list[int]
    fires: dict[int, FireColumns]
    """Those of the stretch, by firebox."""
    in_hand: InHandColumns


def stretch_flow(left: LeftOver, zones: Zones, *, lean: bool = False) -> StretchModel:
    """The flow model of a stretch, with zones of what is left over; `lean` as for `build_flow`."""
    b, grid = MilpBuilder(), left.grid
    pieces = Streams(b, zones, left.in_hand)
    shorts = pieces.waves()
    if not lean:
        rest_rows(b, pieces, into_step_min(pieces)[:1], left.rest_room)
    hold_rows(b, pieces, left.hold_room)
    fires = {f: burns(b, grid, grid.fireboxes[f]) for f in sorted(left.stretch.fires)}
    steady = {f: _steady(left, f) for f in range(len(grid.fireboxes)) if f not in fires}
    room_rows(b, zones, Heat(grid, fires, steady), pieces.taken, changes=not lean)
    _keep_burning(b, grid, fires, left.needs_fire(), [])
    _keep_burning(b, grid, fires, pieces.in_hand.standing(), pieces.in_hand.loose)
    _hand_rows(b, left, _hands(left, pieces, shorts, fires))
    for step in range(0 if grid.pinned is None else grid.pinned.helped, grid.steps):
        b.row(-INF, [(fire.lit[step], 1.0) for fire in fires.values()], float(left.fires[step]))
    return StretchModel(zones, b.finish(), pieces.columns, shorts, fires, pieces.in_hand)


def _steady(left: LeftOver, firebox: int) -> Callable[[frozenset[int]], Ints]:
    """When a fire that stays as it is suits what accepts some setpoints."""

    @cache
    def suits(levels: frozenset[int]) -> Ints:
        return accepted(left.board.grid, left.board.frame, firebox, levels)

    return suits


def _keep_burning(
    b: MilpBuilder,
    grid: Grid,
    fires: dict[int, FireColumns],
    needed: Iterable[tuple[int, Stay]],
    loose: Terms,
) -> None:
    """Fires of the stretch hold what suits the loads that stay on them, and do not turn to anything else too early;
    none of it where `loose` is 1."""
    suits: dict[tuple[int, int], frozenset[int]] = {}
    leads: dict[tuple[int, int], frozenset[int]] = {}
    for firebox, stay in needed:
        if firebox not in fires:
            continue
        every = frozenset(fires[firebox].holds)
        for step in range(stay.first, stay.last):
            suits[firebox, step] = suits.get((firebox, step), every) & stay.levels
        for step in range(stay.last, stay.last + grid.up(fires[firebox].firebox.setpoint_change_min)):
            leads[firebox, step] = leads.get((firebox, step), every) & stay.levels
    for (firebox, step), levels in suits.items():
        b.row(1.0, [*((fires[firebox].holds[level][step], 1.0) for level in sorted(levels)), *loose], INF)
    for (firebox, step), levels in leads.items():
        if step < grid.steps:
            holds = fires[firebox].holds
            others = [(holds[level][step], 1.0) for level in holds if level not in levels]
            b.row(-INF, [*others, *scaled(loose, -1.0)], 0.0)


def _hands(left: LeftOver, pieces: Streams, shorts: list[int], fires: dict[int, FireColumns]) -> HandDemand:
    """Minutes asked by pieces and fires; rounds of tending fall whole into their steps."""
    grid = left.grid
    hands = HandDemand(grid.steps)
    pieces.work(hands, shorts)
    helped = 0 if grid.pinned is None else grid.pinned.helped
    ask_for_fire(grid, hands, fires.values(), helped)
    for firebox, fire in fires.items():
        extra = grid.round_extra_min[firebox]
        if rounds_every(grid, fire.firebox) > 1 and extra > 0:
            for step in left.rounds_due(firebox):
                if step >= helped:
                    hands.add("fire", step, [(fire.lit[step], extra), (fire.lighting[step], -extra)])
    return hands


def _hand_rows(b: MilpBuilder, left: LeftOver, hands: HandDemand) -> None:
    """Minutes asked <= minutes left; where none are left, or fewer than none, none can be asked."""
    there = left.board.hands
    stations: list[tuple[frozenset[Skill], Floats]] = [
        (frozenset({"wrap"}), there.tables),
        (frozenset({"slice"}), there.boards),
    ]
    for skills, minutes in [*there.left, *stations]:
        for step in range(left.grid.steps):
            terms, constant = hands.at(skills, step)
            if terms:
                b.row(-INF, terms, max(0.0, float(minutes[step])) - constant)
