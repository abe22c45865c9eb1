"""Places one by one, and melted together with the minutes kindest to each rule."""

from __future__ import annotations

import pytest
from audit_kitchen import kitchen
from solve_kitchen import LOW, OVEN, SOUTH, TOP, grid_of

from scheduler.solve.zones import OVEN as ALWAYS_ON
from scheduler.solve.zones import Zones, melted, one_by_one


def hot_low_rack() -> tuple[Zones, Zones]:
    """Chicken is quicker on the low rack: 70 to 105 minutes instead of 80 to 120."""
    grid = grid_of(kitchen().recipe("chicken", faster_pct_per_f=1.25))
    return one_by_one(grid), melted(grid)


def test_one_by_one_each_place_keeps_its_own_times() -> None:
    single, _ = hot_low_rack()
    assert single.zones == ((TOP,), (LOW,), (SOUTH,), (OVEN,))
    assert not single.melted
    chicken = single.streams[1]
    assert [(f.zone, f.early_min, f.late_min) for f in chicken.finish] == [
        (TOP, 80, 120),
        (LOW, 70, 105),
        (SOUTH, 80, 120),
    ]
    assert chicken.smoke == ()
    assert chicken.finish[1].room == {(LOW, 250), (LOW, 275)}


def test_melted_each_rule_has_the_minutes_kindest_to_it() -> None:
    single, whole = hot_low_rack()
    assert whole.zones == ((TOP, LOW, SOUTH, OVEN),)
    assert whole.melted
    (finish,) = whole.streams[1].finish
    assert (finish.early_min, finish.late_min) == (80, 105), "the hold starts late, the rack is free soon"
    assert finish.room == {(place, f) for place in (TOP, LOW, SOUTH) for f in (250, 275)}
    assert finish.pull_span == max(option.pull_span for option in single.streams[1].finish)


def test_an_oven_is_a_room_that_is_always_on() -> None:
    (finish,) = melted(grid_of()).streams[0].finish
    assert (OVEN, ALWAYS_ON) in finish.room
    (smoke,) = melted(grid_of()).streams[0].smoke
    assert smoke.room == {(place, f) for place in (TOP, SOUTH) for f in (225, 250)}


def test_melted_wrap_windows_are_the_widest() -> None:
    site = kitchen().rack("south", "only", offset_f=10).recipe("brisket", faster_pct_per_f=1.0, high_f=285)
    (smoke,) = melted(grid_of(site)).streams[0].smoke
    assert (smoke.wrap_from_min, smoke.wrap_to_min) == (162, 240)


def test_melted_windows_and_hold_costs_are_those_of_the_kindest_place() -> None:
    single, whole = hot_low_rack()
    (finish,) = whole.streams[1].finish
    chicken = single.streams[1].stream
    each = [single.finish_steps(chicken, option, 1) for option in single.streams[1].finish]
    assert whole.finish_steps(chicken, finish, 1) == range(min(s.start for s in each), max(s.stop for s in each))
    for step in each[1]:
        least = min(single.hold_cents(chicken, option, 1, step) for option in single.streams[1].finish)
        assert whole.hold_cents(chicken, finish, 1, step) == pytest.approx(least)
    assert whole.finish_steps(chicken, finish, 0) == range(0)
