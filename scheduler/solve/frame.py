"""The frame into which loads are placed: what each fire holds at each step, and who is called in."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from scheduler.solve.grid import Grid
from scheduler.solve.shift_options import ShiftOption

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Burn:
    """A firebox from lighting to out, in steps; setpoints from the step at which each holds."""

    firebox: int
    lit: int
    out: int
    setpoints: tuple[tuple[int, int], ...]


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


def burns_of(firebox: int, levels: Ints, warm: int) -> tuple[Burn, ...]:
    """Runs of steps with a setpoint as burns, lit `warm` steps before."""
    return _burns_of(firebox, levels.astype(np.int64, copy=False).tobytes(), warm)


@lru_cache(maxsize=4096)
def _burns_of(firebox: int, held: bytes, warm: int) -> tuple[Burn, ...]:
    """From move to move most fires burn as before."""
    levels: Ints = np.frombuffer(held, dtype=np.int64)
    changes = np.flatnonzero(np.diff(levels, prepend=0, append=0)).tolist()
    found: list[Burn] = []
    setpoints: list[tuple[int, int]] = []
    for step in changes:
        level = int(levels[step]) if step < len(levels) else 0
        if level:
            setpoints.append((step, level))
        else:
            found.append(Burn(firebox, setpoints[0][0] - warm, step, tuple(setpoints)))
            setpoints = []
    return tuple(found)


def one_of(held: Ints, levels: frozenset[int]) -> NDArray[np.bool_]:
    """True where one of a few setpoints is held."""
    fine = np.zeros(held.shape, dtype=np.bool_)
    for level in levels:
        fine |= held == level
    return fine


def accepted(grid: Grid, frame: Frame, firebox: int, levels: frozenset[int]) -> Ints:
    """1 where a fire holds one of the setpoints and is not about to change to another."""
    change = grid.up(grid.fireboxes[firebox].setpoint_change_min)
    return _accepted(frame.levels[firebox].astype(np.int64, copy=False).tobytes(), levels, change)


@lru_cache(maxsize=4096)
def _accepted(setpoints: bytes, levels: frozenset[int], change: int) -> Ints:
    """As for `_burns_of`."""
    held: Ints = np.frombuffer(setpoints, dtype=np.int64)
    fine = one_of(held, levels)
    changing = fine.copy()
    coming = fine | (held == 0)
    for ahead in range(1, change + 1):
        changing[:-ahead] &= coming[ahead:]
    found: Ints = changing.astype(np.int64)
    found.setflags(write=False)
    return found
