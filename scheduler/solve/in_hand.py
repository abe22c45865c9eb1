"""What has begun in the model of a stretch: pieces of each load go on by some of its ways, or not at all."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from itertools import chain

from scheduler.model.base import hundredths
from scheduler.model.menu import Cut
from scheduler.solve.flow_fire import Taken
from scheduler.solve.flow_hands import HandDemand
from scheduler.solve.grid import Grid
from scheduler.solve.milp import Floats, MilpBuilder, Terms
from scheduler.solve.pinned import Pinned, Stay, WayOn
from scheduler.solve.zones import OVEN, Room


@dataclass(frozen=True, slots=True)
class InHand:
    """A load that has begun and may go on otherwise."""

    code: str
    pieces: int
    ways: tuple[WayOn, ...]
    """What one piece can do; rest and hold say nothing here."""
    cents: tuple[float, ...]
    """Of one piece that goes each way."""
    lost_cents: float
    """Of one piece that does not go on."""
    now: tuple[int, ...]
    """Pieces that go each way at present."""
    held: bool = False
    """It could go on as it does, and is held at that until there is a good plan to go on from."""


class InHandColumns:
    """Pieces by load and way, and what they take at each step."""

    def __init__(self, b: MilpBuilder, grid: Grid, loads: Collection[InHand]) -> None:
        self._grid = grid
        self._going: list[tuple[InHand, list[int], int]] = []
        """The columns of the ways of each load, and of what does not go on."""
        self._room: defaultdict[tuple[int, int], defaultdict[Room, Terms]] = defaultdict(lambda: defaultdict(list))
        """What stands at a place and step, hundredths, by where it may stand."""
        self._rests: defaultdict[tuple[int, int], Terms] = defaultdict(list)
        """What rests, hundredths, by the first minute and the minute after the last."""
        self._by_demand: defaultdict[int, list[tuple[int, WayOn]]] = defaultdict(list)
        self.loose: Terms = [(b.column(1, integer=False), 1.0)] if any(load.held for load in loads) else []
        """1 where what was held is free."""
        for load in loads:
            columns = [b.column(load.pieces, cents) for cents in load.cents]
            lost = b.column(load.pieces, load.lost_cents)
            b.row(load.pieces, [*((column, 1.0) for column in columns), (lost, 1.0)], load.pieces)
            self._going.append((load, columns, lost))
            for way, column in zip(load.ways, columns, strict=True):
                self._stand(way, column)
                self._by_demand[way.demand].append((column, way))

    def _stand(self, way: WayOn, column: int) -> None:
        cut = self._cut(way)
        if cut.rest_spaces:
            stretch = way.early_min, way.late_min + cut.rest_min
            self._rests[stretch].append((column, float(hundredths(cut.rest_spaces))))
        term = column, float(hundredths(cut.spaces))
        for stay in way.stays:
            place = self._grid.spots[stay.spot].place
            room = frozenset((place, level) for level in stay.levels or (OVEN,))
            for step in range(stay.first, stay.last):
                self._room[place, step][room].append(term)

    def _cut(self, way: WayOn) -> Cut:
        return self._grid.streams[way.stream].cut

    # what they give and take ------------------------------------------------------------------------------------

    def made(self, d: int) -> Terms:
        """Pieces for a demand."""
        return [(column, 1.0) for column, _ in self._by_demand[d]]

    def taken(self, places: Iterable[int], step: int) -> list[Taken]:
        """What takes room in some places at a step."""
        return [Taken(room, terms) for place in places for room, terms in self._room.get((place, step), {}).items()]

    def rests(self, minute: int) -> Terms:
        """What may lie on a rest shelf at a minute, hundredths."""
        found: Terms = []
        for (first, until), terms in self._rests.items():
            if first <= minute < until:
                found += terms
        return found

    def entering(self, d: int) -> dict[int, Terms]:
        """Pieces of a demand by the minute at which they may come to the hold."""
        found: dict[int, Terms] = {}
        for column, way in self._by_demand[d]:
            found.setdefault(way.early_min + self._cut(way).rest_min, []).append((column, 1.0))
        return found

    def work(self, hands: HandDemand) -> None:
        """Ask for the hands to hand over, wrap and pull them; slicing is that of their wave."""
        for column, way in chain.from_iterable(self._by_demand.values()):
            for skill, steps, minutes in self._pinned.handled(self._grid, way, 1):
                for step in range(steps.start, steps.stop):
                    hands.add(skill, step, [(column, float(minutes))])

    @property
    def columns(self) -> list[int]:
        """Those of all ways."""
        return [column for _, columns, _ in self._going for column in columns]

    @property
    def held(self) -> list[int]:
        """Those that stay as they are as long as anything is held: `loose`, all ways of what is, and what is lost."""
        mine = [column for load, columns, lost in self._going if load.held for column in (*columns, lost)]
        return [*(column for column, _ in self.loose), *mine]

    def standing(self) -> Iterator[tuple[int, Stay]]:
        """Where what is held needs a fire: the firebox, and the stay."""
        for load, _, _ in self._going:
            if load.held:
                for way, pieces in zip(load.ways, load.now, strict=True):
                    if pieces:
                        yield from self._pinned.burning(self._grid, way)

    # points ------------------------------------------------------------------------------------------------------

    def enter(self, x: Floats) -> None:
        """Put what they do at present into a point."""
        for load, columns, lost in self._going:
            x[columns] = load.now
            x[lost] = load.pieces - sum(load.now)

    def read(self, x: Floats) -> list[tuple[InHand, list[tuple[int, int]]]]:
        """What a point has each load do: (number of the way, pieces)."""
        found = []
        for load, columns, _ in self._going:
            pieces = ((i, round(float(x[column]))) for i, column in enumerate(columns))
            found.append((load, [(i, n) for i, n in pieces if n]))
        return found

    def burning(self, x: Floats) -> Iterator[tuple[int, Stay]]:
        """Where what goes on in a point needs a fire: the firebox, and the stay."""
        for load, going in self.read(x):
            for i, _ in going:
                yield from self._pinned.burning(self._grid, load.ways[i])

    @property
    def _pinned(self) -> Pinned:
        """The past; where anything is in hand, there is one."""
        assert self._grid.pinned is not None
        return self._grid.pinned
