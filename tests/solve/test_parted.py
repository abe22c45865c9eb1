"""From the relaxation with like racks as one zone to single places: nothing of the plan is lost, nothing is kinder."""

from __future__ import annotations

import numpy as np
import pytest
from solve.corner import corner, finished

from scheduler.solve.board import Board
from scheduler.solve.highs import Effort, solve
from scheduler.solve.left_over import Stretch
from scheduler.solve.milp import Floats
from scheduler.solve.parted import used_columns
from scheduler.solve.program import Program, parted_program, program


@pytest.fixture(scope="module")
def board() -> Board:
    return finished(corner())[1]


def everything(board: Board, *, fires: bool) -> Stretch:
    grid = board.grid
    free = frozenset(range(len(grid.fireboxes))) if fires else frozenset[int]()
    return Stretch(frozenset(range(len(grid.demands))), free)


def relaxed(p: Program, upper: Floats | None = None) -> tuple[Floats, float]:
    """A point of the relaxation, and its cost."""
    answer = solve(p.milp, Effort(), lower=p.lower, upper=p.upper if upper is None else upper, relax=True)
    assert answer.x is not None
    return answer.x, answer.cost


@pytest.mark.parametrize("fires", [False, True])
def test_the_zoned_program_is_smaller_and_no_dearer_than_what_is_made_of_it(board: Board, fires: bool) -> None:
    rough = program(board, everything(board, fires=fires))
    assert rough.model.zones.melted
    x, cost = relaxed(rough)
    exact = parted_program(rough, x)
    assert not exact.model.zones.melted
    useful = ~exact.milp.integer | (exact.now != 0)
    useful[used_columns(exact.model, rough.model, x)] = True
    _, parted_cost = relaxed(exact, np.where(useful, exact.upper, exact.lower))
    assert cost <= parted_cost + 1e-6
    assert parted_cost <= exact.now_cents + 1e-6, "the plan is a point of it"


def test_what_starts_in_a_zone_may_start_in_each_of_its_places_and_the_plan_keeps_its_starts(board: Board) -> None:
    rough = program(board, everything(board, fires=False))
    x, _ = relaxed(rough)
    exact = parted_program(rough, x)
    used = 0
    for option, columns, single in zip(
        rough.model.zones.streams, rough.model.streams, exact.model.streams, strict=True
    ):
        places = {finish.zone: [one.place for one in finish.places] for finish in option.finish}
        for (zone, demand, step), column in columns.by_demand.items():
            if x[column] > 1e-6:
                used += len(places[zone])
                assert all((place, demand, step) in single.by_demand for place in places[zone])
    assert used
    for load in board.placed:
        place = board.spots[load.finish_spot].place
        assert (place, load.demand, load.finish_step) in exact.model.streams[load.stream].by_demand
