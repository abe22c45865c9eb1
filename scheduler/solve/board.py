"""The board on which loads are placed by hand, one after another: room, fires and hands left at each step.

A board belongs to a frame (setpoints by step and shifts called in). It answers what still fits where, keeps what was
placed, and takes it off again. Arrays run over grid steps, those of shelves and cabinets over minutes: pieces come to
rest and to the hold between grid times. Room in hundredths of a space, hands in minutes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from scheduler.model.base import Range, hundredths
from scheduler.model.crew import Skill, TaskKind
from scheduler.solve.frame import Floats, Frame, Ints, accepted
from scheduler.solve.grid import Finish, Grid, Smoke, Stream
from scheduler.solve.hands import Hands, open_hands
from scheduler.solve.pinned import Stay
from scheduler.solve.shift_options import SKILLS
from scheduler.solve.spots import Alike, Spot


@dataclass(frozen=True, slots=True)
class Placed:
    """A load on the board. Steps; `rest` and `hold` index shelves and cabinets, -1 where none is needed."""

    stream: int
    demand: int
    pieces: int
    smoke_spot: int
    finish_spot: int
    load_step: int
    wrap_step: int | None
    rest: int
    hold: int

    @property
    def finish_step(self) -> int:
        """When the uncertain stage starts."""
        return self.load_step if self.wrap_step is None else self.wrap_step


@dataclass(slots=True)
class Board:
    """Loads placed so far and what is left."""

    grid: Grid
    frame: Frame
    free: Ints
    """Room left by spot and step."""
    rest: Ints
    """Room left by shelf and minute."""
    hold: Ints
    """The same by cabinet."""
    hands: Hands
    hot: Ints
    """Loads on each firebox by step."""
    asked: Floats
    """Minutes that the loads ask of the hands, by skill and step."""
    placed: list[Placed] = field(default_factory=list)
    _accepted: dict[tuple[int, frozenset[int]], Ints] = field(default_factory=dict)
    _alike: dict[Alike, Ints] = field(default_factory=dict)

    @property
    def spots(self) -> tuple[Spot, ...]:
        """Every rack and oven."""
        return self.grid.spots

    @staticmethod
    def empty(grid: Grid, frame: Frame) -> Board:
        """A board with nothing on it, its fires' tending already taken from the hands."""
        frame = frame if grid.pinned is None else grid.pinned.frame(grid, frame)
        board = Board(
            grid=grid,
            frame=frame,
            free=_rows([np.where(grid.places[s.place].cap > 0, s.size, 0) for s in grid.spots], grid.steps),
            rest=_rows([np.repeat(s.cap, grid.step_min) for s in grid.rest], grid.steps * grid.step_min),
            hold=_rows([np.repeat(s.cap, grid.step_min) for s in grid.hold], grid.steps * grid.step_min),
            hands=open_hands(grid, frame),
            hot=np.zeros((len(grid.fireboxes), grid.steps), dtype=np.int64),
            asked=np.zeros((len(SKILLS), grid.steps)),
        )
        if grid.pinned is not None:
            grid.pinned.lay(board)
        return board

    @staticmethod
    def holding(grid: Grid, frame: Frame, loads: Iterable[Placed]) -> Board:
        """A board with these loads under a frame; room and hands may go below 0."""
        board = Board.empty(grid, frame)
        for load in loads:
            board.put(load)
        return board

    def under(self, frame: Frame) -> Board:
        """The same loads under another frame; room and hands may go below 0."""
        if self.grid.pinned is not None:
            return Board.holding(self.grid, frame, self.placed)
        hands = open_hands(self.grid, frame)
        for skill, minutes in zip(SKILLS, self.asked, strict=True):
            hands.spend(skill, slice(0, self.grid.steps), minutes)
        return replace(
            self,
            frame=frame,
            free=self.free.copy(),
            rest=self.rest.copy(),
            hold=self.hold.copy(),
            hands=hands,
            hot=self.hot.copy(),
            asked=self.asked.copy(),
            placed=list(self.placed),
            _accepted={},
            _alike={},
        )

    def open_room(self, alike: Alike) -> Ints:
        """Room left at some spots for what they are alike for; none where the fire is not as it should be."""
        if alike not in self._alike:
            pairs = zip(alike.spots.tolist(), alike.levels, strict=True)
            self._alike[alike] = _rows([self.accepted(spot, levels) for spot, levels in pairs], self.grid.steps)
        found: Ints = self.free[alike.spots] * self._alike[alike]
        return found

    def accepted(self, spot: int, levels: frozenset[int]) -> Ints:
        """1 at the steps where the fire of a spot holds one of the setpoints and is not about to leave them."""
        firebox = self.grid.places[self.spots[spot].place].firebox
        if firebox is None:
            return np.ones(self.grid.steps, dtype=np.int64)
        key = firebox, levels
        if key not in self._accepted:
            self._accepted[key] = accepted(self.grid, self.frame, firebox, levels)
        return self._accepted[key]

    def hold_levels(self, levels: tuple[Ints, ...]) -> None:
        """Other setpoints from now on; what is placed stays, and so do the hands."""
        self.frame = self.frame.with_levels(levels)
        self._accepted.clear()
        self._alike.clear()

    def cold_cents(self) -> Floats:
        """Wood of the steps at which each fire carries nothing yet, as running totals; the last row is of ovens."""
        grid = self.grid
        each = grid.scenario.site.wood_cents_per_lb
        cents = [box.wood_lb_per_h * each * grid.step_min / 60 for box in grid.fireboxes]
        total = np.zeros((len(cents) + 1, grid.steps + 1))
        np.cumsum(np.where(self.hot > 0, 0.0, np.array(cents)[:, None]), axis=1, out=total[:-1, 1:])
        return total

    def made(self) -> list[int]:
        """Pieces placed by demand."""
        made = [0] * len(self.grid.demands)
        for load in self.placed:
            made[load.demand] += load.pieces
        for way in self.grid.pinned.ways if self.grid.pinned is not None else ():
            made[way.demand] += way.pieces
        return made

    def put(self, load: Placed) -> None:
        """Place a load; room and hands may go below 0 if the caller did not ask first."""
        self._move(load, 1)
        self.placed.append(load)

    def take(self, load: Placed) -> None:
        """Take a load off again."""
        self.placed.remove(load)
        self._move(load, -1)

    def try_put(self, load: Placed) -> bool:
        """Place a load if its room, its fire and its hands are there; True if they were."""
        return self.fire_suits(load) and self._put_if_sound(load)

    def _put_if_sound(self, load: Placed) -> bool:
        self.put(load)
        if self.sound(load):
            return True
        self.placed.pop()
        self._move(load, -1)
        return False

    def keep(self, loads: list[Placed]) -> None:
        """Of some of the loads that are on the board, those that fit; all others are taken off.

        They are those that would be there if they had been placed one after another on an empty board.
        """
        kept = [load for load in loads if self.fire_suits(load)]
        self._take_all_but(kept)
        doubtful = [load for load in kept if not self.sound(load)] if self._overdrawn() else []
        for load in doubtful:
            self._move(load, -1)
        gone = {id(load) for load in doubtful if not self._put_if_sound(load)}
        self.placed = [load for load in kept if id(load) not in gone]

    def _take_all_but(self, kept: list[Placed]) -> None:
        """`kept` in the order in which they are on the board. ValueError if one of them is not."""
        left = iter([*kept, None])
        now = next(left)
        for load in self.placed:
            if load is now:
                now = next(left)
            else:
                self._move(load, -1)
        if now is not None:
            raise ValueError("a load to be kept is not on the board")
        self.placed = list(kept)

    def _overdrawn(self) -> bool:
        """True if anything is below 0 anywhere."""
        hands = self.hands
        minutes = [*(left for _, left in hands.left), hands.tables, hands.boards]
        rooms = (self.free, self.rest, self.hold)
        return any(room.min(initial=0) < 0 for room in rooms) or any(left.min() < -1e-6 for left in minutes)

    def fire_suits(self, load: Placed) -> bool:
        """The fire holds a setpoint that the load accepts, all along; somebody can pull it."""
        stream, start = self.grid.streams[load.stream], load.finish_step
        pulls = self.pull_steps(load)
        if not self.hands.pit_there[pulls.start : pulls.stop].all():
            return False
        end = start + self.grid.up(self.took(load).late_min)
        finish = finish_at(stream, self.spots[load.finish_spot].place)
        if not self.accepted(load.finish_spot, finish.levels)[start:end].all():
            return False
        if load.wrap_step is None:
            return True
        smoke = smoke_at(stream, self.spots[load.smoke_spot].place)
        return bool(self.accepted(load.smoke_spot, smoke.levels)[load.load_step : start].all())

    def sound(self, load: Placed) -> bool:
        """Nothing below 0 where the load takes room or hands."""
        grid = self.grid
        cooking = slice(load.load_step, load.finish_step + grid.up(self.took(load).late_min))
        if any(self.free[spot][cooking].min() < 0 for spot in {load.smoke_spot, load.finish_spot}):
            return False
        if load.rest >= 0 and self.rest[load.rest][self.rest_minutes(load)].min(initial=0) < 0:
            return False
        if load.hold >= 0 and self.hold[load.hold][self.hold_minutes(load)].min(initial=0) < 0:
            return False
        return all(self.hands.enough(skill, steps) for _, skill, steps, _ in self.work_of(load))

    def _move(self, load: Placed, sign: int) -> None:
        grid = self.grid
        stream = grid.streams[load.stream]
        cut, took = stream.cut, self.took(load)
        n = sign * load.pieces
        start = load.finish_step
        minute = start * grid.step_min
        self.free[load.smoke_spot][load.load_step : start] -= n * hundredths(cut.spaces)
        late = grid.up(minute + took.late_min)
        self.free[load.finish_spot][start:late] -= n * hundredths(cut.spaces)
        for spot, stay in ((load.smoke_spot, slice(load.load_step, start)), (load.finish_spot, slice(start, late))):
            firebox = grid.places[self.spots[spot].place].firebox
            if firebox is not None:
                self.hot[firebox][stay] += sign
        if load.rest >= 0:
            self.rest[load.rest][self.rest_minutes(load)] -= n * hundredths(cut.rest_spaces)
        if load.hold >= 0:
            self.hold[load.hold][self.hold_minutes(load)] -= n * hundredths(cut.hold_spaces)
        for _, skill, steps, minutes in self.work_of(load):
            self.hands.spend(skill, steps, sign * minutes)
            self.asked[SKILLS.index(skill), steps] += sign * minutes

    def work_of(self, load: Placed) -> Iterator[tuple[TaskKind, Skill, slice, float]]:
        """What a load asks of the hands: the skill, the steps and the minutes at each of them."""
        grid, need, n = self.grid, self.grid.streams[load.stream].cut.hands, load.pieces
        yield "load", "pit", slice(load.load_step, load.load_step + 1), n * need.load_min
        if load.wrap_step is not None:
            yield "wrap", "wrap", slice(load.wrap_step, load.wrap_step + 1), n * need.wrap_min
        pulls = self.pull_steps(load)
        yield "pull", "pit", slice(pulls.start, pulls.stop), n * need.pull_min / len(pulls)
        slices = grid.touched(grid.ready_min[load.demand], grid.served_min[load.demand])
        yield "slice", "slice", slice(slices.start, slices.stop), n * need.slice_min / len(slices)

    def took(self, load: Placed) -> Range:
        """The range of a load's uncertain stage."""
        return self.grid.finish_at[load.stream, self.grid.spots[load.finish_spot].place].took

    def stays(self, load: Placed) -> tuple[Stay, ...]:
        """Where a load stands, and the setpoints that it accepts there."""
        stream, spots = self.grid.streams[load.stream], self.spots
        finish = finish_at(stream, spots[load.finish_spot].place)
        late = load.finish_step + self.grid.up(finish.took.late_min)
        last = Stay(load.finish_spot, load.finish_step, late, finish.levels)
        if load.wrap_step is None:
            return (last,)
        smoke = smoke_at(stream, spots[load.smoke_spot].place)
        return Stay(load.smoke_spot, load.load_step, load.finish_step, smoke.levels), last

    def rest_minutes(self, load: Placed) -> slice:
        """Minutes in which a piece of the load may rest: from the early end to the end of the rest after the late."""
        minute, took = load.finish_step * self.grid.step_min, self.took(load)
        return slice(minute + took.early_min, minute + took.late_min + self.grid.streams[load.stream].cut.rest_min)

    def hold_minutes(self, load: Placed) -> slice:
        """Minutes in which a piece of the load may be held: from the early end of the rest until it is served."""
        done = load.finish_step * self.grid.step_min + self.took(load).early_min
        return slice(done + self.grid.streams[load.stream].cut.rest_min, self.grid.served_min[load.demand])

    def pull_steps(self, load: Placed) -> range:
        """Steps over which the load's pulling is spread."""
        took, minute = self.took(load), load.finish_step * self.grid.step_min
        return self.grid.touched(minute + took.early_min, minute + took.late_min)


def _rows(rows: list[Ints], width: int) -> Ints:
    """Rows as one array, also where there are none."""
    return np.array(rows, dtype=np.int64).reshape(len(rows), width)


def smoke_at(stream: Stream, place: int) -> Smoke:
    """The stream's option to smoke at a place; KeyError if it has none."""
    for option in stream.smoke:
        if option.place == place:
            return option
    raise KeyError(place)


def finish_at(stream: Stream, place: int) -> Finish:
    """The stream's option to finish at a place; KeyError if it has none."""
    for option in stream.finish:
        if option.place == place:
            return option
    raise KeyError(place)
