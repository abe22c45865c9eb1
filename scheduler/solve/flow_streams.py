"""Pieces in the flow model: loaded, wrapped, finishing, resting and held, by stream, zone and step."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field

from scheduler.model.base import hundredths
from scheduler.solve.flow_fire import Taken
from scheduler.solve.flow_hands import HandDemand
from scheduler.solve.grid import Stream
from scheduler.solve.in_hand import InHand, InHandColumns
from scheduler.solve.milp import INF, MilpBuilder, RunningTotal, Terms, scaled
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


class Streams:
    """Columns and rows of all pieces, and what they ask for at each step.

    Loads in hand, of a plan that is changed on the way, have columns of their own.
    """

    def __init__(self, b: MilpBuilder, zones: Zones, in_hand: Collection[InHand] = ()) -> None:
        self.b = b
        self.zones = zones
        self.grid = zones.grid
        self.columns: list[StreamColumns] = []
        self._smokes: dict[int, list[tuple[Room, int, RunningTotal, RunningTotal]]] = {}
        self._finishes: dict[int, list[tuple[Room, int, RunningTotal, int]]] = {}
        for option in zones.streams:
            self._stream(option)
        self.in_hand = InHandColumns(b, self.grid, in_hand)

    def _stream(self, option: ZoneStream) -> None:
        columns = StreamColumns()
        self.columns.append(columns)
        for finish in option.finish:
            self._finishing(option.stream, finish, columns)
        if option.stream.recipe.wrapped:
            steps = sorted({step for total in columns.finishing.values() for step in total.steps})
            for smoke in option.smoke:
                self._smoking(option.stream, smoke, columns, steps)
            self._hand_over(option.stream, columns, steps)

    def _finishing(self, stream: Stream, finish: ZoneFinish, columns: StreamColumns) -> None:
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
            total = b.running_total(chosen, self._wanted(stream))
            columns.finishing[finish.zone] = total
            for step in total.steps:
                b.row(0.0, [*chosen[step], *scaled(total.at(step), -1.0)], 0.0)

    def _wanted(self, stream: Stream) -> int:
        return sum(d.pieces for d in self.grid.demands if d.cut == stream.cut.name)

    def _smoking(self, stream: Stream, smoke: ZoneSmoke, columns: StreamColumns, steps: list[int]) -> None:
        b = self.b
        soonest, latest = self.grid.up(smoke.wrap_from_min), self.grid.down(smoke.wrap_to_min)
        wraps = [step for step in steps if step >= soonest]
        if soonest > latest or not wraps:
            return
        loads = {step - delay for step in wraps for delay in range(soonest, latest + 1) if step >= delay}
        loaded = b.running_total(loads, self._wanted(stream))
        wrapped = b.running_total(wraps, self._wanted(stream))
        for step in range(loaded.steps[0], wraps[-1] + 1):
            # Wrapped no sooner than the window opens, and no later than it closes (first in, first out). Where
            # nothing is wrapped the rows follow from others, but without them plans come out dearer.
            b.row(-INF, wrapped.until(step) + scaled(loaded.until(step - soonest), -1.0), 0.0)
            b.row(0.0, wrapped.until(step) + scaled(loaded.until(step - latest), -1.0), INF)
        b.row(0.0, wrapped.until(wraps[-1]) + scaled(loaded.until(wraps[-1]), -1.0), 0.0)
        columns.loaded[smoke.zone] = loaded
        columns.wrapped[smoke.zone] = wrapped

    def _hand_over(self, stream: Stream, columns: StreamColumns, steps: list[int]) -> None:
        for step in steps:
            off = [term for total in columns.wrapped.values() for term in total.at(step)]
            on = [term for total in columns.finishing.values() for term in total.at(step)]
            self.b.row(0.0, off + scaled(on, -1.0), 0.0)
            if stream.cut.move_cents and len(self.zones.zones) > 1:
                self._moves(stream, columns, step)

    def _moves(self, stream: Stream, columns: StreamColumns, step: int) -> None:
        """What comes off a smoker and does not go back on it has moved; off several, on any of them."""
        names = [frozenset(self.grid.places[place].name for place in places) for places in self.zones.zones]
        for some in sorted({names[z] for z in columns.wrapped}, key=sorted):
            off = [t for z, total in columns.wrapped.items() if names[z] == some for t in total.at(step)]
            on = [t for z, total in columns.finishing.items() if names[z] & some for t in total.at(step)]
            if off:
                moved = self.b.column(self._wanted(stream), stream.cut.move_cents, integer=False)
                self.b.row(-INF, [*off, *scaled(on, -1.0), (moved, -1.0)], 0.0)

    # waves ------------------------------------------------------------------------------------------------------

    def waves(self) -> list[int]:
        """Pieces made + short = pieces wanted; columns of the pieces short."""
        grid, b = self.grid, self.b
        made = [self.in_hand.made(d) for d in range(len(grid.demands))]
        for columns in self.columns:
            for (_, d, _), column in columns.by_demand.items():
                made[d].append((column, 1.0))
        shorts = []
        for d, demand in enumerate(grid.demands):
            short = b.column(demand.pieces, float(grid.short_cents(d)))
            shorts.append(short)
            b.row(demand.pieces, [*made[d], (short, 1.0)], demand.pieces)
        return shorts

    # room -------------------------------------------------------------------------------------------------------

    def _started(self, columns: StreamColumns, zone: int, step: int, after_min: int, until_min: int) -> Terms:
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
        step_min = self.grid.step_min
        return total.within((minute - until) // step_min + 1, (minute - finish.early_min) // step_min)

    def entering(self, d: int) -> dict[int, Terms]:
        """Pieces of a demand by the minute at which they may come to the hold."""
        grid = self.grid
        found = self.in_hand.entering(d)
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
        found = self.in_hand.taken(self.zones.zones[zone], step)
        for room, size, loaded, wrapped in self._smoking_at(zone):
            # From the last wrap on nothing is left to be wrapped, and before the first loading nothing is there. Rows
            # that say so are no loss, but where places are melted HiGHS raises the bound sooner with them.
            if self.zones.melted or loaded.steps[0] <= step < wrapped.steps[-1]:
                found.append(Taken(room, scaled(loaded.until(step), size) + scaled(wrapped.until(step), -size)))
        for room, size, started, late_min in self._finishing_at(zone):
            if late_min > into_min:
                on = started.within(step - self.grid.up(late_min - into_min) + 1, step)
                if on:
                    found.append(Taken(room, scaled(on, size)))
        return found

    def _smoking_at(self, zone: int) -> list[tuple[Room, int, RunningTotal, RunningTotal]]:
        """What is smoked in a zone: where it may stand, hundredths of a space a piece, loaded, wrapped."""
        if zone not in self._smokes:
            self._smokes[zone] = [
                (smoke.room, hundredths(option.stream.cut.spaces), columns.loaded[zone], columns.wrapped[zone])
                for option, columns in zip(self.zones.streams, self.columns, strict=True)
                for smoke in option.smoke
                if smoke.zone == zone and zone in columns.loaded
            ]
        return self._smokes[zone]

    def _finishing_at(self, zone: int) -> list[tuple[Room, int, RunningTotal, int]]:
        """What finishes in a zone: the same, when it starts to, and its late end."""
        if zone not in self._finishes:
            self._finishes[zone] = [
                (finish.room, hundredths(option.stream.cut.spaces), columns.finishing[zone], finish.late_min)
                for option, columns in zip(self.zones.streams, self.columns, strict=True)
                for finish in option.finish
                if finish.zone == zone and zone in columns.finishing
            ]
        return self._finishes[zone]

    # hands ------------------------------------------------------------------------------------------------------

    def work(self, hands: HandDemand, shorts: list[int]) -> None:
        """Ask for the hands to load, wrap, pull and slice."""
        self.in_hand.work(hands)
        for option, columns in zip(self.zones.streams, self.columns, strict=True):
            need = option.stream.cut.hands
            for total in (columns.loaded if option.stream.recipe.wrapped else columns.finishing).values():
                hands.add_amounts("pit", total, need.load_min)
            for total in columns.wrapped.values():
                hands.add_amounts("wrap", total, need.wrap_min)
            for finish in option.finish:
                self._pulls(option.stream, finish, columns, hands)
        grid = self.grid
        for d, demand in enumerate(grid.demands):
            steps = grid.touched(grid.ready_min[d], grid.served_min[d])
            each = grid.cut_of(d).hands.slice_min / len(steps)
            for step in steps:
                hands.add("slice", step, [(shorts[d], -each)], each * demand.pieces)

    def _pulls(self, stream: Stream, finish: ZoneFinish, columns: StreamColumns, hands: HandDemand) -> None:
        for step in range(self.grid.steps):
            pulling = self._started(columns, finish.zone, step, finish.pull_from_min, finish.pull_to_min)
            if pulling:
                hands.add("pit", step, scaled(pulling, stream.cut.hands.pull_min / finish.pull_span))
