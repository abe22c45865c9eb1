"""What has to be done in each step: everything once, for the minutes it takes, at a time at which it may be done."""

from __future__ import annotations

from collections import defaultdict
from datetime import timedelta
from itertools import pairwise
from math import ceil

import pytest
from audit_kitchen import Kitchen, kitchen, naive
from hypothesis import given, settings
from hypothesis import strategies as st
from solve_kitchen import grid_of, hand_made, plan_of
from strategies import weekends

from scheduler.model.crew import TaskKind
from scheduler.model.plan import Load
from scheduler.model.scenario import Scenario
from scheduler.model.weekend import ServiceDay, Wave
from scheduler.solve.frame import Burn
from scheduler.solve.grid import Grid, build_grid
from scheduler.solve.improve import first_plans
from scheduler.solve.work import PROBE_EVERY_MIN, Work, all_work


def work_of(
    grid: Grid, *kinds: TaskKind, loads: tuple[Load, ...] | None = None, burns: tuple[Burn, ...] = ()
) -> list[Work]:
    """The work of some kinds, in order of time; of the hand-made plan's loads unless others are given."""
    if loads is None:
        loads = plan_of(hand_made(grid_of())).loads
    found = all_work(grid, loads, burns)
    assert all(work.step == step for step, works in enumerate(found) for work in works)
    return [work for works in found for work in works if work.kind in kinds]


def test_loading_and_wrapping_take_their_minutes_rounded_up() -> None:
    found = work_of(grid_of(), "load", "wrap")
    assert [(w.step, w.kind, w.loads, w.pieces, w.minutes) for w in found] == [
        (8, "load", ("BR01",), 3, 8),
        (9, "load", ("BR02",), 1, 3),
        (22, "wrap", ("BR01",), 3, 8),
        (23, "wrap", ("BR02",), 1, 3),
        (30, "load", ("CH01",), 4, 2),
    ]
    assert all(work.by_piece for work in found)
    assert not any(work.by_minute for work in found)


def test_work_that_takes_no_time_is_a_task_of_a_minute() -> None:
    of = kitchen().hands("chicken", load_min=0.0, pull_min=0.0)
    (load,) = (w for w in work_of(grid_of(of), "load") if w.loads == ("CH01",))
    assert load.minutes == 1
    assert {w.minutes for w in work_of(grid_of(of), "pull") if w.loads == ("CH01",)} == {1}


def test_rounds_of_probing_cover_the_window_of_each_load() -> None:
    grid = grid_of()
    loads = plan_of(hand_made(grid)).loads
    rounds = work_of(grid, "pull")
    for load in loads:
        starts = [w.step * 15 for w in rounds if load.code in w.loads]
        early, late = grid.minute(load.early_done_at), grid.minute(load.late_done_at)
        assert early - 15 <= min(starts)
        assert max(starts) <= late
        ends = [early, *starts, late]
        # A round may be done at any moment of its step, so that two may lie 15 minutes further apart.
        assert all(b - a <= PROBE_EVERY_MIN + 15 for a, b in pairwise(ends))
        assert sum(w.minutes for w in rounds if load.code in w.loads) >= load.pieces * 0.5


def test_a_round_that_is_too_long_for_one_is_gone_by_several() -> None:
    # 120 minutes for the three pieces of BR01 and 40 for BR03, in a few rounds.
    of = kitchen().hands("brisket", pull_min=40.0)
    grid = grid_of(of)
    (bulk, *_) = plan_of(hand_made(grid_of())).loads
    beside = bulk.model_copy(update={"code": "BR03", "pieces": 1})
    by_step: dict[int, list[Work]] = defaultdict(list)
    for work in work_of(grid, "pull", loads=(bulk, beside)):
        by_step[work.step].append(work)
    assert by_step
    for rounds in by_step.values():
        assert len(rounds) > 1
        assert all(work.minutes <= 13 for work in rounds), "50 minutes of an hour"
        assert sum(work.minutes for work in rounds) >= 160 / len(by_step)
        assert [work.loads for work in rounds if "BR03" in work.loads][-1] == rounds[-1].loads
        assert {code for work in rounds for code in work.loads} == {"BR01", "BR03"}


def test_on_a_grid_of_hours_rounds_are_still_half_an_hour_apart() -> None:
    loads = plan_of(hand_made(grid_of())).loads
    rounds = [w for w in work_of(grid_of(step_min=60), "pull", loads=loads) if "CH01" in w.loads]
    # Done from 8:50 to 9:30: a round from 8:30 to 9:00, one before 9:30, and one after.
    assert [(w.step, w.after, w.before) for w in rounds] == [(8, 30, None), (9, 0, 30), (9, 30, None)]


def test_slicing_is_spread_over_the_serving() -> None:
    grid = grid_of()
    found = work_of(grid, "slice")
    by_wave: dict[tuple[str, ...], list[Work]] = defaultdict(list)
    for work in found:
        by_wave[work.loads].append(work)
    assert {loads: sum(w.minutes for w in works) for loads, works in by_wave.items()} == {
        ("BR01",): 15,
        ("CH01",): 4,
        ("BR02",): 5,
    }
    assert {w.step for w in by_wave["BR02",]} <= {48, 49}, "the order waits from 12:00 to 12:30"
    assert {w.step for w in by_wave["BR01",]} <= set(range(44, 56))
    assert all(w.after == 0 and w.before is None for w in found)
    assert all(w.by_minute for w in found)


