"""The board on which loads are placed by hand, one after another: room, fires and hands left at each step.

A board belongs to a frame (setpoints by step and shifts called in). It answers what still fits where, keeps what was placed,
and takes it off again. All arrays run over grid steps; room in hundredths of a space, hands in minutes.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from scheduler.model.base import Range, hundredths
from scheduler.model.crew import Skill
from scheduler.model.site import Firebox
from scheduler.solve.extract import Burn
from scheduler.solve.grid import SKILLS, Finish, Grid, ShiftOption, Smoke, Stream

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Spot:
    """One rack or oven."""

    place: int
    rack: str | None
    size: int


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


@dataclass(frozen=True, slots=True)
class Frame:
    """What loads are placed into: setpoint by firebox and step (0 where it can't cook), and the shifts called in."""

    levels: tuple[Ints, ...]
    shifts: tuple[ShiftOption, ...]
    spared: tuple[tuple[int, float], ...] = ()
    """Minutes of hands left free at a step, because its work could not be shared out whole."""

    def with_shifts(self, shifts: tuple[ShiftOption, ...]) -> Frame:
        """The same with other shifts."""
        return Frame(self.levels, shifts, self.spared)

    def with_levels(self, levels: tuple[Ints, ...]) -> Frame:
        """The same with other setpoints."""
        return Frame(levels, self.shifts, self.spared)


    def burns(self, grid: Grid) -> tuple[Burn, ...]:
        """The burns that hold these setpoints, each with its warm-up before."""
        return tuple(
            burn
            for firebox, levels in enumerate(self.levels)
            for burn in burns_of(firebox, levels, grid.up(grid.fireboxes[firebox].warm_up_min))
        )


def burns_of(firebox: int, levels: Ints, warm: int) -> list[Burn]:
    """Runs of steps with a setpoint as burns, lit `warm` steps before."""
    found: list[Burn] = []
    steps = np.flatnonzero(levels)
    for run in np.split(steps, np.flatnonzero(np.diff(steps) > 1) + 1):
        if len(run):
            changes = [int(k) for k in run if k == run[0] or levels[k] != levels[k - 1]]
            found.append(
                Burn(firebox, int(run[0]) - warm, int(run[-1]) + 1, tuple((k, int(levels[k])) for k in changes))
            )
    return found


def _accepted(grid: Grid, frame: Frame, firebox: int, levels: frozenset[int]) -> Ints:
    """1 where a fire holds one of the setpoints and is not about to change to another."""
    held = frame.levels[firebox]
    fine = np.isin(held, list(levels))
    changing = fine.copy()
    coming = fine | (held == 0)
    for ahead in range(1, grid.up(grid.fireboxes[firebox].setpoint_change_min) + 1):
        changing[:-ahead] &= coming[ahead:]
    return changing.astype(np.int64)


def _fire_work(grid: Grid, burn: Burn, hands: Hands, *, again: bool) -> None:
    box = grid.fireboxes[burn.firebox]
    hands.spend("fire", max(0, burn.lit), float(box.light_min))
    lit = slice(max(0, burn.lit), burn.out)
    average = box.tend_min * grid.step_min / box.tend_every_min
    hands.spend("fire", lit, average)
    # A round falls into one step whole: what it takes there beyond the average and a person's slack is taken too.
    give = grid.step_min * grid.scenario.crew.hand_minutes_per_h / 60
    lump = box.tend_min - average - (grid.step_min - give) + 1
    if lump > 0:
        for due in range(burn.lit * grid.step_min + box.tend_every_min, burn.out * grid.step_min, box.tend_every_min):
            if grid.up(due) < grid.steps:
                hands.spend("fire", grid.up(due), lump)
    clean = grid.up(box.clean_out_min)
    if again and clean:
        hands.spend("fire", slice(max(0, burn.lit - clean), burn.lit), clean_min_per_step(grid, box))


def clean_min_per_step(grid: Grid, box: Firebox) -> float:
    """Hand-minutes of a clean-out in each of its steps: one person's whole attention, at the crew's pace."""
    return box.clean_out_min * grid.scenario.crew.hand_minutes_per_h / 60 / grid.up(box.clean_out_min)


@dataclass(slots=True)
class Hands:
    """Minutes left by set of skills (Hall's condition), at wrap tables and at cutting boards."""

    left: list[tuple[frozenset[Skill], Floats]]
    tables: Floats
    boards: Floats
    pit_there: NDArray[np.bool_]
    """Somebody who can pull is on shift."""

    def spend(self, skill: Skill, steps: slice | int, minutes: float) -> None:
        """Take minutes of a skill at each of the steps; negative gives them back."""
        for skills, left in self.left:
            if skill in skills:
                left[steps] -= minutes
        if skill == "wrap":
            self.tables[steps] -= minutes
        if skill == "slice":
            self.boards[steps] -= minutes

    def enough(self, skill: Skill, steps: slice) -> bool:
        """True if no minutes of a skill are overspent at the steps."""
        stations = {"wrap": self.tables, "slice": self.boards}.get(skill)
        if stations is not None and stations[steps].min() < -1e-6:
            return False
        return all(left[steps].min() >= -1e-6 for skills, left in self.left if skill in skills)

    def least(self, skill: Skill) -> Floats:
        """Minutes left of a skill at each step, whatever set of skills binds."""
        left = [minutes for skills, minutes in self.left if skill in skills]
        if skill == "wrap":
            left.append(self.tables)
        if skill == "slice":
            left.append(self.boards)
        least: Floats = np.minimum.reduce(left)
        return least


def people_with(grid: Grid, shifts: tuple[ShiftOption, ...], skills: frozenset[Skill]) -> Floats:
    """People on shift with any of the skills, by step; nobody counts twice, even where shifts to choose from overlap."""
    there: dict[str, NDArray[np.bool_]] = {}
    for option in shifts:
        if option.skills & skills:
            mine = there.setdefault(option.person.name, np.zeros(grid.steps, dtype=np.bool_))
            mine[grid.up(option.start_min) : grid.down(option.end_min)] = True
    return np.sum(list(there.values()), axis=0, dtype=np.float64) if there else np.zeros(grid.steps)


def open_hands(grid: Grid, frame: Frame) -> Hands:
    """Minutes that the shifts of a frame give, less the counter's, the fires' and those spared."""
    shifts = frame.shifts
    crew, site = grid.scenario.crew, grid.scenario.site
    give = grid.step_min * crew.hand_minutes_per_h / 60
    left = [(skills, give * people_with(grid, shifts, skills)) for skills in grid.skill_sets]
    pit = people_with(grid, shifts, frozenset({"pit"})) > 0
    hands = Hands(
        left,
        np.full(grid.steps, float(site.wrap_tables * grid.step_min)),
        np.full(grid.steps, float(site.cutting_boards * grid.step_min)),
        pit,
    )
    weekend = grid.scenario.weekend
    for day in weekend.days:
        steps = grid.touched(grid.minute(weekend.local(day.opens)), grid.minute(weekend.local(day.closes)))
        hands.spend("counter", slice(steps.start, steps.stop), day.counter_hands * give)
    burnt: set[int] = set()
    for burn in frame.burns(grid):
        _fire_work(grid, burn, hands, again=burn.firebox in burnt)
        burnt.add(burn.firebox)
    for step, minutes in frame.spared:
        for skill in SKILLS:
            hands.spend(skill, step, minutes / len(SKILLS))
    return hands


@dataclass(slots=True)
class Board:
    """Loads placed so far and what is left."""

    grid: Grid
    frame: Frame
    spots: tuple[Spot, ...]
    free: list[Ints]
    """Room left by spot."""
    rest: list[Ints]
    hold: list[Ints]
    hands: Hands
    hot: list[Ints]
    """Loads on each firebox by step."""
    placed: list[Placed] = field(default_factory=list)
    _accepted: dict[tuple[int, frozenset[int]], Ints] = field(default_factory=dict)

    @staticmethod
    def empty(grid: Grid, frame: Frame) -> Board:
        """A board with nothing on it, its fires' tending already taken from the hands."""
        spots = tuple(Spot(p.index, b.name, b.size) for p in grid.places for b in p.bins)
        free = [np.where(grid.places[spot.place].cap > 0, spot.size, 0).astype(np.int64) for spot in spots]
        hands = open_hands(grid, frame)
        return Board(
            grid=grid,
            frame=frame,
            spots=spots,
            free=free,
            rest=[s.cap.copy() for s in grid.rest],
            hold=[s.cap.copy() for s in grid.hold],
            hands=hands,
            hot=[np.zeros(grid.steps, dtype=np.int64) for _ in grid.fireboxes],
        )

    def open_room(self, spot: int, levels: frozenset[int]) -> Ints:
        """Room left at a spot for what accepts only some setpoints; none where another is held or coming."""
        return self.free[spot] * self.accepted(spot, levels)

    def accepted(self, spot: int, levels: frozenset[int]) -> Ints:
        """1 at the steps where the fire of a spot holds one of the setpoints and is not about to leave them."""
        firebox = self.grid.places[self.spots[spot].place].firebox
        if firebox is None:
            return np.ones(self.grid.steps, dtype=np.int64)
        key = firebox, levels
        if key not in self._accepted:
            self._accepted[key] = _accepted(self.grid, self.frame, firebox, levels)
        return self._accepted[key]

    def cold_cents(self, spot: int) -> Floats:
        """Wood of the steps at which the fire of a spot carries nothing yet, as a running total from the start."""
        firebox = self.grid.places[self.spots[spot].place].firebox
        total = np.zeros(self.grid.steps + 1)
        if firebox is not None:
            box = self.grid.fireboxes[firebox]
            cents = box.wood_lb_per_h * self.grid.scenario.site.wood_cents_per_lb * self.grid.step_min / 60
            np.cumsum(np.where(self.hot[firebox] > 0, 0.0, cents), out=total[1:])
        return total

    def made(self) -> list[int]:
        """Pieces placed by demand."""
        made = [0] * len(self.grid.demands)
        for load in self.placed:
            made[load.demand] += load.pieces
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
        if not self._fire_suits(load):
            return False
        self.put(load)
        if self._sound(load):
            return True
        self.placed.pop()
        self._move(load, -1)
        return False

    def _fire_suits(self, load: Placed) -> bool:
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

    def _sound(self, load: Placed) -> bool:
        """Nothing below 0 where the load takes room or hands."""
        grid, hands = self.grid, self.hands
        first, last = load.load_step, grid.up(grid.served_min[load.demand])
        rooms = [self.free[load.smoke_spot], self.free[load.finish_spot]]
        rooms += [self.rest[load.rest]] if load.rest >= 0 else []
        rooms += [self.hold[load.hold]] if load.hold >= 0 else []
        if any(room[first:last].min() < 0 for room in rooms):
            return False
        pulls = self.pull_steps(load)
        slices = grid.touched(grid.ready_min[load.demand], grid.served_min[load.demand])
        spent: list[tuple[Skill, slice]] = [
            ("pit", slice(load.load_step, load.load_step + 1)),
            ("pit", slice(pulls.start, pulls.stop)),
            ("slice", slice(slices.start, slices.stop)),
        ]
        if load.wrap_step is not None:
            spent.append(("wrap", slice(load.wrap_step, load.wrap_step + 1)))
        return all(hands.enough(skill, steps) for skill, steps in spent)

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
            rest = slice(grid.down(minute + took.early_min), grid.up(minute + took.late_min + cut.rest_min))
            self.rest[load.rest][rest] -= n * hundredths(cut.rest_spaces)
        if load.hold >= 0:
            held = slice(grid.down(minute + took.early_min + cut.rest_min), grid.up(grid.served_min[load.demand]))
            self.hold[load.hold][held] -= n * hundredths(cut.hold_spaces)
        self._work(load, stream, n)

    def _work(self, load: Placed, stream: Stream, n: int) -> None:
        grid, hands, need = self.grid, self.hands, stream.cut.hands
        hands.spend("pit", load.load_step, n * need.load_min)
        if load.wrap_step is not None:
            hands.spend("wrap", load.wrap_step, n * need.wrap_min)
        pulls = self.pull_steps(load)
        hands.spend("pit", slice(pulls.start, pulls.stop), n * need.pull_min / len(pulls))
        slices = grid.touched(grid.ready_min[load.demand], grid.served_min[load.demand])
        hands.spend("slice", slice(slices.start, slices.stop), n * need.slice_min / len(slices))

    def took(self, load: Placed) -> Range:
        """The range of a load's uncertain stage."""
        return finish_at(self.grid.streams[load.stream], self.spots[load.finish_spot].place).took

    def pull_steps(self, load: Placed) -> range:
        """Steps over which the load's pulling is spread."""
        took, minute = self.took(load), load.finish_step * self.grid.step_min
        return self.grid.touched(minute + took.early_min, minute + took.late_min)


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
