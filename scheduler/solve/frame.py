"""The frame into which loads are placed: what each fire holds at each step, and who is called in."""

from __future__ import annotations

from dataclasses import dataclass

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


def burns_of(firebox: int, levels: Ints, warm: int) -> list[Burn]:
    """Runs of steps with a setpoint as burns, lit `warm` steps before."""
    found: list[Burn] = []
    steps = np.flatnonzero(levels)
    for run in np.split(steps, np.flatnonzero(np.diff(steps) > 1) + 1):
        if len(run):
            changes = [int(k) for k in run if k == run[0] or levels[k] != levels[k - 1]]
            found.append(
                Burn(firebox, int(run[0]) - warm, int(run[-1]) + 1, tuple((k, int(levels[k])) for k in changes))
            )
    return found


def accepted(grid: Grid, frame: Frame, firebox: int, levels: frozenset[int]) -> Ints:
    """1 where a fire holds one of the setpoints and is not about to change to another."""
    held = frame.levels[firebox]
    fine = np.isin(held, list(levels))
    changing = fine.copy()
    coming = fine | (held == 0)
    for ahead in range(1, grid.up(grid.fireboxes[firebox].setpoint_change_min) + 1):
        changing[:-ahead] &= coming[ahead:]
    return changing.astype(np.int64)
