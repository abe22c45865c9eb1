"""The weekend on a time grid: steps, places, ways to cook, shifts that can be called in. Pure data for the solver.

Instructions (load, wrap, light, out) fall on grid steps; stage times stay exact minutes, and whatever touches a step
takes it whole. So a plan on the grid keeps every rule to the minute.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from math import ceil
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from scheduler.model.base import Range, hundredths
from scheduler.model.crew import Skill
from scheduler.model.menu import Cut, Recipe
from scheduler.model.scenario import Scenario
from scheduler.model.site import Firebox
from scheduler.model.weekend import Demand
from scheduler.solve.fire_rounds import round_extra_min
from scheduler.solve.shift_options import ShiftOption, shift_options, skill_sets
from scheduler.solve.spots import Spot, Ways, spots_of, ways_of
from scheduler.trade.come_up import slow_come_up
from scheduler.trade.stage import finish_range, wrap_window_min

if TYPE_CHECKING:
    from scheduler.solve.pinned import Pinned

Capacity = NDArray[np.int64]
"""Hundredths of a space, one for each step."""


@dataclass(frozen=True, slots=True)
class Bin:
    """One rack, oven, rest shelf or holding cabinet."""

    name: str | None
    """Rack name; None for an oven, whose name is that of the place."""
    size: int
    """Hundredths of a space."""


@dataclass(frozen=True, slots=True)
class Place:
    """Racks of one smoker that are alike (same offset, same cuts), or an oven."""

    index: int
    name: str
    firebox: int | None
    """Index of the firebox that heats it; None for an oven."""
    offset_f: int
    oven_f: int | None
    bins: tuple[Bin, ...]
    fits: frozenset[str]
    cap: Capacity

    def takes(self, cut: Cut) -> bool:
        """True if pieces of the cut fit on at least one of its bins."""
        return (not self.fits or cut.name in self.fits) and any(hundredths(cut.spaces) <= b.size for b in self.bins)

    def pieces_cap(self, cut: Cut) -> int:
        """Most pieces of that cut alone, bin by bin."""
        return sum(b.size // hundredths(cut.spaces) for b in self.bins)


@dataclass(frozen=True, slots=True)
class Shelf:
    """A rest shelf or a holding cabinet."""

    name: str
    hold_f: int | None
    size: int
    cap: Capacity


@dataclass(frozen=True, slots=True)
class Smoke:
    """Smoking before the wrap, at one place."""

    place: int
    wrap_from_min: int
    wrap_to_min: int
    levels: frozenset[int]
    """Setpoints of the place's firebox that it accepts."""


@dataclass(frozen=True, slots=True)
class Finish:
    """The uncertain stage at one place."""

    place: int
    took: Range
    levels: frozenset[int]
    """Setpoints of the place's firebox that it accepts; empty for an oven."""


@dataclass(frozen=True, slots=True)
class Stream:
    """One cut by one recipe, at every place where that can be done."""

    index: int
    cut: Cut
    recipe: Recipe
    smoke: tuple[Smoke, ...]
    """Empty for an unwrapped recipe."""
    finish: tuple[Finish, ...]


