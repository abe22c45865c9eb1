"""Zones of the flow model: places seen one by one, or melted together for a small model whose bound is still true.

In a melted zone a stage takes the times of whichever place is kindest to each rule, and needs room in any of its
places. So every plan of the kitchen is a plan of the melted kitchen, at no higher cost (moves are free there).
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass, replace

from scheduler.solve.grid import Finish, Grid, Place, Smoke, Stream

Room = frozenset[tuple[int, int]]
"""Where a stage may stand: (place, setpoint of its firebox); setpoint 0 for an oven, which is always on."""

OVEN = 0

Starts = Mapping[tuple[int, int, int], Sequence[int]]
"""Steps at which the uncertain stage may start, by stream, zone and demand."""


@dataclass(frozen=True, slots=True)
class ZoneSmoke:
    """Smoking before the wrap in a zone."""

    zone: int
    wrap_from_min: int
    wrap_to_min: int
    room: Room


@dataclass(frozen=True, slots=True)
class ZoneFinish:
    """The uncertain stage in a zone, each rule with the minutes kindest to it."""

    zone: int
    early_min: int
    """Latest early end: the rest and the hold begin no sooner."""
    late_min: int
    """Soonest late end: the rack is free, and the piece ready after its rest."""
    pull_from_min: int
    pull_to_min: int
    pull_span: int
    """Steps over which pulling is spread: the widest."""
    places: tuple[Finish, ...]
    room: Room


@dataclass(frozen=True, slots=True)
class ZoneStream:
    """A stream's options by zone."""

    stream: Stream
    smoke: tuple[ZoneSmoke, ...]
    finish: tuple[ZoneFinish, ...]


@dataclass(frozen=True, slots=True)
class Zones:
    """The kitchen as the flow model sees it."""

    grid: Grid
    zones: tuple[tuple[int, ...], ...]
    """Places of each zone."""
    streams: tuple[ZoneStream, ...]
    starts: Starts | None = None
    """Steps to choose from, where they are fewer than the rules allow."""

    @property
    def zone_of(self) -> dict[int, int]:
        """The zone of each place."""
        return {place: zone for zone, places in enumerate(self.zones) for place in places}

    @property
    def melted(self) -> bool:
        """True if any zone has several places."""
        return len(self.zones) < len(self.grid.places)

    def finish_steps(self, stream: Stream, finish: ZoneFinish, demand: int) -> Sequence[int]:
        """Steps at which the uncertain stage may start in any of the zone's places, in order."""
        if self.starts is not None:
            return self.starts.get((stream.index, finish.zone, demand), ())
        ranges = [self.grid.finish_steps(stream, option, demand) for option in finish.places]
        ranges = [steps for steps in ranges if len(steps)]
        if not ranges:
            return range(0)
        return range(min(r.start for r in ranges), max(r.stop for r in ranges))

    def hold_cents(self, stream: Stream, finish: ZoneFinish, demand: int, step: int) -> float:
        """Least quality lost by holding one piece, cents."""
        return min(self.grid.hold_cents_per_piece(stream, option, demand, step) for option in finish.places)


def one_by_one(grid: Grid, starts: Starts | None = None) -> Zones:
    """Each place is a zone: the exact model."""
    return replace(_zones(grid, tuple((place.index,) for place in grid.places)), starts=starts)


def alike(grid: Grid) -> Zones:
    """Places of the same times in any smoker are one zone: half the columns, and nothing is kinder than it is but that
    moves between its smokers are free."""
    return _apart(grid, lambda place: (place.firebox is None, place.offset_f, place.oven_f, place.fits))


def melted(grid: Grid) -> Zones:
    """The whole kitchen is one zone: the small model."""
    return _zones(grid, (tuple(place.index for place in grid.places),))


def ovens_apart(grid: Grid) -> Zones:
    """All racks are one zone and all ovens another: hardly larger than one zone, and its bound is higher."""
    return _apart(grid, lambda place: place.firebox is None)


def hot_racks_apart(grid: Grid) -> Zones:
    """Ovens, racks that are hotter than their setpoint, and all other racks."""
    return _apart(grid, lambda place: (place.firebox is None, place.offset_f > 0))


def _apart(grid: Grid, kind: Callable[[Place], Hashable]) -> Zones:
    """Places of a kind are one zone."""
    groups: dict[Hashable, list[int]] = {}
    for place in grid.places:
        groups.setdefault(kind(place), []).append(place.index)
    return _zones(grid, tuple(tuple(group) for group in groups.values()))


def _zones(grid: Grid, zones: tuple[tuple[int, ...], ...]) -> Zones:
    streams = tuple(
        ZoneStream(
            stream,
            tuple(
                _smoke(z, smokes)
                for z, places in enumerate(zones)
                if (smokes := [o for o in stream.smoke if o.place in places])
            ),
            tuple(
                _finish(grid, z, options)
                for z, places in enumerate(zones)
                if (options := [o for o in stream.finish if o.place in places])
            ),
        )
        for stream in grid.streams
    )
    return Zones(grid, zones, streams)


def _smoke(zone: int, options: list[Smoke]) -> ZoneSmoke:
    return ZoneSmoke(
        zone,
        min(option.wrap_from_min for option in options),
        max(option.wrap_to_min for option in options),
        frozenset((option.place, level) for option in options for level in option.levels),
    )


def _finish(grid: Grid, zone: int, options: list[Finish]) -> ZoneFinish:
    early = max(option.took.early_min for option in options)
    late = min(option.took.late_min for option in options)
    return ZoneFinish(
        zone=zone,
        early_min=early,
        late_min=late,
        pull_from_min=early,
        pull_to_min=max(late, early + 1) if len(options) == 1 else late,
        pull_span=max(len(grid.touched(option.took.early_min, option.took.late_min)) for option in options),
        places=tuple(options),
        room=frozenset((option.place, level) for option in options for level in option.levels or (OVEN,)),
    )
