"""Outcomes of a plan: when each piece is really done, drawn from its range, and what then goes wrong.

A plan promises to hold for every outcome between early and late. This module tries that promise out: it draws done
times from the recipe's own range, follows every piece through the kitchen with these times, and says what does not fit.
It counts minute by minute in numpy and shares no sweep with the rules, so that it is a second opinion on them.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from scheduler.audit.breach import Breach
from scheduler.audit.reading import look
from scheduler.audit.view import LoadView, Spot, View
from scheduler.audit.words import codes_text, spaces_text
from scheduler.model.base import Range, hundredths
from scheduler.model.menu import Cut
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.trade.stage import finish_range

Ints = NDArray[np.int64]
Shape = Literal["uniform", "triangular"]
Each = Literal["piece", "load"]

EXTREME_SHARE = 0.2
"""Share of the draws that are put on the early or the late end, where plans break."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """When each piece of each load is done, in minutes from the start of planning."""

    done_min: dict[str, tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class Cook:
    """A load whose names are all known, with its cut and its range."""

    load: LoadView
    cut: Cut
    took: Range

    @property
    def code(self) -> str:
        """The load's code."""
        return self.load.code


@dataclass(frozen=True, slots=True)
class Sampler:
    """Draws outcomes of one plan. Done times come from the recipes, not from what the plan says of them."""

    view: View
    cooks: tuple[Cook, ...]
    early: Ints
    likely: Ints
    late: Ints
    sizes: tuple[int, ...]
    """Pieces of each load."""

    def draw(self, count: int, rng: np.random.Generator, shape: Shape = "uniform", each: Each = "piece") -> Ints:
        """Done minutes, one row for an outcome and one column for a piece.

        The first row is all early, the second all late, the third early and late in turn; the rest are random. With
        `each` = "load" the pieces of a load are done together.
        """
        groups = np.arange(len(self.sizes)).repeat(self.sizes if each == "piece" else 1)
        early, likely, late = self.early[groups], self.likely[groups], self.late[groups]
        low, high = np.broadcast_to(early, (count, len(groups))), np.broadcast_to(late, (count, len(groups)))
        if shape == "uniform":
            done = rng.integers(low, high + 1)
        else:
            wide = np.maximum(late, early + 1)
            spread = np.rint(rng.triangular(early, likely, wide, size=(count, len(groups)))).astype(np.int64)
            done = np.clip(spread, low, high)
        coin = rng.random((count, len(groups)))
        done = np.where(coin < EXTREME_SHARE / 2, low, np.where(coin > 1 - EXTREME_SHARE / 2, high, done))
        turns = np.arange(len(groups)) % 2 == 0
        for row, fixed in enumerate((early, late, np.where(turns, early, late))[:count]):
            done[row] = fixed
        return done if each == "piece" else done.repeat(self.sizes, axis=1)

    def outcome(self, row: Ints) -> Outcome:
        """One row of a draw, by load."""
        return Outcome({cook.code: tuple(row[columns].tolist()) for cook, columns in _columns(self)})

    def row(self, outcome: Outcome) -> Ints:
        """The other way round. KeyError if a load is missing."""
        return np.array([m for cook in self.cooks for m in outcome.done_min[cook.code]], dtype=np.int64)


def sampler(plan: Plan, scenario: Scenario) -> Sampler:
    """Make ready to draw outcomes; loads with unknown names are left out."""
    view = look(plan, scenario)
    cooks = tuple(_cooks(view))
    starts = np.array([cook.load.finish_from_min for cook in cooks], dtype=np.int64)
    return Sampler(
        view=view,
        cooks=cooks,
        early=starts + np.array([cook.took.early_min for cook in cooks], dtype=np.int64),
        likely=starts + np.array([cook.took.likely_min for cook in cooks], dtype=np.int64),
        late=starts + np.array([cook.took.late_min for cook in cooks], dtype=np.int64),
        sizes=tuple(cook.load.load.pieces for cook in cooks),
    )


def _cooks(view: View) -> Iterator[Cook]:
    for load in view.loads:
        cut, recipe, finish = load.cut, load.recipe, load.finish
        if cut is not None and recipe is not None and finish is not None and load.smoke is not None:
            yield Cook(load, cut, finish_range(recipe, view.scenario.weight_lb(cut), finish.offset_f))


def play(
    plan: Plan,
    scenario: Scenario,
    rng: np.random.Generator,
    shape: Shape = "uniform",
    each: Each = "piece",
) -> Outcome:
    """One random outcome of a plan."""
    drawn = sampler(plan, scenario)
    # The fourth row is the first that is random.
    return drawn.outcome(drawn.draw(4, rng, shape, each)[3])


