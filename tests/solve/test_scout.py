"""A cheap crew found on the coarse grid, and plans with it."""

from __future__ import annotations

from solve.corner import corner

from scheduler.bench.weekends import Case
from scheduler.solve.grid import build_grid
from scheduler.solve.highs import Effort
from scheduler.solve.scout import COARSE_MIN, scouted_crew, scouted_plans
from scheduler.solve.settle import cost_cents


def test_the_crew_mans_the_counter_and_is_cheaper_than_everyone() -> None:
    grid = build_grid(corner())
    crew = scouted_crew(grid, Effort(nodes=1))
    assert crew
    assert sum(o.wage_cent_min for o in crew) < sum(o.wage_cent_min for o in grid.shifts)
    counter = [o for o in crew if "counter" in o.skills]
    (day,) = grid.scenario.weekend.days
    opens, closes = (grid.minute(grid.scenario.weekend.local(at)) for at in (day.opens, day.closes))
    assert all(any(o.start_min <= m < o.end_min for o in counter) for m in range(opens, closes))


def test_its_plans_are_sound_and_keep_that_crew() -> None:
    grid = build_grid(corner())
    crew = scouted_crew(grid, Effort(nodes=1))
    plans = list(scouted_plans(grid, None))
    assert plans
    for plan in plans:
        assert plan.board.frame.shifts == crew
        assert not plan.board.hands.overspent()
        assert plan.cents == cost_cents(plan.board)
        assert min(int(room.min()) for room in (*plan.board.free, *plan.board.rest, *plan.board.hold)) >= 0


def test_a_festival_is_not_scouted() -> None:
    grid = build_grid(Case("L", "easy", 0).scenario())
    assert list(scouted_plans(grid, None)) == []


def test_scouting_repeats() -> None:
    grid = build_grid(corner())
    assert [p.cents for p in scouted_plans(grid, None)] == [p.cents for p in scouted_plans(grid, None)]


def test_nothing_to_scout_on_a_coarse_grid() -> None:
    assert scouted_crew(build_grid(corner(), COARSE_MIN), Effort(nodes=1)) == ()
