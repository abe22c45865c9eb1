"""The time-indexed flow model of a weekend.

Pieces of a cut and wave are alike, so the model counts them: how many are loaded, wrapped and start to finish at each
step and zone. Stage windows and occupancies are differences of running totals, which keeps every row short. Its parts:

    streams   loading, wrapping, finishing; the wrap window; hand-over at the wrap
    waves     pieces made + short = pieces wanted
    space     rest shelves and holding cabinets
    fires     lit, warm-up, clean-out, setpoints, and the room on racks that each setpoint opens  (flow_fire.py)
    hands     minutes by skill against the shifts called in, wrap tables, cutting boards          (flow_hands.py)

Every plan on the grid that the audit passes is a point of this model at no higher cost, so its bound is a true one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from scheduler.model.base import hundredths
from scheduler.solve.flow_cover import cover_rows, need_fire
from scheduler.solve.flow_fire import FireColumns, Taken, build_fires, cooking_at_all
from scheduler.solve.flow_hands import BoardHands, HandDemand, build_hands
from scheduler.solve.grid import Stream
from scheduler.solve.milp import INF, Milp, MilpBuilder, RunningTotal, Terms, scaled
from scheduler.solve.zones import Room, ZoneFinish, Zones, ZoneSmoke, ZoneStream


@dataclass(slots=True)
class StreamColumns:
    """Columns of one stream."""

    loaded: dict[int, RunningTotal] = field(default_factory=dict)
    """Pieces loaded for smoking before the wrap, by zone."""
    wrapped: dict[int, RunningTotal] = field(default_factory=dict)
    """Pieces wrapped, by the zone they come off."""
    finishing: dict[int, RunningTotal] = field(default_factory=dict)
    """Pieces whose uncertain stage starts, by zone."""
    by_demand: dict[tuple[int, int, int], int] = field(default_factory=dict)
    """The same by (zone, demand, step)."""


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


class _Builder:
    def __init__(self, zones: Zones, as_board: BoardHands | None, lean: bool) -> None:
        self.zones, self.grid = zones, zones.grid
        self.as_board, self.lean = as_board, lean
        self.b = MilpBuilder()
        self.columns: list[StreamColumns] = []

    def build(self) -> FlowModel:
        for option in self.zones.streams:
            self.stream(option)
        shorts = self.waves()
        if not self.lean:
            self.rest_space()
        self.hold_space()
        fires = build_fires(self.b, self.zones, self.taken, changes=not self.lean)
        cooking = cooking_at_all(self.b, self.grid, fires)
        if self.as_board is None and not self.lean:
            self.waves_need_fire(fires, cooking)
        if self.as_board is None:
            cover_rows(self.b, self.zones, shorts, fires)
        shifts, unmanned = build_hands(self.b, self.grid, self.hands(shorts), fires, cooking, self.as_board)
        return FlowModel(self.zones, self.b.finish(), self.columns, shorts, fires, shifts, unmanned)

    # streams ----------------------------------------------------------------------------------------------------

    def stream(self, option: ZoneStream) -> None:
        columns = StreamColumns()
        self.columns.append(columns)
        for finish in option.finish:
            self.finishing(option.stream, finish, columns)
        if option.stream.recipe.wrapped:
            steps = sorted({step for total in columns.finishing.values() for step in total.steps})
            for smoke in option.smoke:
                self.smoking(option.stream, smoke, columns, steps)
            self.hand_over(option.stream, columns, steps)

    def finishing(self, stream: Stream, finish: ZoneFinish, columns: StreamColumns) -> None:
        b = self.b
        chosen: dict[int, Terms] = {}
        most_at_once = sum(self.grid.places[option.place].pieces_cap(stream.cut) for option in finish.places)
        for d, demand in enumerate(self.grid.demands):
            for step in self.zones.finish_steps(stream, finish, d):
                cents = self.zones.hold_cents(stream, finish, d, step)
                column = b.column(min(demand.pieces, most_at_once), cents)
                columns.by_demand[finish.zone, d, step] = column
                chosen.setdefault(step, []).append((column, 1.0))
        if chosen:
            total = b.running_total(chosen, self.wanted(stream))
            columns.finishing[finish.zone] = total
            for step in total.steps:
                b.row(0.0, [*chosen[step], *scaled(total.at(step), -1.0)], 0.0)

    def wanted(self, stream: Stream) -> int:
        return sum(d.pieces for d in self.grid.demands if d.cut == stream.cut.name)

    def smoking(self, stream: Stream, smoke: ZoneSmoke, columns: StreamColumns, steps: list[int]) -> None:
        b = self.b
        soonest, latest = self.grid.up(smoke.wrap_from_min), self.grid.down(smoke.wrap_to_min)
        wraps = [step for step in steps if step >= soonest]
        if soonest > latest or not wraps:
            return
        loads = {step - delay for step in wraps for delay in range(soonest, latest + 1) if step >= delay}
        loaded = b.running_total(loads, self.wanted(stream))
        wrapped = b.running_total(wraps, self.wanted(stream))
        for step in range(loaded.steps[0], wraps[-1] + 1):
            # Wrapped no sooner than the window opens, and no later than it closes (first in, first out).
            b.row(-INF, wrapped.until(step) + scaled(loaded.until(step - soonest), -1.0), 0.0)
            b.row(0.0, wrapped.until(step) + scaled(loaded.until(step - latest), -1.0), INF)
        b.row(0.0, wrapped.until(wraps[-1]) + scaled(loaded.until(wraps[-1]), -1.0), 0.0)
        columns.loaded[smoke.zone] = loaded
        columns.wrapped[smoke.zone] = wrapped

    def hand_over(self, stream: Stream, columns: StreamColumns, steps: list[int]) -> None:
        for step in steps:
            off = [term for total in columns.wrapped.values() for term in total.at(step)]
            on = [term for total in columns.finishing.values() for term in total.at(step)]
            self.b.row(0.0, off + scaled(on, -1.0), 0.0)
            if stream.cut.move_cents and len(self.zones.zones) > 1:
                self.moves(stream, columns, step)

    def moves(self, stream: Stream, columns: StreamColumns, step: int) -> None:
        """What comes off a smoker and does not go back on it has moved; off several, on any of them."""
        names = [frozenset(self.grid.places[place].name for place in places) for places in self.zones.zones]
        for some in sorted({names[z] for z in columns.wrapped}, key=sorted):
            off = [t for z, total in columns.wrapped.items() if names[z] == some for t in total.at(step)]
            on = [t for z, total in columns.finishing.items() if names[z] & some for t in total.at(step)]
            if off:
                moved = self.b.column(self.wanted(stream), stream.cut.move_cents, integer=False)
                self.b.row(-INF, [*off, *scaled(on, -1.0), (moved, -1.0)], 0.0)

    # waves ------------------------------------------------------------------------------------------------------

    def waves(self) -> list[int]:
        grid, b = self.grid, self.b
        made: list[Terms] = [[] for _ in grid.demands]
        for columns in self.columns:
            for (_, d, _), column in columns.by_demand.items():
                made[d].append((column, 1.0))
        shorts = []
        for d, demand in enumerate(grid.demands):
            short = b.column(demand.pieces, float(grid.short_cents(d)))
            shorts.append(short)
            b.row(demand.pieces, [*made[d], (short, 1.0)], demand.pieces)
        return shorts

    # space ------------------------------------------------------------------------------------------------------

    def started(self, columns: StreamColumns, zone: int, step: int, after_min: int, until_min: int) -> Terms:
        """Pieces whose uncertain stage began so long ago that the step lies in [after, until) of it, steps touched."""
        total = columns.finishing.get(zone)
        if total is None or until_min <= after_min:
            return []
        return total.within(step - self.grid.up(until_min) + 1, step - self.grid.down(after_min))

    def resting(self, option: ZoneStream, columns: StreamColumns, finish: ZoneFinish, minute: int) -> Terms:
        """Pieces on a rest shelf at a minute: past their early end, and not yet past the rest after the late one."""
        total = columns.finishing.get(finish.zone)
        until = finish.late_min + option.stream.cut.rest_min
        if total is None or until <= finish.early_min:
            return []
        return total.within(self.grid.down(minute - until) + 1, self.grid.down(minute - finish.early_min))

    def rest_space(self) -> None:
        """Room at each minute at which a piece may come to rest.

        Rest and hold begin and end between grid times. Room for all that touches a step would forbid plans in which one
        piece leaves the shelf as the next one comes, and the bound would not hold for them.
        """
        grid = self.grid
        cap = np.sum([shelf.cap for shelf in grid.rest], axis=0) if grid.rest else np.zeros(grid.steps)
        sizes = [
            (option, columns, finish, float(hundredths(option.stream.cut.rest_spaces)))
            for option, columns in zip(self.zones.streams, self.columns, strict=True)
            for finish in option.finish
            if option.stream.cut.rest_spaces
        ]
        into_step = sorted({finish.early_min % grid.step_min for _, _, finish, _ in sizes})
        if self.as_board is not None:
            into_step = into_step[:1]
        for step in range(grid.steps):
            for minute in (step * grid.step_min + past for past in into_step):
                terms: Terms = []
                for option, columns, finish, size in sizes:
                    terms += scaled(self.resting(option, columns, finish, minute), size)
                self.b.row(-INF, terms, float(cap[step]))

    def hold_space(self) -> None:
        """Held pieces by demand as running totals, with room at each minute at which pieces may come to the hold.

        Cuts that accept fewer cabinets get rows of their own.
        """
        grid, b = self.grid, self.b
        held: dict[int, RunningTotal] = {}
        for d, demand in enumerate(grid.demands):
            entering = self.entering(d)
            if grid.cut_of(d).hold_spaces and entering:
                minutes = sorted(entering)
                total = [b.column(demand.pieces, integer=False) for _ in minutes]
                for i, minute in enumerate(minutes):
                    before: Terms = [(total[i - 1], 1.0)] if i else []
                    b.row(0.0, [*before, *entering[minute], (total[i], -1.0)], 0.0)
                held[d] = RunningTotal(minutes, total, total)
        cabinets = {d: frozenset(grid.cabinets_for(grid.cut_of(d))) for d in held}
        for room in sorted({*cabinets.values(), frozenset().union(*cabinets.values())}, key=sorted):
            inside = [d for d in held if cabinets[d] <= room]
            for minute in sorted({minute for d in inside for minute in held[d].steps}):
                terms: Terms = []
                for d in inside:
                    if minute < grid.served_min[d]:
                        terms += scaled(held[d].until(minute), float(hundredths(grid.cut_of(d).hold_spaces)))
                b.row(-INF, terms, float(sum(grid.hold[i].cap[grid.down(minute)] for i in room)) if terms else 0.0)

    def entering(self, d: int) -> dict[int, Terms]:
        """Pieces of a demand by the minute at which they may come to the hold."""
        grid = self.grid
        found: dict[int, Terms] = {}
        for option, columns in zip(self.zones.streams, self.columns, strict=True):
            if option.stream.cut.name != grid.demands[d].cut:
                continue
            early = {finish.zone: finish.early_min for finish in option.finish}
            for (zone, demand, step), column in columns.by_demand.items():
                if demand == d:
                    hold_from = step * grid.step_min + early[zone] + option.stream.cut.rest_min
                    found.setdefault(hold_from, []).append((column, 1.0))
        return found

    def taken(self, zone: int, step: int, into_min: int) -> list[Taken]:
        """What takes room in a zone from so many minutes into a step on."""
        found: list[Taken] = []
        for option, columns in zip(self.zones.streams, self.columns, strict=True):
            size = hundredths(option.stream.cut.spaces)
            for smoke in option.smoke:
                if smoke.zone == zone and zone in columns.loaded:
                    on = columns.loaded[zone].until(step) + scaled(columns.wrapped[zone].until(step), -1.0)
                    found.append(Taken(smoke.room, scaled(on, size)))
            for finish in option.finish:
                if finish.zone == zone:
                    on = self.started(columns, zone, step, 0, finish.late_min - into_min)
                    found.append(Taken(finish.room, scaled(on, size)))
        return [taken for taken in found if taken.terms]

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
        grid = self.grid
        hands = HandDemand(grid.steps)
        for option, columns in zip(self.zones.streams, self.columns, strict=True):
            need = option.stream.cut.hands
            for total in (columns.loaded if option.stream.recipe.wrapped else columns.finishing).values():
                hands.add_amounts("pit", total, need.load_min)
            for total in columns.wrapped.values():
                hands.add_amounts("wrap", total, need.wrap_min)
            for finish in option.finish:
                self.pulls(option.stream, finish, columns, hands)
        for d, demand in enumerate(grid.demands):
            steps = grid.touched(grid.ready_min[d], grid.served_min[d])
            each = grid.cut_of(d).hands.slice_min / len(steps)
            for step in steps:
                hands.add("slice", step, [(shorts[d], -each)], each * demand.pieces)
            if demand.pieces:
                pulling = self.wave_at(d, lambda finish: (finish.pull_from_min, finish.pull_to_min))
                for step, by_room in pulling.items():
                    terms = [term for some in by_room.values() for term in some]
                    hands.watch(step, scaled(terms, 1 / demand.pieces))
        return hands

    def pulls(self, stream: Stream, finish: ZoneFinish, columns: StreamColumns, hands: HandDemand) -> None:
        for step in range(self.grid.steps):
            pulling = self.started(columns, finish.zone, step, finish.pull_from_min, finish.pull_to_min)
            if pulling:
                hands.add("pit", step, scaled(pulling, stream.cut.hands.pull_min / finish.pull_span))


def build_flow(zones: Zones, as_board: BoardHands | None = None, *, lean: bool = False) -> FlowModel:
    """The flow model of a weekend.

    With `as_board` it is a model to find plans with: hands as the board counts them, shelves looked at once a step, no
    rows that only lift the bound. With `lean` the bound is true too, but shelves, changes of setpoint and rows that
    lift it little once the crew is known are left out.
    """
    return _Builder(zones, as_board, lean).build()