def outcome_breaches(plan: Plan, scenario: Scenario, outcome: Outcome) -> tuple[Breach, ...]:
    """What goes wrong if the pieces are done when the outcome says."""
    drawn = sampler(plan, scenario)
    return _checked(drawn, drawn.row(outcome)[np.newaxis, :])


def sample_breaches(
    plan: Plan,
    scenario: Scenario,
    outcomes: int = 1000,
    seed: int = 0,
    shape: Shape = "uniform",
    each: Each = "piece",
) -> tuple[Breach, ...]:
    """What goes wrong in any of so many outcomes, the extremes among them; each kind of failure and place once."""
    drawn = sampler(plan, scenario)
    return _checked(drawn, drawn.draw(outcomes, np.random.default_rng(seed), shape, each))


def _checked(drawn: Sampler, done: Ints) -> tuple[Breach, ...]:
    if not drawn.cooks:
        return ()
    return (*_crowding(drawn, done), *_lateness(drawn, done), *_cold(drawn, done), *_nobody(drawn, done))


# Space


@dataclass(slots=True)
class _Room:
    """What takes room in one place: columns of starts, ends and sizes, one for each piece and visit."""

    size: int
    starts: list[Ints]
    ends: list[Ints]
    sizes: list[int]
    codes: list[str]

    def add(self, starts: Ints, ends: Ints, size: int, code: str) -> None:
        """One more visitor."""
        self.starts.append(starts)
        self.ends.append(ends)
        self.sizes.append(size)
        self.codes.append(code)


def _crowding(drawn: Sampler, done: Ints) -> Iterator[Breach]:
    for name, room in _rooms(drawn, done).items():
        starts, ends = np.stack(room.starts, axis=1), np.stack(room.ends, axis=1)
        most, row, at = _fullest(starts, ends, np.array(room.sizes, dtype=np.int64))
        if most > room.size:
            here = (starts[row] <= at) & (at < ends[row])
            codes = tuple(dict.fromkeys(code for code, there in zip(room.codes, here, strict=True) if there))
            sentence = (
                f"{name} has to hold {spaces_text(most)} spaces but has {spaces_text(room.size)} "
                f"{drawn.view.words.at(at)} in one outcome ({codes_text(codes)})."
            )
            yield drawn.view.breach("outcome-overfull", sentence, codes, at)


def _fullest(starts: Ints, ends: Ints, sizes: Ints) -> tuple[int, int, int]:
    """The most that is taken at any moment of any row, the row and the minute."""
    sizes = np.where(starts < ends, sizes, 0)
    # At the same minute what leaves goes before what comes: even keys before odd ones.
    keys = np.concatenate([ends * 2, starts * 2 + 1], axis=1)
    deltas = np.concatenate([-sizes, sizes], axis=1)
    order = np.argsort(keys, axis=1, kind="stable")
    level = np.take_along_axis(deltas, order, axis=1).cumsum(axis=1)
    row, column = np.unravel_index(int(level.argmax()), level.shape)
    minute = int(keys[row, order[row, column]]) // 2
    return int(level[row, column]), int(row), minute


def _rooms(drawn: Sampler, done: Ints) -> dict[str, _Room]:
    rooms: dict[str, _Room] = {}
    for cook, columns in _columns(drawn):
        for column in range(columns.start, columns.stop):
            for name, size, spaces, start, end in _visits(cook, done[:, column]):
                room = rooms.setdefault(name, _Room(hundredths(size), [], [], [], []))
                room.add(start, end, hundredths(spaces), cook.code)
    for name, room in rooms.items():
        # A place out of use is full of nothing: whoever comes then is too much.
        for place in _closed_by(drawn.view, name):
            for gone, back in drawn.view.out_of_use.get(place, ()):
                room.add(np.full(len(done), gone), np.full(len(done), back), room.size, place)
    return rooms


def _closed_by(view: View, name: str) -> tuple[str, ...]:
    spots = (spot for load in view.loads for spot in (load.smoke, load.finish) if spot is not None)
    return next((spot.out_names for spot in spots if spot.text == name), (name,))


