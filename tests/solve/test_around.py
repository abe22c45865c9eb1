"""A load moved by hand is taken at its word; planned around, the pins stay and the audit passes."""

from __future__ import annotations

from functools import cache

import pytest
from solve.corner import SCENARIOS, corner, finished, with_weekend

from scheduler.audit import audit
from scheduler.books import read_scenario
from scheduler.errors import InputError
from scheduler.model.clock import add_min
from scheduler.model.plan import Load, Plan
from scheduler.solve.again import plan_again
from scheduler.solve.around import MovedLoad, move_load, plan_around


@cache
def plan() -> Plan:
    return finished(corner())[0]


def asked(load: Load, later_min: int = 0, **changes: str) -> MovedLoad:
    minute = corner().weekend.timeline.minute
    wrap = None if load.wrap_at is None else minute(load.wrap_at) + later_min
    at = minute(load.load_at) + later_min
    places = {"smoker": load.smoker, "rack": load.rack} | changes
    finish = places if load.finish_place == load.smoker else {"smoker": load.finish_place, "rack": load.finish_rack}
    return MovedLoad(load.code, places["smoker"], places["rack"], at, wrap, finish["smoker"] or "", finish["rack"])


def first(code: str) -> Load:
    return next(load for load in plan().loads if load.code.startswith(code))


def test_a_move_to_where_it_is_changes_nothing_but_who_does_what() -> None:
    load = first("BR")
    again = move_load(plan(), corner(), asked(load))
    assert again.loads == plan().loads
    assert again.cost == plan().cost
    assert audit(again, corner()) == ()


def test_a_move_keeps_the_codes_and_the_audit_says_what_it_breaks() -> None:
    load = first("BR")
    moved = move_load(plan(), corner(), asked(load, later_min=180))
    assert {x.code for x in moved.loads} == {x.code for x in plan().loads}
    assert moved.load(load.code).load_at == add_min(load.load_at, 180)
    assert [x for x in moved.loads if x.code != load.code] == [x for x in plan().loads if x.code != load.code]
    assert any(load.code in breach.loads for breach in audit(moved, corner()))


@pytest.mark.parametrize(
    ("changes", "later_min", "field"), [({"rack": "attic"}, 0, "rack"), ({}, 7, "load"), ({}, -5000, "load")]
)
def test_a_move_that_makes_no_sense_is_refused_at_its_field(
    changes: dict[str, str], later_min: int, field: str
) -> None:
    with pytest.raises(InputError) as caught:
        move_load(plan(), corner(), asked(first("BR"), later_min, **changes))
    assert [problem.field for problem in caught.value.problems] == [field]


def test_around_a_pin_everything_else_is_planned_anew() -> None:
    load = first("SR")
    moved = move_load(plan(), corner(), asked(load, later_min=-15))
    found = plan_around(moved, corner(), [load.code], work=15)
    assert audit(found, corner()) == ()
    assert found.load(load.code) == moved.load(load.code)
    assert plan_around(moved, corner(), [load.code], work=15) == found


def test_a_plan_taken_up_again_says_what_ended_its_search() -> None:
    by_time = plan_again(plan(), corner(), seconds=0.5, reasons=False).certificate
    by_moves = plan_again(plan(), corner(), work=1, reasons=False).certificate
    assert (by_time.stopped_by, by_moves.stopped_by) == ("time", "work")
    assert by_time.seconds > 0 == by_moves.seconds


def test_a_pin_that_no_plan_can_keep_is_told() -> None:
    load = first("BR")
    moved = move_load(plan(), corner(), asked(load, later_min=600))
    with pytest.raises(InputError, match=load.code):
        plan_around(moved, corner(), [load.code], work=5)


def test_a_pin_of_no_load_is_refused() -> None:
    with pytest.raises(InputError, match="BR99, pin: the plan has no such load"):
        plan_around(plan(), corner(), ["BR99"], work=1)


def test_a_pin_in_the_hour_that_comes_twice_is_kept_by_a_plan_out_of_json() -> None:
    scenario = read_scenario(SCENARIOS / "first-frost")
    made = finished(scenario)[0]
    read = Plan.model_validate_json(made.model_dump_json())
    pinned = [load for load in made.loads if load != read.load(load.code)]
    assert pinned
    codes = {load.code: load.code[:2] + "9" + load.code[2:] for load in pinned}
    loads = tuple(load.model_copy(update={"code": codes.get(load.code, load.code)}) for load in read.loads)
    found = plan_around(read.model_copy(update={"loads": loads}), scenario, codes.values(), work=1)
    for load in pinned:
        assert found.load(codes[load.code]) == load.model_copy(update={"code": codes[load.code]})


def test_a_pin_in_a_wave_of_diminishing_worth_is_kept() -> None:
    first_wave, *others = corner().weekend.waves
    worth = tuple(range(5000, 5000 - first_wave.pieces, -1))
    waves = (first_wave.model_copy(update={"worth_cents": worth}), *others)
    scenario = with_weekend(corner(), waves=waves)
    made = finished(scenario)[0]
    load = next(load for load in made.loads if " +" in load.wave)
    found = plan_around(made, scenario, [load.code], work=1)
    assert found.load(load.code) == load
