"""A cheap crew for the weekend, found on a coarse grid.

Wages are most of what a plan can change, and the neighbourhood search is slow to find out that a whole shift can be
spared. On steps of an hour the melted kitchen is small enough for HiGHS to say in seconds which shifts would do. What
it says of fires and loads is too rough to be used.
"""

from __future__ import annotations

from collections.abc import Iterator
from threading import Event

from scheduler.solve.flow import build_flow
from scheduler.solve.grid import Grid, build_grid
from scheduler.solve.highs import Effort, solve
from scheduler.solve.improve import Found, plans_with
from scheduler.solve.lean import festival
from scheduler.solve.shift_options import ShiftOption
from scheduler.solve.zones import melted

COARSE_MIN = 60
SHARE = 0.2
"""Of the time of a search, at most, for scouting."""
NODES = 1
"""Repeatable searches stop it by nodes: the crew is good as soon as there is one."""
GAP = 0.03


def scouted_plans(grid: Grid, seconds: float | None, stop: Event | None = None) -> Iterator[Found]:
    """Plans with the crew found on the coarse grid, for setpoints that are the same on all fires; none if none was.

    `seconds` are those of the whole search, None if it is to be repeatable. None at all for a festival.
    """
    if festival(grid):
        return
    effort = Effort(nodes=NODES, gap=GAP) if seconds is None else Effort(seconds=SHARE * seconds, gap=GAP)
    shifts = scouted_crew(grid, effort, stop)
    if not shifts:
        return
    yield from plans_with(grid, shifts)


def scouted_crew(grid: Grid, effort: Effort, stop: Event | None = None) -> tuple[ShiftOption, ...]:
    """Shifts that would do on the coarse grid; none if HiGHS found nothing, or the grid is coarse already."""
    if grid.step_min >= COARSE_MIN:
        return ()
    coarse = build_grid(grid.scenario, COARSE_MIN)
    model = build_flow(melted(coarse))
    answer = solve(model.milp, effort, progress=None if stop is None else lambda _: stop.is_set())
    if answer.x is None:
        return ()
    chosen = {
        (option.person.name, option.pattern.name, option.start_min)
        for option, column in zip(coarse.shifts, model.shifts, strict=True)
        if answer.x[column] > 0.5
    }
    return tuple(o for o in grid.shifts if (o.person.name, o.pattern.name, o.start_min) in chosen)
