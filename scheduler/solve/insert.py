"""Finds the best way to place pieces of one wave on a board as it stands."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from random import Random

import numpy as np

from scheduler.model.base import hundredths
from scheduler.solve.board import Board, Placed
from scheduler.solve.frame import Floats, Ints
from scheduler.solve.grid import Finish, Grid, Smoke, Stream

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
                for spot_index, spot in enumerate(self.board.spots):
                    if spot.place == finish.place and spot.size >= hundredths(stream.cut.spaces):
                        way = self.at_spot(stream, finish, steps, after, spot_index)
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
        room = [_window(shelves[i], minutes, until_min - after_min) for i in which]
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
        there = _window(self.board.hands.pit_there.astype(np.int64), shifted, len(touched))
        if not stream.cut.hands.pull_min:
            return there * self.want
        spare = _window(self.pit, shifted, len(touched))
        return there * _whole(spare * len(touched) / stream.cut.hands.pull_min)

    # spots ------------------------------------------------------------------------------------------------------

    def at_spot(self, stream: Stream, finish: Finish, steps: range, after: Ints, spot: int) -> _Way | None:
        grid, board = self.grid, self.board
        size = hundredths(stream.cut.spaces)
        free = board.open_room(spot, finish.levels)
        room = np.maximum(_window(free, steps, grid.up(finish.took.late_min)), 0) // size
        most = np.minimum(after, room)
        if not most.any():
            return None
        each = self.each_cents(stream, finish, steps)
        cold = self.cold(spot)
        late = grid.up(finish.took.late_min)
        fire = _run(cold, steps, late)
        if not stream.recipe.wrapped:
            loading = _per_piece(self.pit[steps.start : steps.stop], stream.cut.hands.load_min)
            most = np.minimum(most, loading)
            return self.pick(stream, spot, spot, steps, most, each, fire, None)
        wrapping = _per_piece(self.wrap[steps.start : steps.stop], stream.cut.hands.wrap_min)
        most = np.minimum(most, wrapping)
        if not most.any():
            return None
        return self.smoked(stream, spot, steps, most, each, fire)

    def smoked(self, stream: Stream, spot: int, steps: range, most: Ints, each: Floats, fire: Floats) -> _Way | None:
        board = self.board
        best: _Way | None = None
        for smoke in stream.smoke:
            for other, place in enumerate(board.spots):
                same = other == spot
                stays = same or board.spots[spot].rack is None
                if place.place != smoke.place or not stays or place.size < hundredths(stream.cut.spaces):
                    continue
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
            room = np.maximum(_window(free, loads, delay), 0) // size
            loading = _per_piece(self.pit[loads.start : loads.stop], stream.cut.hands.load_min)
            able = np.minimum(np.minimum(most[late], room), loading)
            rent = each[late] - delay * size * RENT_CENTS / 100
            wood = fire[late] + _run(cold, loads, delay)
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


def _window(array: Ints | Floats, starts: range, length: int) -> Ints:
    """Least value over windows of a length at each of the starts; 0 where a window leaves the array."""
    inside = min(len(starts), (len(array) - length - starts.start) // starts.step + 1)
    if inside <= 0:
        return np.zeros(len(starts), dtype=array.dtype)
    if not length:
        return np.full(len(starts), np.iinfo(np.int64).max // 4)
    # A view by strides: the public helper for it costs more than the whole minimum.
    item = array.strides[0]
    windows: Ints = np.ndarray((inside, length), array.dtype, array, starts.start * item, (starts.step * item, item))
    least: Ints = windows.min(axis=1)
    if inside < len(starts):
        least = np.append(least, np.zeros(len(starts) - inside, dtype=array.dtype))
    return least


def _run(total: Floats, starts: range, length: int) -> Floats:
    """Sum over `length` steps from each start, from a running total; cut at the end of the grid."""
    first = np.arange(starts.start, starts.stop)
    end = np.minimum(first + length, len(total) - 1)
    run: Floats = total[end] - total[np.minimum(first, len(total) - 1)]
    return run


def _whole(pieces: Floats) -> Ints:
    return np.floor(np.maximum(pieces, 0) + 1e-6).astype(np.int64)


def _per_piece(minutes: Floats, each_min: float) -> Ints:
    """Pieces for which the minutes are enough; no limit where a piece takes none."""
    if not each_min:
        return np.full(len(minutes), np.iinfo(np.int64).max // 4, dtype=np.int64)
    return _whole(minutes / each_min)
