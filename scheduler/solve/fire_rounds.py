"""Rounds of tending on the grid: how often they fall on the same steps, and what they take of those."""

from __future__ import annotations

from math import lcm
from typing import TYPE_CHECKING

from scheduler.model.site import Firebox

if TYPE_CHECKING:
    from scheduler.solve.frame import Burn
    from scheduler.solve.grid import Grid

MOST_EVERY = 4
"""A burn is lit at most so many steps later than it might be, to keep its rounds of tending in step."""


def rounds_every(grid: Grid, box: Firebox) -> int:
    """Steps after which rounds of tending come back to the start of a step; 1 if they do too seldom to count on."""
    every = lcm(box.tend_every_min, grid.step_min) // grid.step_min
    return every if every <= MOST_EVERY else 1


def rounds_of(grid: Grid, burn: Burn) -> list[int]:
    """The steps into which the rounds of a burn fall."""
    every = grid.fireboxes[burn.firebox].tend_every_min
    due = range(burn.lit * grid.step_min + every, burn.out * grid.step_min, every)
    return [step for minute in due if (step := grid.up(minute)) < grid.steps]


def round_extra_min(grid: Grid, firebox: int) -> float:
    """What a round takes of its step beyond the average of all steps; below 0 if nothing.

    The minutes that one person has beyond those planned are shared by the fires whose rounds may fall into one step.
    """
    box = grid.fireboxes[firebox]
    every = rounds_every(grid, box)
    beside = [(other, rounds_every(grid, grid.fireboxes[other])) for other in range(len(grid.fireboxes))]
    together = sum(1 for other, its in beside if 1 in (every, its) or every != its or (other - firebox) % every == 0)
    slack = grid.step_min * (1 - grid.scenario.crew.hand_minutes_per_h / 60) / together
    return box.tend_min - box.tend_min * grid.step_min / box.tend_every_min - slack