@pytest.mark.parametrize(
    ("at", "until", "expected"),
    [
        ("11:10", "11:25", [(44, 5, 10, None), (45, 10, 0, 10)]),
        ("11:05", "11:10", [(44, 15, 5, 10)]),
        ("11:00", "11:30", [(44, 8, 0, None), (45, 7, 0, None)]),
    ],
)
def test_waves_off_the_grid_are_sliced_inside_their_serving(
    at: str, until: str, expected: list[tuple[int, int, int, int | None]]
) -> None:
    wave = Wave(cut="brisket", at=naive(at), until=naive(until), pieces=3)
    grid = grid_of(kitchen().weekend(waves=(wave,), orders=()))
    (demand,) = grid.demands
    load = (
        plan_of(hand_made(grid_of()))
        .loads[0]
        .model_copy(
            update={"ready_by_at": demand.ready_by_at, "served_until_at": demand.served_until_at, "wave": demand.wave}
        )
    )
    found = work_of(grid, "slice", loads=(load,))
    assert [(w.step, w.minutes, w.after, w.before) for w in found] == expected


def test_fire_work_of_two_burns() -> None:
    grid = grid_of()
    burns = (Burn(0, 4, 20, ((8, 250),)), Burn(0, 30, 34, ((34, 250),)))
    found = work_of(grid, "light", "tend", "clean", loads=(), burns=burns)
    assert {w.place for w in found} == {"oak"}
    assert [(w.step, w.minutes) for w in found if w.kind == "light"] == [(4, 10), (30, 10)]
    # Every hour from the lighting on, while it burns: 2:00, 3:00 and 4:00; the second is out after an hour.
    assert [(w.step, w.minutes) for w in found if w.kind == "tend"] == [(8, 5), (12, 5), (16, 5)]
    assert [(w.step, w.minutes) for w in found if w.kind == "clean"] == [(26, 15), (27, 15), (28, 15), (29, 15)]


def test_a_round_off_the_grid_is_in_the_step_that_starts_after_it_is_due() -> None:
    grid = grid_of(kitchen().firebox("oak", tend_every_min=50, light_min=0))
    found = work_of(grid, "light", "tend", loads=(), burns=(Burn(0, 0, 12, ((4, 250),)),))
    # Due at 0:50, 1:40 and 2:30.
    assert [(w.kind, w.step) for w in found] == [("tend", 4), ("tend", 7), ("tend", 10)]


def test_a_fire_that_needs_no_tending_asks_for_none() -> None:
    of = kitchen().firebox("oak", tend_min=0, clean_out_min=0)
    burns = (Burn(0, 4, 20, ((8, 250),)), Burn(0, 30, 40, ((34, 250),)))
    assert {w.kind for w in work_of(grid_of(of), "light", "tend", "clean", loads=(), burns=burns)} == {"light"}


def test_the_counter_is_manned_in_every_step_of_service() -> None:
    found = work_of(grid_of(kitchen().counter_hands(2)), "counter")
    assert [(w.step, w.minutes) for w in found] == [(step, 30) for step in range(44, 56)]
    odd = (ServiceDay(opens=naive("11:10"), closes=naive("11:50"), counter_hands=1),)
    assert [w.step for w in work_of(grid_of(kitchen().weekend(days=odd)), "counter")] == [44, 45, 46, 47]
    assert work_of(grid_of(kitchen().counter_hands(0)), "counter") == []


def minutes(load: Load, each: float) -> int:
    return ceil(load.pieces * each - 1e-9)


@given(weekends(), st.sampled_from((15, 30)))
@settings(max_examples=25)
def test_every_load_of_any_plan_is_worked_on_in_full(scenario: Scenario, step_min: int) -> None:
    grid = build_grid(scenario, step_min)
    board = next(iter(first_plans(grid))).board
    loads = plan_of(board).loads
    found = work_of(grid, "load", "wrap", "pull", "slice", loads=loads)
    for load in loads:
        hands = scenario.menu.cut(load.cut).hands
        mine = {
            kind: [w for w in found if w.kind == kind and load.code in w.loads] for kind in ("load", "wrap", "pull")
        }
        assert [w.minutes for w in mine["load"]] == [max(1, minutes(load, hands.load_min))]
        assert len(mine["wrap"]) == (load.wrap_at is not None)
        rounds = [scenario.weekend.timeline.moment(w.step * step_min) for w in mine["pull"]]
        assert load.early_done_at - rounds[0] <= timedelta(minutes=step_min)
        assert all(b - a <= timedelta(minutes=45) for a, b in pairwise(rounds))
    for load in loads:
        wave = [x for x in loads if (x.cut, x.wave) == (load.cut, load.wave)]
        wanted = sum(x.pieces for x in wave) * scenario.menu.cut(load.cut).hands.slice_min
        sliced = sum(w.minutes for w in found if w.kind == "slice" and load.code in w.loads)
        assert abs(sliced - wanted) <= 0.5


def test_a_kitchen_without_cuts_to_slice_slices_nothing() -> None:
    of: Kitchen = kitchen().hands("brisket", slice_min=0.0).hands("chicken", slice_min=0.0)
    assert work_of(grid_of(of), "slice") == []
