"""Work of a step that is too full gives way to the steps beside it, within what the rounds and the serving allow."""

from __future__ import annotations

from solve.test_people import crew_of
from solve_kitchen import grid_of, hand_made, plan_of

from scheduler.model.plan import Load
from scheduler.solve.give_way import shared
from scheduler.solve.grid import Grid
from scheduler.solve.people import OnShift, Sheet
from scheduler.solve.work import Work

STEP = 30
"""7:30 am: BR01 may be done from 7:00 to 8:30, CH01 is loaded now and done at 8:50 at the soonest."""
ANA = (("Ana", "day"),)


def loads_of() -> dict[str, Load]:
    return {load.code: load for load in plan_of(hand_made(grid_of())).loads}


def given(grid: Grid, crew: list[OnShift], *todo: Work, first_step: int = 0) -> Sheet:
    work: list[list[Work]] = [[] for _ in range(grid.steps)]
    for item in todo:
        work[item.step].append(item)
    return shared(grid, work, crew, loads_of(), first_step)


def loading(minutes: int, step: int = STEP) -> Work:
    return Work(step, "load", minutes, ("CH01",), minutes, 1.0)


def pulling(minutes: int, code: str = "BR01", step: int = STEP) -> Work:
    return Work(step, "pull", minutes, (code,))


def starts(sheet: Sheet, kind: str) -> list[int]:
    """Steps of the tasks of a kind."""
    grid = grid_of()
    return [grid.down(grid.minute(task.at)) for task in sheet.tasks if task.kind == kind]


def test_what_fits_stays_where_it_is() -> None:
    grid = grid_of()
    sheet = given(grid, crew_of(grid, *ANA), loading(12), pulling(3))
    assert not sheet.overfull
    assert starts(sheet, "pull") == [STEP]


def test_a_round_gives_way_to_the_next_step_or_else_the_one_before() -> None:
    grid = grid_of()
    crew = crew_of(grid, *ANA)
    later = given(grid, crew, loading(13), pulling(3))
    assert (later.overfull, starts(later, "pull")) == ((), [STEP + 1])
    sooner = given(grid, crew, loading(13), pulling(3), loading(15, STEP + 1))
    assert (sooner.overfull, starts(sooner, "pull")) == ((), [STEP - 1])


def test_where_both_neighbours_are_full_all_stays_and_is_told() -> None:
    grid = grid_of()
    full = [loading(15, STEP - 1), loading(15, STEP + 1)]
    sheet = given(grid, crew_of(grid, *ANA), loading(13), pulling(3), *full)
    assert sheet.overfull == (STEP,)
    assert len(sheet.tasks) == 2


def test_nothing_goes_into_the_past() -> None:
    grid = grid_of()
    sheet = given(grid, crew_of(grid, *ANA), loading(13), pulling(3), loading(15, STEP + 1), first_step=STEP)
    assert sheet.overfull == (STEP,)


def test_a_round_stays_within_the_hours_in_which_its_load_may_be_done() -> None:
    # BR01 is late at 8:30, the start of step 34: a round of step 33 has nowhere later to go.
    grid = grid_of()
    crew = crew_of(grid, *ANA)
    sheet = given(grid, crew, loading(13, 33), pulling(3, step=33))
    assert (sheet.overfull, starts(sheet, "pull")) == ((), [32])
    assert given(grid, crew, loading(13, 33), pulling(3, step=33), loading(15, 32)).overfull == (33,)


def test_slicing_gives_way_while_its_wave_is_served() -> None:
    grid = grid_of()
    br01 = loads_of()["BR01"]
    first = grid.up(grid.minute(br01.ready_by_at))
    crew = crew_of(grid, ("Cal", "service"))
    todo = Work(first, "slice", 13, ("BR01",)), Work(first, "slice", 3, ("BR01",))
    sheet = given(grid, crew, *todo)
    assert (sheet.overfull, starts(sheet, "slice")) == ((), [first, first + 1]), "not before it is ready"