def _visits(cook: Cook, done: Ints) -> Iterator[tuple[str, float, float, Ints, Ints]]:
    """(place, its size, spaces taken, from, until) of one piece on its way, for every outcome."""
    load, cut = cook.load, cook.cut
    fixed = np.zeros_like(done)
    if load.smoke is not None and load.wrap_min is not None:
        yield load.smoke.text, _size(load.smoke), cut.spaces, fixed + load.load_min, fixed + load.wrap_min
    if load.finish is not None:
        yield load.finish.text, _size(load.finish), cut.spaces, fixed + load.finish_from_min, done
    if load.rest is not None:
        yield load.rest.name, load.rest.spaces, cut.rest_spaces, done, done + cut.rest_min
    if load.hold is not None:
        yield load.hold.name, load.hold.spaces, cut.hold_spaces, done + cut.rest_min, fixed + load.served_min


def _size(spot: Spot) -> float:
    if spot.rack is not None:
        return spot.rack.spaces
    return 0.0 if spot.oven is None else spot.oven.spaces


# Time


def _columns(drawn: Sampler) -> Iterator[tuple[Cook, slice]]:
    column = 0
    for cook, size in zip(drawn.cooks, drawn.sizes, strict=True):
        yield cook, slice(column, column + size)
        column += size


def _lateness(drawn: Sampler, done: Ints) -> Iterator[Breach]:
    for cook, columns in _columns(drawn):
        load, cut = cook.load, cook.cut
        rested = done[:, columns] + cut.rest_min
        last, first = int(rested.max()), int(rested.min())
        if last > load.ready_min:
            sentence = f"Load {load.code} is ready only {drawn.view.words.at(last)} in one outcome, after its wave."
            yield drawn.view.breach("outcome-not-ready", sentence, [load.code], load.ready_min)
        if load.served_min - first > cut.hold_max_min:
            sentence = f"Load {load.code} is held from {drawn.view.words.time(first)} in one outcome: too long."
            yield drawn.view.breach("outcome-held-too-long", sentence, [load.code], first)


# Fire


def _cold(drawn: Sampler, done: Ints) -> Iterator[Breach]:
    """Until its pull a piece has a lit, warm fire whose every possible temperature it accepts."""
    possible = _possible_temperatures(drawn.view)
    for cook, columns in _columns(drawn):
        moment = _first_bad(cook.load, int(done[:, columns].max()), possible)
        if moment is not None:
            sentence = f"Load {cook.code} has no fire that it accepts {drawn.view.words.at(moment)} in one outcome."
            yield drawn.view.breach("outcome-fire", sentence, [cook.code], moment)


def _possible_temperatures(view: View) -> dict[str, dict[int, set[int]]]:
    """For each firebox and minute in which it is warm, the setpoints that it may be at or between."""
    found: dict[str, dict[int, set[int]]] = defaultdict(lambda: defaultdict(set))
    for fire in view.fires:
        if fire.firebox is None:
            continue
        change = fire.firebox.setpoint_change_min
        for minute in range(fire.ready_min, fire.out_min):
            for i, (start, setpoint) in enumerate(fire.setpoints):
                until = fire.setpoints[i + 1][0] if i + 1 < len(fire.setpoints) else fire.out_min
                if (i == 0 or start - change <= minute) and minute < until:
                    found[fire.fire.firebox][minute].add(setpoint)
    return found


def _first_bad(load: LoadView, last: int, possible: dict[str, dict[int, set[int]]]) -> int | None:
    """First minute before `last` at which the load has no fire or may be too hot or too cold; None if all are well."""
    stays = load.stays()
    for stay, end in zip(stays, [*(stay.end for stay in stays[:-1]), last], strict=True):
        if stay.spot.oven is not None:
            if not stay.low_f <= stay.spot.oven.oven_f <= stay.high_f:
                return stay.start
            continue
        burning = possible.get(stay.spot.firebox.name, {}) if stay.spot.firebox is not None else {}
        for minute in range(stay.start, end):
            heats = burning.get(minute, set())
            if not heats or any(not stay.low_f <= f + stay.spot.offset_f <= stay.high_f for f in heats):
                return minute
    return None


# People


def _nobody(drawn: Sampler, done: Ints) -> Iterator[Breach]:
    """Whenever a piece is done, somebody who can work the pit is on shift."""
    pit = [(s.start_min, s.end_min) for s in drawn.view.shifts if "pit" in s.skills]
    for cook, columns in _columns(drawn):
        pulled = np.unique(done[:, columns])
        there = np.zeros(pulled.shape, dtype=np.bool_)
        for start, end in pit:
            there |= (start <= pulled) & (pulled <= end)
        if not there.all():
            moment = int(pulled[~there][0])
            sentence = f"Load {cook.code} is done {drawn.view.words.at(moment)} in one outcome, and nobody can pull it."
            yield drawn.view.breach("outcome-nobody", sentence, [cook.code], moment)
