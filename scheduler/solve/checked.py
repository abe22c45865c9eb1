"""From a board to a plan that the audit passes, if there is one near."""

from __future__ import annotations

from scheduler.audit import audit
from scheduler.model.plan import Plan
from scheduler.solve.assemble import assemble
from scheduler.solve.board import Board
from scheduler.solve.frame import Frame
from scheduler.solve.progress import certificate
from scheduler.solve.settle import settle

SPARE_MIN = 5.0
"""Minutes of hands spared at a step whose work could not be shared out, each time."""


def checked(board: Board, repairs: int = 0) -> Plan | None:
    """The plan of a board, without a certificate worth the name; None if the audit finds a breach in it.

    Where the work of a step can't be shared out among the people there, hands are spared and loads placed anew, so many
    times; the plan is then one of another board, and dearer.
    """
    unsigned = certificate(0, None, board.grid.step_min, 0.0, "time", 0)
    for left in range(repairs, -1, -1):
        made = assemble(board, unsigned)
        if not made.overfull:
            return None if audit(made.plan, board.grid.scenario) else made.plan
        if left:
            frame = board.frame
            spared = (*frame.spared, *((step, SPARE_MIN) for step in made.overfull))
            board = settle(_with_frame(board, Frame(frame.levels, frame.shifts, spared)))
    return None


def _with_frame(board: Board, frame: Frame) -> Board:
    found = Board.empty(board.grid, frame)
    for load in board.placed:
        found.put(load)
    return found
