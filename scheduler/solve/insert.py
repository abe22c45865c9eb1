"""Finds the best way to place pieces of one wave on a board as it stands."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from random import Random

import numpy as np

from scheduler.model.base import hundredths
from scheduler.solve.after import After, Afters
from scheduler.solve.board import Board, Placed
from scheduler.solve.frame import Floats, Ints
from scheduler.solve.grid import Grid, Stream
from scheduler.solve.spots import Finishing, Smoking
from scheduler.solve.windows import before, least, per_piece, run

RENT_CENTS = 0.02
"""Worth of one space for one step, when two ways cost the same: leave room for others."""
NEVER = -1e18


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
    best: tuple[float, _Best, int] | None = None
    for found in _Search(board, demand, want, taste).by_stream():
        for spot in np.flatnonzero(found.pieces).tolist():
            value = float(found.value[spot])
            if taste.noise:
                value += taste.noise * taste.rng.random() * abs(value)
            if best is None or value > best[0]:
                best = value, found, spot
    return None if best is None else best[1].load(demand, best[2])


class _Best:
    """The best way to finish a stream at each spot; no pieces where there is none."""

    def __init__(self, stream: Stream, spots: int) -> None:
        self.stream = stream
        self.value: Floats = np.full(spots, NEVER)
        self.pieces: Ints = np.zeros(spots, dtype=np.int64)
        self.step: Ints = self.pieces.copy()
        """At which it starts to finish."""
        self.smoke_spot: Ints = self.pieces.copy()
        self.delay: Ints = self.pieces.copy()
        """Steps smoked before; 0 where it is not wrapped."""
        self.after: dict[int, tuple[range, After]] = {}

    def keep(self, spots: Ints, ways: _Rows, smoke_spots: Ints) -> None:
        """Note what was found for some spots."""
        self.value[spots], self.pieces[spots] = ways.value, ways.pieces
        self.step[spots], self.delay[spots] = ways.step, ways.delay
        self.smoke_spot[spots] = smoke_spots

    def load(self, demand: int, spot: int) -> Placed:
        """The load itself."""
        steps, after = self.after[spot]
        step, delay = int(self.step[spot]), int(self.delay[spot])
        return Placed(
            stream=self.stream.index,
            demand=demand,
            pieces=int(self.pieces[spot]),
            smoke_spot=int(self.smoke_spot[spot]),
            finish_spot=spot,
            load_step=step - delay,
            wrap_step=step if delay else None,
            rest=int(after.rest[step - steps.start]),
            hold=int(after.hold[step - steps.start]),
        )


@dataclass(frozen=True, slots=True)
class _Rows:
    """A way for each of several spots, or pairs of spots."""

    value: Floats
    pieces: Ints
    step: Ints
    delay: Ints

    def at(self, *index: Ints) -> _Rows:
        """Some of them."""
        return _Rows(self.value[index], self.pieces[index], self.step[index], self.delay[index])


class _Search:
    def __init__(self, board: Board, demand: int, want: int, taste: Taste) -> None:
        self.board = board
        self.grid: Grid = board.grid
        self.demand = demand
        self.want = want
        self.eager = min(taste.eager_cents, float(board.grid.short_cents(demand)))
        self.pit = board.hands.least("pit")
        self.wrap = board.hands.least("wrap")
        self.wood = board.cold_cents()
        cut = self.grid.cut_of(demand)
        steps = self.grid.touched(self.grid.ready_min[demand], self.grid.served_min[demand])
        if cut.hands.slice_min:
            most = board.hands.least("slice")[steps.start : steps.stop].min() * len(steps) / cut.hands.slice_min
            self.want = min(want, int(max(0.0, most) + 1e-6))
        self.afters = Afters(board, demand, self.want, self.pit)

    def by_stream(self) -> Iterator[_Best]:
        """The best ways for each stream."""
        if self.want <= 0:
            return
        for stream, ways in zip(self.grid.streams, self.grid.ways, strict=True):
            if stream.cut.name != self.grid.demands[self.demand].cut:
                continue
            best = _Best(stream, len(self.grid.spots))
            for finishing in (*ways.racks, *ways.ovens):
                steps = self.grid.finish_steps(stream, finishing.finish, self.demand)
                if len(steps):
                    self.finish(best, finishing, ways.smoking, steps)
            yield best

    def finish(self, best: _Best, finishing: Finishing, smoking: tuple[Smoking, ...], steps: range) -> None:
        """Note the best way to finish a stream at each of some spots."""
        stream = best.stream
        after = self.afters.of(stream, finishing.finish, steps)
        if not after.most.any():
            return
        late = self.grid.up(finishing.finish.took.late_min)
        spots = finishing.alike.spots
        room = np.maximum(least(self.board.open_room(finishing.alike), steps, late), 0)
        most = np.minimum(after.most, room // hundredths(stream.cut.spaces))
        best.after.update(dict.fromkeys(spots.tolist(), (steps, after)))
        each = self.each_cents(stream, finishing, steps)
        if finishing.oven:
            most = np.minimum(most, per_piece(self.wrap[steps.start : steps.stop], stream.cut.hands.wrap_min))
            self.in_ovens(best, spots, smoking, steps, most, each - stream.cut.move_cents)
            return
        fire = run(self.wood[finishing.alike.boxes], steps, late)
        if not stream.recipe.wrapped:
            most = np.minimum(most, per_piece(self.pit[steps.start : steps.stop], stream.cut.hands.load_min))
            best.keep(spots, _no_wrap(steps, most, each, fire), spots)
        elif finishing.smoking is not None:
            most = np.minimum(most, per_piece(self.wrap[steps.start : steps.stop], stream.cut.hands.wrap_min))
            if most.any():
                ways = self.smoked(stream, finishing.smoking, steps, most[:, None, :], each, fire[:, None, :])
                best.keep(spots, ways, spots)

    def in_ovens(
        self, best: _Best, spots: Ints, smoking: tuple[Smoking, ...], steps: range, most: Ints, each: Floats
    ) -> None:
        """The best rack to smoke on before each of some ovens. Ovens with the same room left are one."""
        if not smoking or not most.any():
            return
        kinds, kind = np.unique(most, axis=0, return_inverse=True)
        none = np.zeros((1, 1, 1))
        some = [self.smoked(best.stream, one, steps, kinds[:, None, None, :], each, none) for one in smoking]
        racks = np.concatenate([one.alike.spots for one in smoking])
        order = np.argsort(racks)
        ways = _joined(some).at(np.arange(len(kinds))[:, None], order)
        pick = ways.value.argmax(axis=1)
        kind = kind.reshape(-1)
        best.keep(spots, ways.at(kind, pick[kind]), racks[order][pick[kind]])

    def smoked(self, stream: Stream, smoking: Smoking, steps: range, most: Ints, each: Floats, fire: Floats) -> _Rows:
        """The best hours for smoking on each of some racks before `steps`; before each of some ovens, if asked."""
        delays, size = smoking.delays, hundredths(stream.cut.spaces)
        upto = range(1, delays.stop)
        free = np.minimum.accumulate(before(self.board.open_room(smoking.alike), steps, upto), axis=1)
        room = np.maximum(free[:, delays.start - 1 :], 0) // size
        loading = before(per_piece(self.pit, stream.cut.hands.load_min)[None], steps, delays)
        able = np.minimum(np.minimum(most, room), loading)
        cold = self.wood[smoking.alike.boxes]
        wood = fire + (cold[:, None, steps.start : steps.stop] - before(cold, steps, delays))
        rent = np.arange(delays.start, delays.stop) * size * RENT_CENTS / 100
        value = np.where(able > 0, able * (each - rent[:, None]) - wood, NEVER)
        value, pieces, at = _best_of(value, able)
        delay = _long_enough(value, pieces == self.want)
        rows = *np.ix_(*map(np.arange, delay.shape)), delay
        return _Rows(value[rows], pieces[rows], at[rows] + steps.start, delay + delays.start)

    def each_cents(self, stream: Stream, finishing: Finishing, steps: range) -> Floats:
        """Worth of one piece placed, by start step, cents."""
        grid, cut, took = self.grid, stream.cut, finishing.finish.took
        starts = np.arange(steps.start, steps.stop) * grid.step_min
        held = grid.ready_min[self.demand] - starts - took.early_min - cut.rest_min
        lost = cut.hold_loss_cents_per_h / 60 * np.maximum(0, held - cut.hold_free_min)
        room = (held + cut.rest_min) * cut.hold_spaces + took.late_min * cut.spaces
        found: Floats = self.eager - lost - RENT_CENTS / grid.step_min * room
        return found


def _no_wrap(steps: range, most: Ints, each: Floats, fire: Floats) -> _Rows:
    """The best step for each of some spots, where nothing is wrapped."""
    value = np.where(most > 0, most * each - fire, NEVER)
    at = value.argmax(axis=1)
    rows = np.arange(len(at))
    return _Rows(value[rows, at], most[rows, at], at + steps.start, np.zeros_like(at))


def _best_of(value: Floats, pieces: Ints) -> tuple[Floats, Ints, Ints]:
    """The best of the last axis: its value, its pieces and where it stands."""
    flat = value.reshape(-1, value.shape[-1])
    at = flat.argmax(axis=1)
    rows, shape = np.arange(len(at)), value.shape[:-1]
    best = flat[rows, at], pieces.reshape(flat.shape)[rows, at], at
    return best[0].reshape(shape), best[1].reshape(shape), best[2].reshape(shape)


def _long_enough(value: Floats, all_of_it: Ints) -> Ints:
    """The delay to be chosen by the value of each: the best, but none longer than the first that takes all pieces.

    A longer smoke would only take more room.
    """
    best = np.maximum.accumulate(value, axis=-1)
    better = value > NEVER
    better[..., 1:] &= value[..., 1:] > best[..., :-1]
    enough = better & all_of_it
    found: Ints = np.where(enough.any(axis=-1), enough.argmax(axis=-1), value.argmax(axis=-1))
    return found


def _joined(some: list[_Rows]) -> _Rows:
    return _Rows(
        np.concatenate([ways.value for ways in some], axis=-1),
        np.concatenate([ways.pieces for ways in some], axis=-1),
        np.concatenate([ways.step for ways in some], axis=-1),
        np.concatenate([ways.delay for ways in some], axis=-1),
    )