@dataclass(frozen=True)
class Grid:
    """All that the flow model, the packers and the people need to know. Minutes count from `plan_from`."""

    scenario: Scenario
    step_min: int
    steps: int
    places: tuple[Place, ...]
    rest: tuple[Shelf, ...]
    hold: tuple[Shelf, ...]
    streams: tuple[Stream, ...]
    demands: tuple[Demand, ...]
    ready_min: tuple[int, ...]
    served_min: tuple[int, ...]
    shifts: tuple[ShiftOption, ...]
    skill_sets: tuple[frozenset[Skill], ...]
    """Sets of skills to be watched (Hall's condition): of those that the same people have a part of, the widest."""
    pinned: Pinned | None = None
    """What is fixed where a plan is changed on the way."""

    @property
    def fireboxes(self) -> tuple[Firebox, ...]:
        """The site's fireboxes, in the order of `Place.firebox`."""
        return self.scenario.site.fireboxes

    @cached_property
    def spots(self) -> tuple[Spot, ...]:
        """Every rack and oven, place by place."""
        return spots_of(self.places)

    @cached_property
    def spot_of(self) -> dict[tuple[str, str | None], int]:
        """Racks and ovens by place and rack, in the order of `spots`."""
        return {(self.places[s.place].name, s.rack): i for i, s in enumerate(self.spots)}

    @cached_property
    def stream_of(self) -> dict[tuple[str, str], int]:
        """Streams by cut and recipe."""
        return {(s.cut.name, s.recipe.name): s.index for s in self.streams}

    @cached_property
    def demand_of(self) -> dict[tuple[str, str], int]:
        """Demands by cut and wave."""
        return {(d.cut, d.wave): i for i, d in enumerate(self.demands)}

    @cached_property
    def shelf_of(self) -> dict[str | None, int]:
        """Rest shelves and holding cabinets by name, each in its own order; -1 for none."""
        return {shelf.name: i for kind in (self.rest, self.hold) for i, shelf in enumerate(kind)} | {None: -1}

    @cached_property
    def ways(self) -> tuple[Ways, ...]:
        """Where each stream can be cooked, by the stream's number."""
        return tuple(ways_of(self, stream) for stream in self.streams)

    @cached_property
    def round_extra_min(self) -> tuple[float, ...]:
        """What a round of tending takes of its step beyond the average of all steps, by firebox; below 0 if nothing."""
        return tuple(round_extra_min(self, firebox) for firebox in range(len(self.fireboxes)))

    @cached_property
    def finish_at(self) -> dict[tuple[int, int], Finish]:
        """How each stream is finished in each place, by their numbers."""
        return {(stream.index, option.place): option for stream in self.streams for option in stream.finish}

    def cut_of(self, demand: int) -> Cut:
        """The cut of a demand."""
        return self.scenario.menu.cut(self.demands[demand].cut)

    def short_cents(self, demand: int) -> int:
        """What one piece short of a demand costs, cents."""
        return self.demands[demand].short_cents(self.cut_of(demand).margin_cents)

    def cabinets_for(self, cut: Cut) -> list[int]:
        """Indices of the holding cabinets warm enough and not too hot for a cut."""
        return [
            i
            for i, shelf in enumerate(self.hold)
            if shelf.hold_f is not None and cut.hold_low_f <= shelf.hold_f <= cut.hold_high_f
        ]

    def minute(self, moment: datetime) -> int:
        """Elapsed minutes from the start of planning."""
        return self.scenario.weekend.timeline.minute(moment)

    def down(self, minute: int) -> int:
        """The step that holds a minute."""
        return minute // self.step_min

    def up(self, minute: int) -> int:
        """The first step that starts at or after a minute."""
        return -(-minute // self.step_min)

    def touched(self, start_min: int, end_min: int) -> range:
        """Steps touched by [start, end); at least the one that holds the start."""
        return range(self.down(start_min), max(self.up(end_min), self.down(start_min) + 1))

    def finish_steps(self, stream: Stream, finish: Finish, demand: int) -> range:
        """Steps at which the uncertain stage may start so that every outcome is ready and none is held too long."""
        cut = stream.cut
        if cut.name != self.demands[demand].cut:
            return range(0)
        last = self.down(self.ready_min[demand] - finish.took.late_min - cut.rest_min)
        first = self.up(self.served_min[demand] - cut.hold_max_min - finish.took.early_min - cut.rest_min)
        return range(max(first, 0), last + 1)

    def hold_cents_per_piece(self, stream: Stream, finish: Finish, demand: int, step: int) -> float:
        """Quality lost by holding one piece whose uncertain stage starts at a step, cents."""
        cut = stream.cut
        held = self.ready_min[demand] - (step * self.step_min + finish.took.early_min + cut.rest_min)
        return cut.hold_loss_cents_per_h * max(0, held - cut.hold_free_min) / 60


def build_grid(scenario: Scenario, step_min: int = 15) -> Grid:
    """Lay a scenario on a grid of `step_min` minutes."""
    weekend = scenario.weekend
    timeline = weekend.timeline
    demands = weekend.demands()
    ready = tuple(timeline.minute(d.ready_by_at) for d in demands)
    served = tuple(timeline.minute(d.served_until_at) for d in demands)
    closes = [timeline.minute(weekend.local(day.closes)) for day in weekend.days]
    steps = ceil(max([*served, *closes]) / step_min)
    laid = _Layer(scenario, step_min, steps)
    places = laid.places()
    shifts = shift_options(scenario, steps * step_min)
    return Grid(
        scenario=scenario,
        step_min=step_min,
        steps=steps,
        places=places,
        rest=tuple(laid.shelf(s.name, None, s.spaces) for s in scenario.site.rest_shelves),
        hold=tuple(laid.shelf(s.name, s.hold_f, s.spaces) for s in scenario.site.hold_cabinets),
        streams=_streams(scenario, places),
        demands=demands,
        ready_min=ready,
        served_min=served,
        shifts=shifts,
        skill_sets=skill_sets(shifts),
    )


@dataclass(frozen=True, slots=True)
class _Layer:
    """Lays places on the grid, with their times out of use."""

    scenario: Scenario
    step_min: int
    steps: int

    def capacity(self, size: int, names: set[str]) -> Capacity:
        """Size at each step, 0 where one of the names is out of use."""
        cap = np.full(self.steps, size, dtype=np.int64)
        weekend = self.scenario.weekend
        for out in weekend.out_of_use:
            if out.place in names:
                first = 0 if out.from_at is None else weekend.timeline.minute(weekend.local(out.from_at))
                last = (
                    self.steps * self.step_min
                    if out.until_at is None
                    else weekend.timeline.minute(weekend.local(out.until_at))
                )
                cap[max(0, first // self.step_min) : max(0, -(-last // self.step_min))] = 0
        return cap

    def shelf(self, name: str, hold_f: int | None, spaces: float) -> Shelf:
        """A rest shelf or holding cabinet on the grid."""
        size = hundredths(spaces)
        return Shelf(name, hold_f, size, self.capacity(size, {name}))

    def places(self) -> tuple[Place, ...]:
        """Groups of like racks, then ovens."""
        site = self.scenario.site
        index_of = {firebox.name: i for i, firebox in enumerate(site.fireboxes)}
        found: list[Place] = []
        for smoker in site.smokers:
            alike: dict[tuple[int, frozenset[str]], list[Bin]] = {}
            for rack in smoker.racks:
                key = (rack.offset_f, frozenset(rack.fits))
                alike.setdefault(key, []).append(Bin(rack.name, hundredths(rack.spaces)))
            for (offset_f, fits), bins in alike.items():
                cap = self.capacity(sum(b.size for b in bins), {smoker.name, smoker.firebox})
                firebox = index_of[smoker.firebox]
                found.append(Place(len(found), smoker.name, firebox, offset_f, None, tuple(bins), fits, cap))
        for oven in site.ovens:
            size = hundredths(oven.spaces)
            cap = self.capacity(size, {oven.name})
            bins = [Bin(None, size)]
            found.append(Place(len(found), oven.name, None, 0, oven.oven_f, tuple(bins), frozenset(), cap))
        return tuple(found)


def _streams(scenario: Scenario, places: tuple[Place, ...]) -> tuple[Stream, ...]:
    wanted = {demand.cut for demand in scenario.weekend.demands() if demand.pieces}
    found: list[Stream] = []
    for cut in scenario.menu.cuts:
        if cut.name not in wanted:
            continue
        for recipe in cut.recipes:
            stream = _stream(scenario, places, cut, recipe, len(found))
            if stream.finish and (stream.smoke or not recipe.wrapped):
                found.append(stream)
    return tuple(found)


def _stream(scenario: Scenario, places: tuple[Place, ...], cut: Cut, recipe: Recipe, index: int) -> Stream:
    weight = scenario.weight_lb(cut)
    smoke: list[Smoke] = []
    finish: list[Finish] = []
    for place in places:
        if not place.takes(cut):
            continue
        took = finish_range(recipe, weight, place.offset_f)
        low, high = recipe.finish_band_f if recipe.wrapped else (recipe.low_f, recipe.high_f)
        if place.firebox is None:
            if recipe.wrapped and recipe.oven_ok and place.oven_f is not None and low <= place.oven_f <= high:
                finish.append(Finish(place.index, took, frozenset()))
            continue
        setpoints = scenario.site.fireboxes[place.firebox].setpoints_f
        safe = {f for f in setpoints if slow_come_up(cut, weight, f + place.offset_f) is None}
        levels = frozenset(f for f in setpoints if low <= f + place.offset_f <= high and (recipe.wrapped or f in safe))
        if levels:
            finish.append(Finish(place.index, took, levels))
        smoke_levels = frozenset(f for f in safe if recipe.low_f <= f + place.offset_f <= recipe.high_f)
        if recipe.wrapped and smoke_levels:
            first, last = wrap_window_min(recipe, weight, place.offset_f)
            smoke.append(Smoke(place.index, first, last, smoke_levels))
    return Stream(index, cut, recipe, tuple(smoke), tuple(finish))
