"""A plan with few people: what a lean crew has the hands for goes on first, the rest wherever anybody could do it.

Loads placed with everyone there go on all at once, and somebody is called in for each rush. A crew that has the hands
for all that cannot wait, but none for loading and wrapping, still has them to spare most of the time.
"""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.model.crew import TaskKind
from scheduler.solve.board import Board
from scheduler.solve.exact import cells
from scheduler.solve.frame import Frame, Ints
from scheduler.solve.grid import Grid
from scheduler.solve.roster import roster, work_alone
from scheduler.solve.settle import rebuild, settle, tended, trimmed
from scheduler.solve.shift_options import ShiftOption

CAN_WAIT: tuple[frozenset[TaskKind], ...] = (
    frozenset({"load", "wrap"}),
    frozenset({"load", "wrap", "pull"}),
    frozenset({"load", "wrap"}),
)
"""Work for which nobody is called in at first, round by round; each begins at the crew of the one before."""
FESTIVAL_CELLS = 10_000
"""Choices in a weekend (`exact.cells`) beyond which it is a festival. With 6,000 the search comes no further from lean
plans in as many moves, and scouting finds another crew; with 16,000 lean plans cost a fifth less than the first one,
while scouted ones are dearer by half and take 6 s."""


def festival(grid: Grid) -> bool:
    """True for a weekend so large that the search has to begin with a lean crew, as it makes few moves."""
    return cells(grid) > FESTIVAL_CELLS


def lean_boards(board: Board, levels: tuple[Ints, ...]) -> Iterator[Board]:
    """Boards made anew from one, round by round, each under a lean crew for the one before; fires open at `levels`."""
    grid = board.grid
    for can_wait in CAN_WAIT:
        crew = lean_crew(board, can_wait)
        lean = rebuild(grid, tended(grid, Frame(levels, crew, board.frame.spared)), ())
        board = settle(rebuild(grid, Frame(levels, grid.shifts, board.frame.spared), lean.placed))
        yield board


def lean_crew(board: Board, can_wait: frozenset[TaskKind]) -> tuple[ShiftOption, ...]:
    """The cheapest shifts for all that is done on a board but for work that can wait."""
    trim = board.under(board.frame.with_levels(trimmed(board)))
    hands = work_alone(trim)
    for load in trim.placed:
        for kind, skill, steps, minutes in trim.work_of(load):
            if kind in can_wait:
                hands.spend(skill, steps, -minutes)
    return roster(trim, hands=hands)
