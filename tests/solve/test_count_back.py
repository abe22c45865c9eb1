"""Counting back from the wave: worked by hand, by the audit, and beside a real plan."""

from __future__ import annotations

from collections import Counter
from datetime import datetime, time, timedelta
from functools import cache

import pytest
from solve.corner import SCENARIOS, corner, finished, half_the_hold, only, with_cuts, with_site, with_weekend, without

from scheduler.audit import audit, price
from scheduler.books import read_scenario
from scheduler.model.clock import elapsed_min
from scheduler.model.crew import ShiftPattern
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.solve.board import Board
from scheduler.solve.call_in import call_in
from scheduler.solve.count_back import compare, count_back, side
from scheduler.solve.frame import Frame
from scheduler.solve.grid import build_grid
from scheduler.solve.loading_list import all_day, house_setpoints

ALL = sorted(path.name for path in SCENARIOS.iterdir())
CLOSES = datetime(2026, 5, 16, 18)


def scenario_of(name: str) -> Scenario:
    """An invented scenario."""
    return read_scenario(SCENARIOS / name)


@cache
def thumb(name: str, strict: bool) -> Plan:
    """An invented scenario counted back."""
    return count_back(scenario_of(name), strict=strict)


def local(plan: Plan, day: int, hour: int, minute: int) -> datetime:
    """A moment of May 2026 in the kitchen's zone."""
    return datetime(2026, 5, day, hour, minute, tzinfo=plan.loads[0].load_at.tzinfo)


# by hand -----------------------------------------------------------------------------------------------------------


def test_a_brisket_is_counted_back_by_hand() -> None:
    # For 11:00 am at 250 F: 60 min rest, 60 min up the sleeve, 465 min likely from the wrap, wrapped 375 min (in the
    # middle of 330 to 420) after loading. 960 min before 11:00 am is 7:00 pm on Friday; the wrap is at 1:15 am.
    plan = count_back(only(corner(), "packer brisket"))
    first = min(plan.loads, key=lambda load: load.load_at)
    assert first.wave == "Sat 11:00"
    assert first.recipe == "250 paper"
    assert first.load_at == local(plan, 15, 19, 0)
    assert first.wrap_at == local(plan, 16, 1, 15)


def test_a_longer_buffer_loads_earlier() -> None:
    scenario = only(corner(), "packer brisket")
    usual, longer = count_back(scenario), count_back(scenario, buffer_min=180)
    earlier = [a.load_at - b.load_at for a, b in zip(usual.loads, longer.loads, strict=True)]
    assert earlier == [timedelta(hours=2)] * len(usual.loads)


def test_smokers_are_filled_in_order_rack_by_rack() -> None:
    # 6 briskets at once: the hot end takes 5 (5 spaces), the cool end the sixth.
    scenario = only(corner(), "packer brisket")
    waves = (scenario.weekend.waves[0].model_copy(update={"pieces": 6, "until": datetime(2026, 5, 16, 14)}),)
    plan = count_back(with_weekend(scenario, waves=waves))
    assert [(load.smoker, load.rack, load.pieces) for load in plan.loads] == [
        ("long", "hot end", 5),
        ("long", "cool end", 1),
    ]


def test_what_finds_no_room_is_short() -> None:
    # 5 + 6 + 3 + 3 spaces on the racks, 14 in the cabinet.
    scenario = only(corner(), "packer brisket")
    waves = (scenario.weekend.waves[0].model_copy(update={"pieces": 40, "until": datetime(2026, 5, 16, 14)}),)
    plan = count_back(with_weekend(scenario, waves=waves))
    assert sum(load.pieces for load in plan.loads) == 14
    assert [(short.cut, short.pieces) for short in plan.shorts] == [("packer brisket", 26)]


def test_a_start_too_late_is_short() -> None:
    # Loading at 7:00 pm needs the short fire lit at 6:00 pm at the latest.
    scenario = only(corner(), "packer brisket")
    in_time = count_back(with_weekend(scenario, plan_from=datetime(2026, 5, 15, 18, 0)))
    too_late = count_back(with_weekend(scenario, plan_from=datetime(2026, 5, 15, 18, 15)))
    assert {load.wave for load in in_time.loads} == {"Sat 11:00", "Sat 13:30"}
    assert {load.wave for load in too_late.loads} == {"Sat 13:30"}


@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize("strict", [False, True])
def test_fires_burn_from_a_warm_up_before_the_first_load_to_the_last(name: str, strict: bool) -> None:
    scenario = scenario_of(name)
    plan = thumb(name, strict)
    firebox_of = {smoker.name: smoker.firebox for smoker in scenario.site.smokers}
    assert plan.fires
    for fire in plan.fires:
        mine = [
            load
            for load in plan.loads
            if firebox_of[load.smoker] == fire.firebox and fire.lit_at <= load.load_at < fire.out_at
        ]
        warm = scenario.site.firebox(fire.firebox).warm_up_min
        first, last = min(load.load_at for load in mine), max(load.late_done_at for load in mine)
        assert warm <= elapsed_min(fire.lit_at, first) < warm + 15
        assert 0 <= elapsed_min(last, fire.out_at) < 15


# habits ------------------------------------------------------------------------------------------------------------


def test_the_house_temperature_is_the_one_that_suits_most() -> None:
    # Half chickens are only cooked at 275 F; everything else can be cooked at either.
    assert house_setpoints(build_grid(corner())) == (275, 275)
    assert house_setpoints(build_grid(only(corner(), "packer brisket"))) == (250, 250)


