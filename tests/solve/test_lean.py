"""Plans with a lean crew: for a festival, where a crew for every rush would be dear."""

from __future__ import annotations

from itertools import islice

import pytest
from solve_kitchen import grid_of, hand_made

from scheduler.bench.weekends import Case
from scheduler.solve.checked import checked
from scheduler.solve.grid import build_grid
from scheduler.solve.improve import first_plans
from scheduler.solve.lean import CAN_WAIT, festival, lean_boards, lean_crew
from scheduler.solve.roster import roster
from scheduler.solve.settle import cost_cents, everywhere


@pytest.mark.parametrize(("family", "large"), [("S", False), ("M", False), ("L", True)])
def test_which_weekends_are_festivals(family: str, large: bool) -> None:
    assert festival(build_grid(Case(family, "easy", 0).scenario())) == large


def test_nobody_is_called_in_for_what_can_wait() -> None:
    board = hand_made(grid_of())
    (wait,) = {kinds for kinds in CAN_WAIT if "pull" not in kinds}
    lean = lean_crew(board, wait)
    wages = [sum(option.wage_cent_min for option in crew) for crew in (lean, roster(board))]
    assert wages[0] <= wages[1]
    assert lean_crew(board, frozenset()) == roster(board)
    assert any("counter" in option.skills for option in lean), "the counter cannot wait"


def test_a_lean_plan_of_a_festival_is_cheaper_and_passes_the_audit() -> None:
    grid = build_grid(Case("L", "easy", 0).scenario(), 30)
    levels = everywhere(grid, [box.setpoints_f[0] for box in grid.fireboxes])
    first = next(first_plans(grid))
    boards = list(lean_boards(first.board, levels))
    assert len(boards) == len(CAN_WAIT)
    cheapest = min(boards, key=cost_cents)
    assert cost_cents(cheapest) < first.cents
    assert not cheapest.hands.overspent()
    assert checked(cheapest, repairs=2) is not None


def test_lean_plans_of_a_festival_follow_the_first_one() -> None:
    grid = build_grid(Case("L", "easy", 0).scenario())
    first, lean = islice(first_plans(grid), 2)
    levels = everywhere(grid, [box.setpoints_f[0] for box in grid.fireboxes])
    assert lean.cents == cost_cents(next(lean_boards(first.board, levels)))
    assert lean.cents < first.cents
