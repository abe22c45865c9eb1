"""Racks and ovens one by one, and which of them cook a stream by the same times: those are looked at in one go."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from scheduler.model.base import hundredths

if TYPE_CHECKING:
    from scheduler.solve.grid import Finish, Grid, Place, Smoke, Stream


@dataclass(frozen=True, slots=True)
class Spot:
    """One rack or oven."""

    place: int
    rack: str | None
    size: int


def spots_of(places: Iterable[Place]) -> tuple[Spot, ...]:
    """Every rack and oven, place by place."""
    return tuple(Spot(place.index, b.name, b.size) for place in places for b in place.bins)


@dataclass(frozen=True, slots=True, eq=False)
class Alike:
    """Spots that differ in nothing but their room and their fire."""

    spots: NDArray[np.int64]
    """In order."""
    boxes: NDArray[np.int64]
    """The firebox of each; for an oven one more than there are."""
    levels: tuple[frozenset[int], ...]
    """Setpoints that are accepted there."""


@dataclass(frozen=True, slots=True, eq=False)
class Smoking:
    """Spots smoked on for so many steps."""

    delays: range
    alike: Alike


@dataclass(frozen=True, slots=True, eq=False)
class Finishing:
    """Spots finished on; where loads must have been smoked on the same rack, also that."""

    finish: Finish
    """Of one of them; place and setpoints aside it is that of all."""
    alike: Alike
    smoking: Smoking | None
    oven: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Ways:
    """Where a stream can be cooked."""

    racks: tuple[Finishing, ...]
    ovens: tuple[Finishing, ...]
    smoking: tuple[Smoking, ...]
    """Before it goes into an oven."""


def ways_of(grid: Grid, stream: Stream) -> Ways:
    """Where a stream can be cooked, spots of the same times together."""
    laid = _Layer(grid, stream)
    smoke_at = {smoke.place: smoke for smoke in stream.smoke}
    racks: dict[object, list[tuple[Finish, Smoke | None]]] = {}
    ovens: dict[object, list[Finish]] = {}
    for finish in stream.finish:
        took = finish.took
        if grid.places[finish.place].firebox is None:
            ovens.setdefault(took, []).append(finish)
        elif not stream.recipe.wrapped:
            racks.setdefault(took, []).append((finish, None))
        elif finish.place in smoke_at:
            smoke = smoke_at[finish.place]
            racks.setdefault((took, laid.delays(smoke)), []).append((finish, smoke))
    smoking: dict[range, list[Smoke]] = {}
    for smoke in stream.smoke:
        smoking.setdefault(laid.delays(smoke), []).append(smoke)
    return Ways(
        racks=tuple(
            Finishing(pairs[0][0], laid.alike([f for f, _ in pairs]), laid.smoking([s for _, s in pairs if s]))
            for pairs in racks.values()
        ),
        ovens=tuple(Finishing(some[0], laid.alike(some), None, oven=True) for some in ovens.values()),
        smoking=tuple(found for some in smoking.values() if (found := laid.smoking(some)) is not None),
    )


@dataclass(frozen=True, slots=True)
class _Layer:
    grid: Grid
    stream: Stream

    def delays(self, smoke: Smoke) -> range:
        """Steps from loading to the wrap."""
        return range(max(1, self.grid.up(smoke.wrap_from_min)), self.grid.down(smoke.wrap_to_min) + 1)

    def smoking(self, some: list[Smoke]) -> Smoking | None:
        """Those that smoke for as long, together; None if there are none, or none can."""
        if not some or not self.delays(some[0]):
            return None
        return Smoking(self.delays(some[0]), self.alike(some))

    def alike(self, some: list[Finish] | list[Smoke]) -> Alike:
        """All spots of some places that are large enough for a piece."""
        least = hundredths(self.stream.cut.spaces)
        levels = {option.place: option.levels for option in some}
        mine = [(i, s) for i, s in enumerate(self.grid.spots) if s.place in levels and s.size >= least]
        boxes = [self.grid.places[s.place].firebox for _, s in mine]
        return Alike(
            spots=np.array([i for i, _ in mine], dtype=np.int64),
            boxes=np.array([len(self.grid.fireboxes) if box is None else box for box in boxes], dtype=np.int64),
            levels=tuple(levels[s.place] for _, s in mine),
        )