def test_a_cut_that_needs_another_temperature_gets_the_last_fire() -> None:
    slow = with_cuts(
        corner(), lambda cut: cut if cut.name == "half chicken" else cut.model_copy(update={"recipes": cut.recipes[:1]})
    )
    assert house_setpoints(build_grid(slow)) == (250, 275)
    plan = count_back(slow)
    assert {load.smoker for load in plan.loads if load.cut == "half chicken"} == {"short"}


# people ------------------------------------------------------------------------------------------------------------


def test_a_fire_has_a_tender_first_of_the_crew_list_first() -> None:
    grid = build_grid(corner())
    levels = all_day(grid, house_setpoints(grid))
    called = call_in(Board.empty(grid, Frame(levels, ())))
    tenders = [(option.person.name, option.pattern.name) for option in called if "fire" in option.skills]
    # Wade leads the list; Lupe has the night, because Wade's rest after the late shift is not over.
    assert tenders[:2] == [("Wade", "late"), ("Lupe", "night")]


def test_nobody_is_called_in_for_nothing_but_the_counter() -> None:
    grid = build_grid(corner())
    cold = tuple(held * 0 for held in all_day(grid, house_setpoints(grid)))
    called = call_in(Board.empty(grid, Frame(cold, ())))
    assert [option.person.name for option in called] == ["Sol"]


def test_under_sixteen_works_no_more_than_the_law_lets_them() -> None:
    # 29 CFR 570.35(a): under 16, at most 8 hours on a day without school. Two shifts of 3 h 30 are 7 hours; a third
    # would make 10 h 30. Nobody else can serve, so the counter stays empty at the end.
    scenario = corner()
    patterns = [
        ShiftPattern(name=f"from {start}", starts=time(*start), length_min=210, days=("sat",))
        for start in ((8, 0), (11, 30), (15, 0))
    ]
    hours = {}
    for born in (2011, 1990):
        bea = scenario.crew.person("Bea").model_copy(update={"birth_years": (born, born), "patterns": ()})
        crew = scenario.crew.model_copy(update={"people": (bea,), "patterns": tuple(patterns), "least_rest_min": 0})
        day = scenario.weekend.days[0].model_copy(update={"opens": datetime(2026, 5, 16, 8), "closes": CLOSES})
        grid = build_grid(with_weekend(scenario.model_copy(update={"crew": crew}), days=(day,)))
        cold = tuple(held * 0 for held in all_day(grid, house_setpoints(grid)))
        called = call_in(Board.empty(grid, Frame(cold, ())))
        hours[born] = sum(option.end_min - option.start_min for option in called) / 60
    assert hours == {2011: 7, 1990: 10.5}


# rules -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize("strict", [False, True])
def test_every_piece_is_made_or_short(name: str, strict: bool) -> None:
    scenario = scenario_of(name)
    plan = thumb(name, strict)
    made = Counter[tuple[str, str]]()
    for load in plan.loads:
        made[load.cut, load.wave] += load.pieces
    for short in plan.shorts:
        made[short.cut, short.wave] += short.pieces
    assert made == {(d.cut, d.wave): d.pieces for d in scenario.weekend.demands()}
    assert plan.cost == price(plan, scenario)
    assert plan.certificate.stopped_by == "rule of thumb"
    assert plan.certificate.bound_cents is None


@pytest.mark.parametrize("name", ALL)
def test_likely_hours_are_no_promise(name: str) -> None:
    # The same wave by the audit's range semantics: pieces may come later than likely by more than the buffer.
    scenario = scenario_of(name)
    breaches = side("", thumb(name, False), scenario).breaches
    assert breaches["not-ready"] > 0


@pytest.mark.parametrize("name", ALL)
def test_the_strict_variant_breaks_no_rule(name: str) -> None:
    scenario = scenario_of(name)
    plan = thumb(name, True)
    assert audit(plan, scenario) == ()
    assert plan.loads


@pytest.mark.parametrize("name", ["Wade", "Lupe", "Sol"])
def test_the_strict_variant_leaves_out_what_hands_are_missing_for(name: str) -> None:
    scenario = without(corner(), name)
    assert audit(count_back(scenario, strict=True), scenario) == ()


def test_the_strict_variant_leaves_out_what_room_is_missing_for() -> None:
    scenario = half_the_hold()
    plan = count_back(scenario, strict=True)
    assert audit(plan, scenario) == ()
    assert plan.shorts
    assert "hold-overfull" not in side("", plan, scenario).breaches


def test_a_coarser_grid_keeps_the_rules_too() -> None:
    scenario = with_site(corner(), wrap_tables=1)
    plan = count_back(scenario, 30, strict=True)
    assert plan.certificate.grid_min == 30
    assert audit(plan, scenario) == ()


# beside a plan -----------------------------------------------------------------------------------------------------


def test_comparison_with_a_plan() -> None:
    scenario = corner()
    plan = finished(scenario)[0]
    told = compare(plan, scenario)
    assert told.plan.cost == plan.cost
    assert told.plan.breaches == {}
    assert told.plan.pieces_at_risk == 0
    assert told.by_thumb_kept.breaches == {}
    found = Counter(breach.code for breach in audit(count_back(scenario), scenario))
    assert told.by_thumb.breaches == found
    assert 0 < told.by_thumb.pieces_at_risk <= told.by_thumb.pieces_made
    assert told.saved_cents == told.by_thumb_kept.cost.total - plan.cost.total
    assert told.saved_cents > 0
    for one in (told.plan, told.by_thumb, told.by_thumb_kept):
        assert one.pieces_made + one.pieces_short == sum(d.pieces for d in scenario.weekend.demands())
