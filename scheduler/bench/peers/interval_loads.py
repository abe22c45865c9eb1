"""One load of the interval model: where it smokes, finishes, rests and is held, and what that costs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from ortools.sat.python import cp_model

from scheduler.bench.peers.interval_staff import Staff
from scheduler.bench.peers.loads import Portion
from scheduler.model.base import hundredths
from scheduler.solve.board import Board, Placed
from scheduler.solve.grid import Finish, Stream

CENT = 60
"""Money is counted in sixtieths of a cent, as wages are."""

Stay = tuple[cp_model.IntVar, cp_model.LinearExprT, frozenset[int], cp_model.IntVar, int]
"""From, to (steps), setpoints that it accepts, whether it is so, and the firebox."""


class Rooms:
    """What takes room on each rack, shelf and cabinet."""

    def __init__(self, model: cp_model.CpModel, bare: Board) -> None:
        self._model = model
        self._sizes: dict[tuple[str, int], int] = {}
        self._taken: dict[tuple[str, int], list[tuple[cp_model.IntervalVar, int]]] = {}
        rooms = (("spot", bare.free), ("rest", bare.rest), ("hold", bare.hold))
        for kind, arrays in rooms:
            for i, room in enumerate(arrays):
                self._sizes[kind, i] = int(room.max(initial=0))
                self._taken[kind, i] = []

    def take(
        self,
        where: tuple[str, int],
        start: cp_model.LinearExprT,
        end: cp_model.LinearExprT,
        used: cp_model.IntVar,
        size: int,
    ) -> None:
        """Room between two times, if so chosen."""
        length = self._model.new_int_var(0, 7 * 24 * 60, "")
        interval = self._model.new_optional_interval_var(start, length, end, used, "")
        self._taken[where].append((interval, size))

    def close(self) -> None:
        """No place holds more than it has."""
        for where, taken in self._taken.items():
            if taken:
                self._model.add_cumulative([i for i, _ in taken], [size for _, size in taken], self._sizes[where])


@dataclass(slots=True)
class Chain:
    """A load and its choices."""

    portion: Portion
    load: cp_model.IntVar
    wrap: cp_model.IntVar
    """When its uncertain stage starts."""
    smokes: dict[tuple[int, int], cp_model.IntVar] = field(default_factory=dict)
    """By stream and spot."""
    finishes: dict[tuple[int, int], cp_model.IntVar] = field(default_factory=dict)
    rests: dict[int, cp_model.IntVar] = field(default_factory=dict)
    holds: dict[int, cp_model.IntVar] = field(default_factory=dict)
    stays: list[Stay] = field(default_factory=list)
    cost: list[cp_model.LinearExprT] = field(default_factory=list)

    def placed(self, solver: cp_model.CpSolver) -> Placed | None:
        """The load in a solution; None if it is short."""
        finish = _chosen(solver, self.finishes)
        if finish is None:
            return None
        smoke = _chosen(solver, self.smokes)
        stream, spot = finish
        return Placed(
            stream=stream,
            demand=self.portion.demand,
            pieces=self.portion.pieces,
            smoke_spot=spot if smoke is None else smoke[1],
            finish_spot=spot,
            load_step=solver.value(self.load),
            wrap_step=None if smoke is None else solver.value(self.wrap),
            rest=_index(solver, self.rests),
            hold=_index(solver, self.holds),
        )


def _chosen(solver: cp_model.CpSolver, some: dict[tuple[int, int], cp_model.IntVar]) -> tuple[int, int] | None:
    return next((key for key, var in some.items() if solver.value(var)), None)


def _index(solver: cp_model.CpSolver, some: dict[int, cp_model.IntVar]) -> int:
    return next((key for key, var in some.items() if solver.value(var)), -1)


def chain(model: cp_model.CpModel, bare: Board, portion: Portion, rooms: Rooms, staff: Staff) -> Chain:
    """The intervals of one load, and all that they take."""
    return _Maker(model, bare, portion, rooms, staff).chain


class _Maker:
    def __init__(self, model: cp_model.CpModel, bare: Board, portion: Portion, rooms: Rooms, staff: Staff) -> None:
        self.model, self.bare, self.grid = model, bare, bare.grid
        self.portion, self.rooms, self.staff = portion, rooms, staff
        self.cut = self.grid.cut_of(portion.demand)
        steps = self.grid.steps
        self.chain = Chain(portion, model.new_int_var(0, steps, ""), model.new_int_var(0, steps, ""))
        self.there = model.new_bool_var("")
        self.early = model.new_int_var(0, steps * self.grid.step_min, "")
        self.late = model.new_int_var(0, 2 * steps * self.grid.step_min, "")
        streams = [stream for stream in self.grid.streams if stream.cut.name == self.cut.name]
        by_stream = [self._by(stream) for stream in streams]
        model.add_exactly_one([*by_stream, self.there.negated()])
        self._moves()
        self._after()
        self._before_waves()

    def _spots(self, place: int) -> Iterable[int]:
        size = hundredths(self.cut.spaces) * self.portion.pieces
        return [i for i, spot in enumerate(self.bare.spots) if spot.place == place and spot.size >= size]

    def _by(self, stream: Stream) -> cp_model.IntVar:
        """By one recipe, or not."""
        model, made, grid = self.model, self.chain, self.grid
        chosen = model.new_bool_var("")
        finishes = []
        for option in stream.finish:
            for spot in self._spots(option.place):
                on = model.new_bool_var("")
                made.finishes[stream.index, spot] = on
                finishes.append(on)
                self._finish(option, spot, on)
        model.add_exactly_one([*finishes, chosen.negated()])
        if not stream.recipe.wrapped:
            model.add(made.load == made.wrap).only_enforce_if(chosen)
            return chosen
        smokes = []
        for smoke in stream.smoke:
            for spot in self._spots(smoke.place):
                on = model.new_bool_var("")
                made.smokes[stream.index, spot] = on
                smokes.append(on)
                first, last = grid.up(smoke.wrap_from_min), grid.down(smoke.wrap_to_min)
                model.add(made.wrap >= made.load + first).only_enforce_if(on)
                model.add(made.wrap <= made.load + last).only_enforce_if(on)
                self._stay(smoke.place, spot, smoke.levels, made.load, made.wrap, on)
        model.add_exactly_one([*smokes, chosen.negated()])
        self.staff.work("wrap", made.wrap, 1, chosen, self.portion.pieces * self.cut.hands.wrap_min)
        return chosen

    def _stay(
        self,
        place: int,
        spot: int,
        levels: frozenset[int],
        first: cp_model.IntVar,
        last: cp_model.LinearExprT,
        on: cp_model.IntVar,
    ) -> None:
        size = hundredths(self.cut.spaces) * self.portion.pieces
        self.rooms.take(("spot", spot), first, last, on, size)
        firebox = self.grid.places[place].firebox
        if firebox is not None:
            self.chain.stays.append((first, last, levels, on, firebox))

    def _finish(self, option: Finish, spot: int, on: cp_model.IntVar) -> None:
        grid, model, wrap = self.grid, self.model, self.chain.wrap
        took = option.took
        self._stay(option.place, spot, option.levels, wrap, wrap + grid.up(took.late_min), on)
        model.add(self.early == wrap * grid.step_min + took.early_min).only_enforce_if(on)
        model.add(self.late == wrap * grid.step_min + took.late_min).only_enforce_if(on)
        pulls = grid.touched(took.early_min, took.late_min)
        minutes = self.portion.pieces * self.cut.hands.pull_min
        self.staff.work("pit", wrap + pulls.start, len(pulls), on, minutes)

    def _moves(self) -> None:
        """What handing it to another smoker or an oven costs."""
        names: dict[str, tuple[list[cp_model.IntVar], list[cp_model.IntVar]]] = {}
        for side, some in enumerate((self.chain.smokes, self.chain.finishes)):
            for (_, spot), on in some.items():
                name = self.grid.places[self.bare.spots[spot].place].name
                names.setdefault(name, ([], []))[side].append(on)
        moved = self.model.new_bool_var("")
        for begins, ends in names.values():
            if begins:
                self.model.add(moved >= sum(begins) - sum(ends))
        self.chain.cost.append(CENT * self.cut.move_cents * self.portion.pieces * moved)

    def _after(self) -> None:
        cut, made, n = self.cut, self.chain, self.portion.pieces
        served = self.grid.served_min[self.portion.demand]
        for kind, spaces, some, places, first, last in (
            ("rest", cut.rest_spaces, made.rests, range(len(self.grid.rest)), self.early, self.late + cut.rest_min),
            ("hold", cut.hold_spaces, made.holds, self.grid.cabinets_for(cut), self.early + cut.rest_min, served),
        ):
            if not spaces:
                continue
            for i in places:
                some[i] = self.model.new_bool_var("")
                self.rooms.take((kind, i), first, last, some[i], hundredths(spaces) * n)
            self.model.add_exactly_one([*some.values(), self.there.negated()])

    def _before_waves(self) -> None:
        """Ready by its wave, not held too long; shorts, quality, loading and slicing."""
        grid, model, cut, n, d = self.grid, self.model, self.cut, self.portion.pieces, self.portion.demand
        ready, served = grid.ready_min[d], grid.served_min[d]
        model.add(self.late + cut.rest_min <= ready).only_enforce_if(self.there)
        model.add(served - self.early - cut.rest_min <= cut.hold_max_min).only_enforce_if(self.there)
        self.chain.cost.append(CENT * grid.short_cents(d) * n * self.there.negated())
        held = model.new_int_var(0, 7 * 24 * 60, "")
        model.add(held >= ready - self.early - cut.rest_min - cut.hold_free_min).only_enforce_if(self.there)
        self.chain.cost.append(n * cut.hold_loss_cents_per_h * held)
        self.staff.work("pit", self.chain.load, 1, self.there, n * cut.hands.load_min)
        slices = grid.touched(ready, served)
        self.staff.work("slice", slices.start, len(slices), self.there, n * cut.hands.slice_min)
