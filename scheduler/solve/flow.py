"""The time-indexed flow model of a weekend.

Pieces of a cut and wave are alike, so the model counts them: how many are loaded, wrapped and start to finish at each
step and zone. Stage windows and occupancies are differences of running totals, which keeps every row short. Its parts:

    streams   loading, wrapping, finishing; the wrap window; hand-over at the wrap                (flow_streams.py)
    waves     pieces made + short = pieces wanted                                                 (flow_streams.py)
    space     rest shelves and holding cabinets                                                   (flow_shelves.py)
    fires     lit, warm-up, clean-out, setpoints, and the room on racks that each setpoint opens  (flow_fire.py)
    hands     minutes by skill against the shifts called in, wrap tables, cutting boards          (flow_hands.py)

Every plan on the grid that the audit passes is a point of this model at no higher cost, so its bound is a true one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from scheduler.solve.flow_cover import cover_rows, need_fire
from scheduler.solve.flow_fire import FireColumns, build_fires, cooking_at_all
from scheduler.solve.flow_hands import HandDemand, build_hands
from scheduler.solve.flow_shelves import hold_rows, into_step_min, rest_rows
from scheduler.solve.flow_streams import StreamColumns, Streams
from scheduler.solve.milp import Milp, MilpBuilder, Terms, scaled
from scheduler.solve.zones import Room, ZoneFinish, Zones, ZoneStream


@dataclass(slots=True)
class FlowModel:
    """The program and where to find things in it."""

    zones: Zones
    milp: Milp
    streams: list[StreamColumns]
    shorts: list[int]
    fires: list[FireColumns]
    shifts: list[int]
    unmanned: list[int]
    """Counter hands missing, by service day."""

    @property
    def crew_whole(self) -> Milp:
        """The program in which nothing but the crew has to be whole."""
        whole = np.zeros_like(self.milp.integer)
        whole[self.shifts] = True
        return replace(self.milp, integer=whole)


class _Builder:
    def __init__(self, zones: Zones, lean: bool) -> None:
        self.zones, self.grid = zones, zones.grid
        self.lean = lean
        self.b = MilpBuilder()
        self.pieces = Streams(self.b, zones)
        self.columns = self.pieces.columns

    def build(self) -> FlowModel:
        b, grid = self.b, self.grid
        shorts = self.pieces.waves()
        self.space()
        fires = build_fires(b, self.zones, self.pieces.taken, changes=not self.lean)
        cooking = cooking_at_all(b, grid, fires)
        if not self.lean:
            self.waves_need_fire(fires, cooking)
        cover_rows(b, self.zones, shorts, fires)
        shifts, unmanned = build_hands(b, grid, self.hands(shorts), fires, cooking)
        return FlowModel(self.zones, b.finish(), self.columns, shorts, fires, shifts, unmanned)

    # space ------------------------------------------------------------------------------------------------------

    def space(self) -> None:
        """Room on all shelves together, and in all cabinets that a cut accepts."""
        grid, pieces = self.grid, self.pieces
        rest = np.sum([shelf.cap for shelf in grid.rest], axis=0) if grid.rest else np.zeros(grid.steps)

        def held(cabinets: frozenset[int], minute: int, until: int) -> float:
            del until
            return float(sum(grid.hold[i].cap[grid.down(minute)] for i in cabinets))

        if not self.lean:
            rest_rows(self.b, pieces, into_step_min(pieces), lambda minute: float(rest[grid.down(minute)]))
        hold_rows(self.b, pieces, held)

    # what a wave needs as a whole: these rows lift the bound, as a fire can't be lit by halves for half a wave ------

    def wave_at(self, d: int, span: Callable[[ZoneFinish], tuple[int, int]]) -> dict[int, dict[Room, Terms]]:
        """Pieces of a wave inside a span (minutes from the start of the uncertain stage), by step touched and room."""
        found: dict[int, dict[Room, Terms]] = {}
        for option, columns in zip(self.zones.streams, self.columns, strict=True):
            if option.stream.cut.name != self.grid.demands[d].cut:
                continue
            spans = {finish.zone: (*span(finish), finish.room) for finish in option.finish}
            for (zone, demand, start), column in columns.by_demand.items():
                after, until, room = spans[zone]
                if demand == d and after < until:
                    for step in range(start + self.grid.down(after), start + self.grid.up(until)):
                        found.setdefault(step, {}).setdefault(room, []).append((column, 1.0))
        return found

    def waves_need_fire(self, fires: list[FireColumns], cooking: list[int]) -> None:
        """Pieces of a wave on racks need a fire at a setpoint that they accept, but for what the ovens can take."""
        grid = self.grid
        for d, demand in enumerate(grid.demands):
            for step, by_room in self.wave_at(d, lambda finish: (0, finish.late_min)).items():
                if step < grid.steps and demand.pieces:
                    need_fire(self.b, grid, fires, cooking[step], step, grid.cut_of(d), demand.pieces, by_room)
        for option, columns in zip(self.zones.streams, self.columns, strict=True):
            most = self.most_smoking(option, columns)
            for step in range(grid.steps):
                by_room = self.smoking_at(option, columns, step)
                if by_room and most[step]:
                    need_fire(self.b, grid, fires, cooking[step], step, option.stream.cut, most[step], by_room)

    def smoking_at(self, option: ZoneStream, columns: StreamColumns, step: int) -> dict[Room, Terms]:
        """Pieces before their wrap at a step, by room."""
        found: dict[Room, Terms] = {}
        for smoke in option.smoke:
            if smoke.zone in columns.loaded:
                off = columns.wrapped[smoke.zone].until(step)
                found[smoke.room] = columns.loaded[smoke.zone].until(step) + scaled(off, -1.0)
        return {room: terms for room, terms in found.items() if terms}

    def most_smoking(self, option: ZoneStream, columns: StreamColumns) -> list[int]:
        grid = self.grid
        most = [0] * grid.steps
        if not option.smoke:
            return most
        longest = max(grid.down(smoke.wrap_to_min) for smoke in option.smoke)
        for d, demand in enumerate(grid.demands):
            wraps = [step for _, demand_index, step in columns.by_demand if demand_index == d]
            for step in range(max(0, min(wraps) - longest), max(wraps)) if wraps else ():
                most[step] += demand.pieces
        return most

    # hands ------------------------------------------------------------------------------------------------------

    def hands(self, shorts: list[int]) -> HandDemand:
        hands = HandDemand(self.grid.steps)
        self.pieces.work(hands, shorts)
        for d, demand in enumerate(self.grid.demands):
            if demand.pieces:
                pulling = self.wave_at(d, lambda finish: (finish.pull_from_min, finish.pull_to_min))
                for step, by_room in pulling.items():
                    terms = [term for some in by_room.values() for term in some]
                    hands.watch(step, scaled(terms, 1 / demand.pieces))
        return hands


def build_flow(zones: Zones, *, lean: bool = False) -> FlowModel:
    """The flow model of a weekend.

    With `lean` its bound is true too, but shelves, changes of setpoint and rows that lift it little once the crew is
    known are left out.
    """
    return _Builder(zones, lean).build()
