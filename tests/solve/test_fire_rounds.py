"""Rounds of tending: how often they come back to the start of a step, and what they take of it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from solve_kitchen import grid_of

from scheduler.model.site import Firebox
from scheduler.solve.fire_rounds import round_extra_min, rounds_every
from scheduler.solve.grid import Grid


def with_boxes(*tend_every_min: int) -> Grid:
    """The kitchen with fires tended that often, 4 minutes a round."""
    grid = grid_of()
    box = grid.fireboxes[0]
    boxes = tuple(
        Firebox(**(box.model_dump() | {"name": f"box {i}", "tend_every_min": every, "tend_min": 4}))
        for i, every in enumerate(tend_every_min)
    )
    site = grid.scenario.site.model_copy(update={"fireboxes": boxes})
    return replace(grid, scenario=grid.scenario.model_copy(update={"site": site}))


@pytest.mark.parametrize(("minutes", "steps"), [(15, 1), (30, 2), (45, 3), (60, 4), (40, 1), (50, 1), (75, 1)])
def test_rounds_come_back_within_an_hour_or_are_not_counted_on(minutes: int, steps: int) -> None:
    grid = with_boxes(minutes)
    assert rounds_every(grid, grid.fireboxes[0]) == steps


def test_the_slack_of_a_step_is_shared_by_fires_whose_rounds_may_fall_into_it() -> None:
    # 15 min at 50 of 60 leave 2.5 min of slack; a round of 4 min every 45 is 4/3 min a step on average.
    alone = 4 - 4 / 3 - 2.5
    assert round_extra_min(with_boxes(45), 0) == pytest.approx(alone)
    assert round_extra_min(with_boxes(45, 45, 45), 1) == pytest.approx(alone), "each has steps of its own"
    assert round_extra_min(with_boxes(45, 45, 45, 45), 3) == pytest.approx(4 - 4 / 3 - 2.5 / 2), "the first's steps"
    assert round_extra_min(with_boxes(45, 45, 45, 45), 1) == pytest.approx(alone)
    assert round_extra_min(with_boxes(45, 60), 0) == pytest.approx(4 - 4 / 3 - 2.5 / 2), "they meet now and then"
    assert round_extra_min(with_boxes(45, 40), 0) == pytest.approx(4 - 4 / 3 - 2.5 / 2), "it is anybody's guess"
