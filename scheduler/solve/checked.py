"""From a board to a plan that the audit passes, if there is one near."""

from __future__ import annotations

from scheduler.audit import audit
from scheduler.model.plan import Plan
from scheduler.solve.assemble import assemble
from scheduler.solve.board import Board
from scheduler.solve.frame import Frame
from scheduler.solve.hands import SPARE_MIN
from scheduler.solve.progress import certificate
from scheduler.solve.settle import remade, settle, tended


def checked(board: Board, repairs: int = 0) -> Plan | None:
    """The plan of a board, without a certificate worth the name; None if the audit finds a breach in it."""
    passed = repaired(board, repairs)
    return None if passed is None else passed[0]


def repaired(board: Board, repairs: int) -> tuple[Plan, Board] | None:
    """The same, and the board whose plan it is.

    Where the work of a step can't be shared out among the people there, hands are spared and loads placed anew, so many
    times, in the end with another crew; the plan is then one of another board, and dearer.
    """
    unsigned = certificate(0, None, board.grid.step_min, 0.0, "time", 0)
    for left in range(repairs, -1, -1):
        made = assemble(board, unsigned)
        if not made.overfull:
            return None if audit(made.plan, board.grid.scenario) else (made.plan, board)
        if left:
            board = _spared(board, made.overfull, crew_stays=2 * left > repairs)
    return None


def _spared(board: Board, steps: tuple[int, ...], *, crew_stays: bool) -> Board:
    """The board with hands spared at some steps."""
    frame = Frame(board.frame.levels, board.frame.shifts, (*board.frame.spared, *((step, SPARE_MIN) for step in steps)))
    if crew_stays:
        return settle(remade(board, tended(board.grid, frame), board.placed), old_shifts=True)
    return settle(board.under(frame))
