"""Chooses how everything that has begun goes on, load by load, on a board as it fills."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from random import Random
from typing import Literal

from scheduler.model.base import hundredths
from scheduler.model.past import Begun
from scheduler.reshuffle.basis import Basis
from scheduler.reshuffle.room import pieces_by, shelf_of
from scheduler.reshuffle.ways import Option, Serves, Ways
from scheduler.solve.board import Board
from scheduler.solve.pinned import WayOn

TOLD_CENTS = 40.0
"""Worth of a piece going on as the crew was told, when two ways are about the same."""
SOONER_CENTS = 5.0
"""The same of getting it out of a dead smoker a step earlier."""
MOST_PARTS = 4
Pick = tuple[Option, Serves]
"""A choice of place and time, and the wave that it is for."""


@dataclass(frozen=True, slots=True)
class Lost:
    """Pieces that cannot go on."""

    begun: Begun
    pieces: int
    kind: Literal["written off", "left"]
    why: str


@dataclass(frozen=True, slots=True)
class Chosen:
    """How all that has begun goes on."""

    ways: tuple[WayOn, ...]
    lost: tuple[Lost, ...]


@dataclass(slots=True)
class Chooser:
    """Fills a board with ways on. With noise the second best may win, so that another call finds other ways."""

    basis: Basis
    board: Board
    noise: float = 0.0
    rng: Random = field(default_factory=Random)
    later_only: bool = False
    """Nothing but waiting: the baseline."""
    wanted: list[int] = field(default_factory=list)
    """Pieces that each wave can still take."""

    def __post_init__(self) -> None:
        self.wanted = [demand.pieces for demand in self.basis.grid.demands]

    def choose(self, keep: Iterable[WayOn], loads: Iterable[Begun]) -> Chosen:
        """Some ways kept as they are, then one after another for each of the loads."""
        ways: list[WayOn] = []
        lost: list[Lost] = []
        loads = list(loads)
        ways += self.keep(keep)
        for begun in loads:
            self._reserve(begun, 1)
        for begun in loads:
            self._reserve(begun, -1)
            found, left = self._for(begun)
            ways += found
            if left:
                lost.append(self.lost(begun, left))
        return Chosen(tuple(ways), tuple(lost))

    def keep(self, ways: Iterable[WayOn]) -> list[WayOn]:
        """Some ways as they are."""
        kept = list(ways)
        for way in kept:
            self._take(way)
        return kept

    def go(self, begun: Begun, picks: Iterable[tuple[Sequence[Pick], int]]) -> list[WayOn] | None:
        """A load by given choices, like ones in place of each other, and the pieces for them; None if there is no room
        or are no hands for all of them."""
        found: list[WayOn] = []
        ways = self.basis.ways(begun)
        for alike, pieces in picks:
            left = pieces
            for option, serves in alike:
                way = self._at(ways, option, serves, left, asked=True) if left else None
                if way is not None:
                    self._take(way)
                    found.append(way)
                    left -= way.pieces
            if left:
                for way in found:
                    self._take(way, -1)
                return None
        return found

    def _reserve(self, begun: Begun, sign: int) -> None:
        """The rack on which a load is, until it is its turn; nothing of one that must leave a dead smoker."""
        here = self.basis.spot(begun.spot)
        if begun.done or begun.dead_min is not None or here is None:
            return
        late = begun.spread[2]
        if begun.waits_for_wrap:
            late += max((begun.window or (0, 0))[0], self.basis.state.from_min)
        size = begun.pieces * self.basis.ways(begun).size
        self.board.free[here][self.basis.step : self.basis.grid.up(late)] -= sign * size

    def _take(self, way: WayOn, sign: int = 1) -> None:
        """Take what a way needs, or give it back; a fire that was lit for it goes on."""
        self.basis.pinned.lay_way(self.board, way, sign)
        self._light(way)
        self.wanted[way.demand] -= sign * way.pieces

    def _light(self, way: WayOn) -> None:
        """The fires under it hold what it accepts from now on, so that the next one reckons with that."""
        burning = list(self.basis.pinned.burning(self.basis.grid, way))
        if burning:
            levels = [held.copy() for held in self.board.frame.levels]
            for firebox, stay in burning:
                self.basis.pinned.heat(self.basis.grid, firebox, levels[firebox], stay)
            self.board.hold_levels(tuple(levels))

    def _for(self, begun: Begun) -> tuple[list[WayOn], int]:
        """Ways for the pieces of a load, and the pieces for which there is none."""
        ways = self.basis.ways(begun)
        left, found = begun.pieces, list[WayOn]()
        usual = None if ways.usual is None else ways.option(ways.usual)
        if usual is not None and (not self.noise or begun.done or self.later_only):
            own = None if begun.done else ways.own
            way = self._best(ways, (usual,), left, only=own)
            if way is not None and way.pieces == left:
                self._take(way)
                return [way], 0
        options = tuple(option for option in ways.options if not self.later_only or _waits(option, ways))
        while left and len(found) < MOST_PARTS:
            way = self._best(ways, options, left)
            if way is None:
                break
            self._take(way)
            found.append(way)
            left -= way.pieces
        if left and begun.dead_min is None and usual is not None and self._can_stay(ways, usual):
            # It is on a rack that the books call full, or has nobody to pull it: it is there all the same.
            way = self._best(ways, (usual,), left, asked=False)
            if way is not None:
                self._take(way)
                found.append(way)
                left -= way.pieces
        return found, left

    def _can_stay(self, ways: Ways, usual: Option) -> bool:
        """True if its fire can be kept and somebody could come to pull it."""
        grid, basis = self.basis.grid, self.basis
        if usual.turn.wrap_step is not None:
            needed = ways.begun.pieces * ways.cut.hands.wrap_min
            if float(self.board.hands.least("wrap")[usual.turn.wrap_step]) < needed:
                return False
        pulls = grid.touched(usual.spread[0], usual.spread[2])
        ahead = slice(max(pulls.start, basis.pinned.helped), max(pulls.stop, basis.pinned.helped))
        return not ways.begun.done and ways.stays_hot() and bool(basis.can_pull[ahead].all())

    def _best(
        self, ways: Ways, options: tuple[Option, ...], most: int, *, only: int | None = None, asked: bool = True
    ) -> WayOn | None:
        """The way worth most; the options of highest possible worth are looked at first."""
        ranked: list[tuple[float, int, Option, Serves, int]] = []
        for option in options:
            serves = next((s for s in option.serves if self.wanted[s.demand] > 0 and only in (None, s.demand)), None)
            if serves is not None:
                pieces = min(most, self.wanted[serves.demand])
                ranked.append((self._bound(ways, option, serves, pieces), len(ranked), option, serves, pieces))
        best: tuple[float, WayOn] | None = None
        for bound, _, option, serves, pieces in sorted(ranked, key=lambda entry: (-entry[0], entry[1])):
            if best is not None and bound <= best[0]:
                break
            way = self._at(ways, option, serves, pieces, asked)
            if way is not None:
                share = way.pieces / pieces
                value = bound * share - self._wood(way)
                if best is None or value > best[0]:
                    best = value, way
        return None if best is None else best[1]

    def _bound(self, ways: Ways, option: Option, serves: Serves, pieces: int) -> float:
        """What the pieces are worth, wood aside; blurred by the noise."""
        value = pieces * (serves.worth_cents + TOLD_CENTS * (option.turn == ways.usual))
        stop = option.turn.stop_step
        value -= SOONER_CENTS * (0 if stop is None else stop - self.basis.step)
        return value * (1 + self.noise * self.rng.random()) if self.noise else value

    def _wood(self, way: WayOn) -> float:
        """Wood of the steps at which nothing else is on the fire."""
        grid, cents = self.basis.grid, 0.0
        for firebox, stay in self.basis.pinned.burning(grid, way):
            box = grid.fireboxes[firebox]
            cold = int((self.board.hot[firebox][stay.first : stay.last] == 0).sum())
            cents += cold * box.wood_lb_per_h * grid.scenario.site.wood_cents_per_lb * grid.step_min / 60
        return cents

    def _at(self, ways: Ways, option: Option, serves: Serves, most: int, asked: bool) -> WayOn | None:
        """The choice for as many pieces as it takes; None if for none."""
        way = ways.way(option, serves, most, -1, -1)
        if asked:
            most = min(most, pieces_by(self.basis, self.board, way))
            if most <= 0:
                return None
        (rest, on_rest), (hold, in_hold) = self._shelves(ways, option, serves)
        most = min(most, on_rest, in_hold)
        return ways.way(option, serves, most, rest, hold) if most > 0 else None

    def _shelves(self, ways: Ways, option: Option, serves: Serves) -> tuple[tuple[int, int], tuple[int, int]]:
        """Rest shelf and cabinet, and the pieces they take."""
        grid, board, cut, begun = self.basis.grid, self.board, ways.cut, ways.begun
        early, _, late = option.spread
        start = self.basis.state.from_min
        rest = shelf_of(
            board.rest,
            list(range(len(board.rest))),
            hundredths(cut.rest_spaces),
            max(early, start),
            late + cut.rest_min,
            self.basis.grid.shelf_of.get(begun.rest_place, -1),
        )
        hold = shelf_of(
            board.hold,
            grid.cabinets_for(cut),
            hundredths(cut.hold_spaces),
            max(early + cut.rest_min, start),
            grid.served_min[serves.demand],
            self.basis.grid.shelf_of.get(begun.hold_place, -1),
        )
        return rest, hold

    def lost(self, begun: Begun, pieces: int) -> Lost:
        """Pieces for which there is no way, and why."""
        if begun.dead_min is not None:
            return Lost(begun, pieces, "written off", f"no hot place in time ({begun.rule})")
        ways = self.basis.ways(begun)
        if not begun.done and not ways.stays_hot():
            return Lost(begun, pieces, "written off", "nobody can come to keep the fire under it")
        return Lost(begun, pieces, "left", "no wave or cabinet for it: chill it by the rules")


def _waits(option: Option, ways: Ways) -> bool:
    """True if it only waits where it is, for its fire or its wrap."""
    turn = option.turn
    return turn.stop_spot in (None, ways.here) and (turn.end_spot == ways.here or turn == ways.usual)


def urgent_first(loads: Iterable[Begun]) -> list[Begun]:
    """What stays where it is first, then what is still to be wrapped, then what must leave a dead smoker, by when."""

    def order(begun: Begun) -> tuple[bool, bool, int, int, str]:
        dead = begun.dead_min is not None
        return dead, begun.waits_for_wrap and not dead, begun.act_by_min or 0, begun.spread[2], begun.code

    return sorted(loads, key=order)
