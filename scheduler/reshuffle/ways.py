"""How a load that has begun can go on: stay, be handed over, be wrapped into an oven, go to another wave."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from scheduler.model.base import hundredths
from scheduler.model.menu import Cut, Recipe
from scheduler.model.past import Begun
from scheduler.model.plan import Load
from scheduler.reshuffle.basis import Basis
from scheduler.solve.grid import Stream
from scheduler.solve.pinned import Stay, WayOn, spots_of
from scheduler.trade.carry_on import done_after, heat_factor, window_after
from scheduler.trade.food_safety import TIME_CONTROL_MAX_MIN

SOON_STEPS = 8
"""Steps within which what has to leave a dead smoker is handed over, if hands allow."""
WRAP_CHOICES = 4
FAR_MIN = 10**6
OTHER_WAVE_CENTS = 50.0
"""Worth of a piece staying with its wave, when another is worth about the same."""


@dataclass(frozen=True, slots=True)
class Turn:
    """A choice: handed over to `stop_spot` at a step, wrapped at another, from there on at `end_spot`."""

    stop_step: int | None
    stop_spot: int | None
    wrap_step: int | None
    end_spot: int


@dataclass(frozen=True, slots=True)
class Serves:
    """A wave that a load can be for, and what that is worth for each piece, cents."""

    demand: int
    cents: float
    """Quality lost and moves."""
    late_cents: float
    worth_cents: float


@dataclass(frozen=True, slots=True)
class Option:
    """A choice of place and time, what it means, and the waves it can serve."""

    turn: Turn
    spread: tuple[int, int, int]
    stays: tuple[Stay, ...]
    serves: tuple[Serves, ...]


class Ways:
    """The ways on of one load."""

    def __init__(self, basis: Basis, begun: Begun) -> None:
        self.basis = basis
        self.begun = begun
        self.grid = basis.grid
        self.cut: Cut = basis.state.scenario.menu.cut(begun.cut)
        self.recipe: Recipe = self.cut.recipe(begun.recipe)
        self.weight = basis.state.scenario.weight_lb(self.cut)
        self.here = basis.spot(begun.spot)
        self.stream: Stream | None = next(
            (s for s in basis.grid.streams if (s.cut.name, s.recipe.name) == (begun.cut, begun.recipe)), None
        )
        self.planned: Load | None = next((x for x in basis.state.plan.loads if x.code == begun.code), None)
        self.place_of = spots_of(basis.grid)
        self.own = basis.grid.demand_of.get((begun.cut, begun.wave))
        self._known_levels: dict[tuple[int, bool], frozenset[int] | None] = {}

    @cached_property
    def usual(self) -> Turn | None:
        """What the old plan has for it; None where that cannot be."""
        return self._as_planned()

    @cached_property
    def options(self) -> tuple[Option, ...]:
        """All choices of place and time with the waves that each can serve."""
        found = dict.fromkeys([*self._turns(), *([self.usual] if self.usual is not None else [])])
        return tuple(option for turn in found if (option := self.option(turn)) is not None)

    def option(self, turn: Turn) -> Option | None:
        """One choice; None if it cannot be."""
        spread = self.spread(turn)
        stays = self.stays(turn, spread[2])
        if stays is None or self.stream is None:
            return None
        return Option(turn, spread, stays, tuple(self._demands(turn, spread)))

    # choices of place and time -----------------------------------------------------------------------------------

    def _as_planned(self) -> Turn | None:
        if self.here is None:
            return None
        if self.begun.done:
            return Turn(None, None, None, self.here)
        if self.begun.dead_min is not None or self.planned is None:
            return None
        if not self.begun.waits_for_wrap:
            return Turn(None, None, None, self.here)
        wrap = self._nearest_wrap(None)
        spot = self.grid.spot_of.get((self.planned.finish_place, self.planned.finish_rack))
        return None if wrap is None or spot is None else Turn(None, None, wrap, spot)

    def _turns(self) -> Iterator[Turn]:
        """All choices worth a look."""
        if self.here is None or self.begun.done:
            return
        if self.begun.dead_min is None:
            yield from self._wraps(None, None, self.here)
            if not self.begun.waits_for_wrap:
                yield Turn(None, None, None, self.here)
            if self.stays_hot():
                return
        step, last = self.basis.step, self.grid.down(self.begun.leave_by_min or FAR_MIN)
        soon = [k for k in range(step, step + SOON_STEPS) if k <= last]
        for stop in soon:
            for spot in self._other_spots():
                if self.begun.waits_for_wrap:
                    yield from self._wraps(stop, spot, spot)
                else:
                    yield Turn(stop, spot, None, spot)
        yield from self._out_by_wrap(soon)
        yield from self._waits_for_fire(last)

    def stays_hot(self) -> bool:
        """True if the fire under it can be kept as long as it may need it."""
        assert self.here is not None
        firebox = self.grid.places[self._place(self.here)].firebox
        if firebox is None:
            return True
        late = self.begun.spread[2]
        if self.begun.waits_for_wrap:
            late += max((self.begun.window or (0, 0))[1], self.basis.state.from_min)
        burns = self.basis.can_burn[firebox][max(self.basis.step, self.basis.pinned.helped) : self.grid.up(late)]
        return bool(burns.all())

    def _other_spots(self) -> Iterator[int]:
        """Racks that take it unwrapped, or any that takes it wrapped, but for where it is."""
        wrapped = self.begun.wrap_min is not None
        for (_, rack), spot in self.grid.spot_of.items():
            is_oven = rack is None
            if spot != self.here and self._levels(spot, wrapped) is not None and (wrapped or not is_oven):
                yield spot

    def _wraps(self, stop: int | None, stop_spot: int | None, smoke: int) -> Iterator[Turn]:
        """The wraps still to come: on the same rack, or into an oven."""
        if not self.begun.waits_for_wrap:
            return
        ends = [smoke]
        ends += [s for (_, rack), s in self.grid.spot_of.items() if rack is None and self._levels(s, True) is not None]
        for wrap in self._wrap_steps(stop):
            for end in ends:
                if self._levels(end, True) is not None:
                    yield Turn(stop, stop_spot, wrap, end)

    def _out_by_wrap(self, soon: list[int]) -> Iterator[Turn]:
        """Wrapped at once, and on to a place with heat."""
        window = window_after(self.begun, None)
        if window is None:
            return
        for wrap in soon:
            if window[0] <= wrap * self.grid.step_min <= window[1]:
                for (place, _), spot in self.grid.spot_of.items():
                    if place != self.begun.spot.place and self._levels(spot, True) is not None:
                        yield Turn(None, None, wrap, spot)

    def _waits_for_fire(self, last: int) -> Iterator[Turn]:
        """It stays where it is until the fire is back, if that is in time."""
        assert self.here is not None
        if self.grid.places[self._place(self.here)].firebox is None or self.begun.dead_min is None:
            return
        burns = self.basis.can_burn[self._firebox(self.here)]
        back = next((k for k in range(self.basis.step, min(last + 1, self.grid.steps)) if burns[k]), None)
        if back is None or not self.grid.places[self._place(self.here)].cap[back:].all():
            return
        if self.begun.waits_for_wrap:
            yield from self._wraps(back, self.here, self.here)
        else:
            yield Turn(back, self.here, None, self.here)

    def _wrap_steps(self, stop: int | None) -> list[int]:
        """Steps of the window that are left: the planned one, the ends, and some between."""
        first, last = self._window_steps(stop)
        if first > last:
            return []
        near = self._nearest_wrap(stop)
        every = max(1, (last - first) // WRAP_CHOICES)
        return list(dict.fromkeys([*([near] if near is not None else []), *range(first, last + 1, every), last]))

    def _window_steps(self, stop: int | None) -> tuple[int, int]:
        minute = None if stop is None else stop * self.grid.step_min
        window = window_after(self.begun, minute)
        assert window is not None
        earliest = self.basis.step if stop is None else stop + 1
        return max(earliest, self.grid.up(window[0])), self.grid.down(window[1])

    def _nearest_wrap(self, stop: int | None) -> int | None:
        """The step of the window nearest to the planned wrap."""
        first, last = self._window_steps(stop)
        if self.planned is None or self.planned.wrap_at is None or first > last:
            return None
        return min(max(self.grid.down(self.grid.minute(self.planned.wrap_at)), first), last)

    # what a choice means -----------------------------------------------------------------------------------------

    def _place(self, spot: int) -> int:
        return self.place_of[spot]

    def _firebox(self, spot: int) -> int:
        firebox = self.grid.places[self._place(spot)].firebox
        assert firebox is not None
        return firebox

    def _levels(self, spot: int, wrapped: bool) -> frozenset[int] | None:
        """Setpoints at which it accepts a spot (none to hold for an oven); None if it does not accept it."""
        if (spot, wrapped) not in self._known_levels:
            self._known_levels[spot, wrapped] = self._accepts(spot, wrapped)
        return self._known_levels[spot, wrapped]

    def _accepts(self, spot: int, wrapped: bool) -> frozenset[int] | None:
        place = self.grid.places[self._place(spot)]
        if not place.takes(self.cut):
            return None
        low, high = self.recipe.finish_band_f if wrapped else (self.recipe.low_f, self.recipe.high_f)
        if place.firebox is None:
            good = wrapped and self.recipe.oven_ok and place.oven_f is not None and low <= place.oven_f <= high
            return frozenset() if good else None
        setpoints = self.grid.fireboxes[place.firebox].setpoints_f
        levels = frozenset(f for f in setpoints if low <= f + place.offset_f <= high)
        return levels or None

    def spread(self, turn: Turn) -> tuple[int, int, int]:
        """Early, likely and late minute."""
        g = self.grid.step_min
        assert self.here is not None
        factor = heat_factor(self.recipe, self.weight, self.basis.offsets[self.here], self.basis.offsets[turn.end_spot])
        wrap = None if turn.wrap_step is None else turn.wrap_step * g
        stop = None if turn.stop_step is None else turn.stop_step * g
        return done_after(self.begun, factor, wrap, stop)

    def stays(self, turn: Turn, late_min: int) -> tuple[Stay, ...] | None:
        """Where it is from now on; None if somewhere it cannot be."""
        if self.begun.done:
            return ()
        assert self.here is not None
        step, end = self.basis.step, min(self.grid.up(late_min), self.grid.steps)
        wrapped = self.begun.wrap_min is not None
        points: list[tuple[int, int, bool]] = []
        if self.begun.dead_min is None:
            points.append((step, self.here, wrapped))
        if turn.stop_step is not None and turn.stop_spot is not None:
            points.append((turn.stop_step, turn.stop_spot, wrapped))
        if turn.wrap_step is not None:
            points.append((turn.wrap_step, turn.end_spot, True))
        found = []
        for i, (first, spot, is_wrapped) in enumerate(points):
            last = points[i + 1][0] if i + 1 < len(points) else end
            levels = self._levels(spot, is_wrapped)
            if levels is None and spot != self.here:
                return None
            if first < last:
                found.append(Stay(spot, first, last, levels or frozenset(self._any_level(spot))))
        return tuple(found)

    def _any_level(self, spot: int) -> tuple[int, ...]:
        """A load that is on a rack although it should not be there goes on at whatever burns."""
        firebox = self.grid.places[self._place(spot)].firebox
        return () if firebox is None else self.grid.fireboxes[firebox].setpoints_f

    def way(self, option: Option, serves: Serves, pieces: int, rest: int, hold: int) -> WayOn:
        """A choice for some pieces and a wave."""
        assert self.stream is not None
        early, likely, late = option.spread
        return WayOn(
            code=self.begun.code,
            pieces=pieces,
            stream=self.stream.index,
            demand=serves.demand,
            stays=option.stays,
            stop_step=option.turn.stop_step,
            wrap_step=option.turn.wrap_step,
            early_min=early,
            likely_min=likely,
            late_min=late,
            rest=rest,
            hold=hold,
            cents=pieces * serves.cents,
            late_cents=pieces * serves.late_cents,
        )

    def _demands(self, turn: Turn, spread: tuple[int, int, int]) -> list[Serves]:
        """Waves it can serve, the best first: its own, then those it costs least to be for."""
        early, _, late = spread
        grid, cut = self.grid, self.cut
        found = []
        for (name, _), d in self.grid.demand_of.items():
            ready, served = late + cut.rest_min, grid.served_min[d]
            held = served - (early + cut.rest_min)
            stands = cut.hold_spaces == 0 and cut.family != "fat" and served - early > TIME_CONTROL_MAX_MIN
            if name == cut.name and ready < served and held <= cut.hold_max_min and not stands:
                lost = self.late_each_cents(d, late)
                each = self.each_cents(turn, d, early)
                worth = grid.short_cents(d) - lost - each - OTHER_WAVE_CENTS * (d != self.own)
                found.append(Serves(d, each, lost, worth))
        return sorted(found, key=lambda serves: (-serves.worth_cents, serves.demand))

    def each_cents(self, turn: Turn, demand: int, early: int) -> float:
        """Quality lost in the hold and the price of moves, for one piece."""
        cut, grid = self.cut, self.grid
        held = max(0, grid.ready_min[demand] - early - cut.rest_min - cut.hold_free_min)
        return cut.hold_loss_cents_per_h * held / 60 + cut.move_cents * self.moves(turn)

    def moves(self, turn: Turn) -> int:
        """Hand-overs that cost, those of the past included, as the audit counts them."""
        moved = len(self.begun.stops) + (turn.stop_step is not None)
        if self.begun.finish is not None:
            return moved + (self.begun.finish.place != self.begun.first.place)
        if turn.wrap_step is not None:
            end = self.grid.places[self._place(turn.end_spot)].name
            return moved + (end != self.begun.first.place)
        return moved

    def late_each_cents(self, demand: int, late: int) -> float:
        """Margin of the share of the serving that is over before it is ready, for one piece."""
        grid = self.grid
        ready, served = grid.ready_min[demand], grid.served_min[demand]
        behind = min(max(0, late + self.cut.rest_min - ready), served - ready)
        return grid.short_cents(demand) * behind / max(1, served - ready)

    @property
    def size(self) -> int:
        """Room of a piece on a rack, hundredths of a space."""
        return hundredths(self.cut.spaces)
