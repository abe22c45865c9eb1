"""Finds the best way to place pieces of one wave on a board as it stands."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from random import Random

import numpy as np

from scheduler.model.base import hundredths
from scheduler.solve.board import Board, Placed
from scheduler.solve.frame import Floats, Ints
from scheduler.solve.grid import Finish, Grid, Smoke, Stream
from scheduler.solve.windows import per_piece, run, whole, window

RENT_CENTS = 0.02
"""Worth of one space for one step, when two ways cost the same: leave room for others."""
NEVER = -1e18


@dataclass(frozen=True, slots=True)
class _Way:
    """A candidate and its value in cents."""

    value: float
    load: Placed


@dataclass(frozen=True, slots=True)
class Taste:
    """How ways are compared."""

    eager_cents: float = 300.0
    """Worth given to a piece placed at once. Low: wait for the cheapest room; high: big loads first, whatever the
    wood.
    """
    noise: float = 0.0
    """Random share by which values are blurred."""
    rng: Random = field(default_factory=Random)


def fill(board: Board, demand: int, want: int, taste: Taste) -> int:
    """Place up to `want` pieces of a demand, load by load; the pieces still missing."""
    while want:
        way = best_way(board, demand, want, taste)
        if way is None:
            break
        board.put(way)
        want -= way.pieces
    return want


def best_way(board: Board, demand: int, want: int, taste: Taste) -> Placed | None:
    """The load of at most `want` pieces that is worth most; None if not one piece can be placed."""
    best: _Way | None = None
    for way in _Search(board, demand, want, taste).ways():
        value = way.value + taste.noise * taste.rng.random() * abs(way.value) if taste.noise else way.value
        if best is None or value > best.value:
            best = _Way(value, way.load)
    return None if best is None else best.load


class _Search:
    def __init__(self, board: Board, demand: int, want: int, taste: Taste) -> None:
        self.board = board
        self.grid: Grid = board.grid
        self.demand = demand
        self.want = want
        self.eager = min(taste.eager_cents, float(board.grid.short_cents(demand)))
        self.pit = board.hands.least("pit")
        self.wrap = board.hands.least("wrap")
        self.worth: dict[tuple[int, int, int], Floats] = {}
        self.wood: dict[int, Floats] = {}
        self.afters: dict[tuple[int, int, int], tuple[Ints, Ints, Ints]] = {}
        self.spots: dict[int, list[int]] = {}
        for spot_index, spot in enumerate(board.spots):
            if spot.size >= hundredths(self.grid.cut_of(demand).spaces):
                self.spots.setdefault(spot.place, []).append(spot_index)
        self.alike: dict[int, int] = {}
        self.known: dict[object, int] = {}
        self.done: dict[object, _Way | None] = {}
        self.rest_choice: Ints = np.zeros(0, dtype=np.int64)
        self.hold_choice: Ints = self.rest_choice
        cut = self.grid.cut_of(demand)
        steps = self.grid.touched(self.grid.ready_min[demand], self.grid.served_min[demand])
        if cut.hands.slice_min:
            most = board.hands.least("slice")[steps.start : steps.stop].min() * len(steps) / cut.hands.slice_min
            self.want = min(want, int(max(0.0, most) + 1e-6))

    def ways(self) -> Iterator[_Way]:
        """The best way for each stream and finish spot."""
        if self.want <= 0:
            return
        for stream in self.grid.streams:
            if stream.cut.name != self.grid.demands[self.demand].cut:
                continue
            for finish in stream.finish:
                steps = self.grid.finish_steps(stream, finish, self.demand)
                if not len(steps):
                    continue
                after = self.after(stream, finish, steps)
                if not after.any():
                    continue
                for spot in self.spots[finish.place]:
                    way = self.at_one_of_them(stream, finish, steps, after, spot)
                    if way is not None:
                        yield way

    # what the rest, the hold and the hands after the wrap allow, whatever the spot ------------------------------

    def after(self, stream: Stream, finish: Finish, steps: range) -> Ints:
        """Most pieces by start step, from rest shelf, cabinet and pulling; the same for places with the same times."""
        key = stream.index, finish.took.early_min, finish.took.late_min
        if key not in self.afters:
            self.afters[key] = self.worked_out_after(stream, finish, steps), self.rest_choice, self.hold_choice
        most, self.rest_choice, self.hold_choice = self.afters[key]
        return most

    def worked_out_after(self, stream: Stream, finish: Finish, steps: range) -> Ints:
        took, cut = finish.took, stream.cut
        most = np.full(len(steps), self.want, dtype=np.int64)
        self.rest_choice, rest = self.shelf_choice(
            self.board.rest,
            range(len(self.board.rest)),
            hundredths(cut.rest_spaces),
            steps,
            took.early_min,
            took.late_min + cut.rest_min,
        )
        self.hold_choice, hold = self.held_choice(stream, finish, steps)
        for limit in (rest, hold):
            if limit is not None:
                most = np.minimum(most, limit)
        return np.minimum(most, self.pulling(stream, finish, steps))

    def shelf_choice(
        self, shelves: list[Ints], which: range | list[int], size: int, steps: range, after_min: int, until_min: int
    ) -> tuple[Ints, Ints | None]:
        """The roomiest shelf by start step, and pieces that fit on it; (-1, no limit) where no room is needed."""
        if not size:
            return np.full(len(steps), -1, dtype=np.int64), None
        step_min = self.grid.step_min
        minutes = range(steps.start * step_min + after_min, steps.stop * step_min + after_min, step_min)
        room = [window(shelves[i], minutes, until_min - after_min) for i in which]
        if not room:
            return np.full(len(steps), -1, dtype=np.int64), np.zeros(len(steps), dtype=np.int64)
        stacked = np.stack(room)
        pick = stacked.argmax(axis=0)
        return np.array(list(which), dtype=np.int64)[pick], np.maximum(stacked.max(axis=0), 0) // size

    def held_choice(self, stream: Stream, finish: Finish, steps: range) -> tuple[Ints, Ints | None]:
        """The same for the holding cabinets, whose time ends with the serving."""
        size = hundredths(stream.cut.hold_spaces)
        if not size:
            return np.full(len(steps), -1, dtype=np.int64), None
        which = self.grid.cabinets_for(stream.cut)
        if not which:
            return np.full(len(steps), -1, dtype=np.int64), np.zeros(len(steps), dtype=np.int64)
        end = self.grid.served_min[self.demand]
        offset = finish.took.early_min + stream.cut.rest_min
        enters = np.minimum(np.arange(steps.start, steps.stop) * self.grid.step_min + offset, end)
        room = []
        for i in which:
            # Least room from each minute to the end of serving: a running minimum from behind.
            behind = np.minimum.accumulate(self.board.hold[i][:end][::-1])[::-1]
            room.append(np.append(behind, np.iinfo(np.int64).max)[enters])
        stacked = np.stack(room)
        pick = stacked.argmax(axis=0)
        return np.array(which, dtype=np.int64)[pick], np.maximum(stacked.max(axis=0), 0) // size

    def pulling(self, stream: Stream, finish: Finish, steps: range) -> Ints:
        grid, took = self.grid, finish.took
        touched = grid.touched(took.early_min, took.late_min)
        shifted = range(steps.start + touched.start, steps.stop + touched.start)
        there = window(self.board.hands.pit_there.astype(np.int64), shifted, len(touched))
        if not stream.cut.hands.pull_min:
            return there * self.want
        spare = window(self.pit, shifted, len(touched))
        return there * whole(spare * len(touched) / stream.cut.hands.pull_min)

    # spots ------------------------------------------------------------------------------------------------------

    def kind(self, spot: int) -> int:
        """A number that spots have in common between which nothing makes a difference as the board stands."""
        if spot not in self.alike:
            grid, place = self.grid, self.grid.places[self.board.spots[spot].place]
            fire: tuple[object, ...] = ()
            if place.firebox is not None:
                box = grid.fireboxes[place.firebox]
                held, hot = self.board.frame.levels[place.firebox], self.board.hot[place.firebox] > 0
                fire = box.setpoints_f, box.setpoint_change_min, box.wood_lb_per_h, held.tobytes(), hot.tobytes()
            key = (self.board.spots[spot].size, place.offset_f, place.oven_f, self.board.free[spot].tobytes(), fire)
            self.alike[spot] = self.known.setdefault(key, len(self.known))
        return self.alike[spot]

    def at_one_of_them(self, stream: Stream, finish: Finish, steps: range, after: Ints, spot: int) -> _Way | None:
        """The best way to finish at a spot, worked out once for spots of a kind: at a festival most are."""
        key = stream.index, finish.took.early_min, finish.took.late_min, self.kind(spot)
        if key not in self.done:
            self.done[key] = self.at_spot(stream, finish, steps, after, spot)
        way = self.done[key]
        if way is None or way.load.finish_spot == spot:
            return way
        smoke = spot if way.load.smoke_spot == way.load.finish_spot else way.load.smoke_spot
        return _Way(way.value, replace(way.load, smoke_spot=smoke, finish_spot=spot))

    def at_spot(self, stream: Stream, finish: Finish, steps: range, after: Ints, spot: int) -> _Way | None:
        grid, board = self.grid, self.board
        size = hundredths(stream.cut.spaces)
        free = board.open_room(spot, finish.levels)
        room = np.maximum(window(free, steps, grid.up(finish.took.late_min)), 0) // size
        most = np.minimum(after, room)
        if not most.any():
            return None
        each = self.each_cents(stream, finish, steps)
        cold = self.cold(spot)
        late = grid.up(finish.took.late_min)
        fire = run(cold, steps, late)
        if not stream.recipe.wrapped:
            loading = per_piece(self.pit[steps.start : steps.stop], stream.cut.hands.load_min)
            most = np.minimum(most, loading)
            return self.pick(stream, spot, spot, steps, most, each, fire, None)
        wrapping = per_piece(self.wrap[steps.start : steps.stop], stream.cut.hands.wrap_min)
        most = np.minimum(most, wrapping)
        if not most.any():
            return None
        return self.smoked(stream, spot, steps, most, each, fire)

    def smoked(self, stream: Stream, spot: int, steps: range, most: Ints, each: Floats, fire: Floats) -> _Way | None:
        own = self.board.spots[spot]
        best: _Way | None = None
        tried: set[int] = set()
        for smoke in stream.smoke:
            if own.rack is not None and smoke.place != own.place:
                continue
            for other in self.spots[smoke.place]:
                same = other == spot
                if self.kind(other) in tried or not (same or own.rack is None):
                    continue
                tried.add(self.kind(other))
                cents = each if same else each - stream.cut.move_cents
                way = self.smoked_at(stream, smoke, other, spot, steps, most, cents, fire)
                if way is not None and (best is None or way.value > best.value):
                    best = way
        return best

    def smoked_at(
        self,
        stream: Stream,
        smoke: Smoke,
        other: int,
        spot: int,
        steps: range,
        most: Ints,
        each: Floats,
        fire: Floats,
    ) -> _Way | None:
        grid, board = self.grid, self.board
        cold = self.cold(other)
        size = hundredths(stream.cut.spaces)
        free = board.open_room(other, smoke.levels)
        best: _Way | None = None
        for delay in range(grid.up(smoke.wrap_from_min), grid.down(smoke.wrap_to_min) + 1):
            first = max(steps.start, delay)
            if first >= steps.stop or not delay:
                continue
            late = slice(first - steps.start, len(steps))
            loads = range(first - delay, steps.stop - delay)
            room = np.maximum(window(free, loads, delay), 0) // size
            loading = per_piece(self.pit[loads.start : loads.stop], stream.cut.hands.load_min)
            able = np.minimum(np.minimum(most[late], room), loading)
            rent = each[late] - delay * size * RENT_CENTS / 100
            wood = fire[late] + run(cold, loads, delay)
            way = self.pick(stream, other, spot, range(first, steps.stop), able, rent, wood, delay)
            if way is not None and (best is None or way.value > best.value):
                best = way
            if best is not None and best.load.pieces == self.want:
                break  # A longer smoke would only take more room.
        return best

    def each_cents(self, stream: Stream, finish: Finish, steps: range) -> Floats:
        """Worth of one piece placed, by start step, cents."""
        grid, cut, demand = self.grid, stream.cut, self.demand
        key = stream.index, finish.took.early_min, finish.took.late_min
        if key not in self.worth:
            starts = np.arange(steps.start, steps.stop) * grid.step_min
            held = grid.ready_min[demand] - starts - finish.took.early_min - cut.rest_min
            lost = cut.hold_loss_cents_per_h / 60 * np.maximum(0, held - cut.hold_free_min)
            room = (held + cut.rest_min) * cut.hold_spaces + finish.took.late_min * cut.spaces
            self.worth[key] = self.eager - lost - RENT_CENTS / grid.step_min * room
        return self.worth[key]

    def cold(self, spot: int) -> Floats:
        """Wood for cold steps at a spot, as a running total."""
        place = self.board.spots[spot].place
        if place not in self.wood:
            self.wood[place] = self.board.cold_cents(spot)
        return self.wood[place]

    def pick(
        self,
        stream: Stream,
        smoke_spot: int,
        spot: int,
        steps: range,
        most: Ints,
        each: Floats,
        fire: Floats,
        delay: int | None,
    ) -> _Way | None:
        value = np.where(most > 0, most * each - fire, NEVER)
        i = int(value.argmax())
        if not most[i]:
            return None
        step = steps[i]
        # Shelf choices run over all start steps; `steps` may be cut at the front.
        j = i + len(self.rest_choice) - len(steps)
        load = Placed(
            stream=stream.index,
            demand=self.demand,
            pieces=int(most[i]),
            smoke_spot=smoke_spot,
            finish_spot=spot,
            load_step=step if delay is None else step - delay,
            wrap_step=None if delay is None else step,
            rest=int(self.rest_choice[j]),
            hold=int(self.hold_choice[j]),
        )
        return _Way(float(value[i]), load)
