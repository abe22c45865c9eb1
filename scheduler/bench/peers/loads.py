"""Waves cut into loads beforehand, for models that need to know their loads."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.solve.grid import Grid

ROOM_SPACES = (1.0, 1.5, 2.0, 3.0, 4.0, 6.0)
"""Room of a load, at most: the smallest that leaves not too many loads."""
MOST_LOADS = 220


@dataclass(frozen=True, slots=True)
class Portion:
    """Pieces of a wave that go together."""

    demand: int
    pieces: int


def portions(grid: Grid) -> list[list[Portion]]:
    """Loads by demand, larger ones first. A load fits on a rack of each smoker where a piece does."""
    found: list[list[Portion]] = []
    for room in ROOM_SPACES:
        found = [_cut_up(grid, d, room) for d in range(len(grid.demands))]
        if sum(map(len, found)) <= MOST_LOADS:
            break
    return found


def _cut_up(grid: Grid, d: int, room: float) -> list[Portion]:
    cut, pieces = grid.cut_of(d), grid.demands[d].pieces
    least_rack = min(b.size for place in grid.places if place.takes(cut) for b in place.bins) / 100
    each = max(1, int(min(room, least_rack) / cut.spaces + 1e-9))
    count = -(-pieces // each)
    return [Portion(d, pieces // count + (i < pieces % count)) for i in range(count)]
