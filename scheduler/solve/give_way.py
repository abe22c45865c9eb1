"""Work of a step that is too full gives way: a probe round a step later or sooner, slicing while its wave is served.

The board counts pulling and slicing as spread evenly. Rounds and whole minutes are lumpier than that, so now and then a
step is too full though its neighbour is not.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from scheduler.model.plan import Load
from scheduler.solve.grid import Grid
from scheduler.solve.people import OnShift, Sheet, can_share, share_out
from scheduler.solve.work import Work


def shared(
    grid: Grid, work: list[list[Work]], crew: list[OnShift], loads: Mapping[str, Load], first_step: int = 0
) -> Sheet:
    """All work given to people; what is too much for a step moves to the one after or before it, none before the first.

    `loads` by code. Changes `work`.
    """
    sheet = share_out(grid, work, crew)
    moved = [step for step in sheet.overfull if _relieved(grid, work, crew, loads, step, first_step)]
    return share_out(grid, work, crew) if moved else sheet


def _relieved(
    grid: Grid, work: list[list[Work]], crew: list[OnShift], loads: Mapping[str, Load], step: int, first_step: int
) -> bool:
    """True if a step could be relieved of enough; else all stays where it was."""
    tried = {k: work[k] for k in (step - 1, step, step + 1) if first_step <= k < grid.steps}
    for todo in sorted((w for w in work[step] if w.kind in ("pull", "slice")), key=lambda w: w.minutes):
        for other in (step + 1, step - 1):
            new = _at(grid, todo, other, loads) if other in tried else None
            if new is not None and can_share(grid, [*tried[other], new], crew, other):
                tried[other] = [*tried[other], new]
                tried[step] = [w for w in tried[step] if w is not todo]
                break
        if can_share(grid, tried[step], crew, step):
            for k, todos in tried.items():
                work[k] = todos
            return True
    return False


def _at(grid: Grid, todo: Work, step: int, loads: Mapping[str, Load]) -> Work | None:
    """The same work in another step; None if it can't be done there."""
    start, end = step * grid.step_min, (step + 1) * grid.step_min
    mine = [loads[code] for code in todo.loads]
    if todo.kind == "pull":
        # A round is for pieces that may be done; all of its loads are.
        may = all(grid.minute(load.early_done_at) < end and start < grid.minute(load.late_done_at) for load in mine)
        return replace(todo, step=step, after=0, before=None) if may else None
    ready, until = grid.minute(mine[0].ready_by_at), grid.minute(mine[0].served_until_at)
    after, before = max(0, ready - start), until - start if until < end else None
    room = (grid.step_min if before is None else before) - after
    return replace(todo, step=step, after=after, before=before) if room >= todo.minutes else None
