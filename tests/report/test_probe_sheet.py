"""The probe sheet: each long load on one card, at the plan's times, and a picture that says the same."""

from __future__ import annotations

import itertools
from datetime import timedelta

import pytest
import report_kitchen as kitchen
from trade.test_orders import changed

from scheduler.model.clock import add_min, elapsed_min
from scheduler.report.desk import Desk
from scheduler.report.probe_drawing import BASE, LEFT, TOP, WIDTH
from scheduler.report.probe_sheet import MOST_ROUNDS, ProbeBlock, ProbeSheet, probe_sheet, rounds


@pytest.fixture(scope="module")
def desk() -> Desk:
    scenario = kitchen.scenario()
    return Desk(kitchen.plan(scenario), scenario)


@pytest.fixture(scope="module")
def sheet(desk: Desk) -> ProbeSheet:
    found = probe_sheet(desk)
    assert found is not None
    return found


def card(sheet: ProbeSheet, code: str) -> ProbeBlock:
    [found] = [block for block in sheet.blocks if code in block.codes]
    return found


def test_every_long_load_is_on_one_card_and_the_quick_ones_are_named(desk: Desk, sheet: ProbeSheet) -> None:
    told = [code for block in sheet.blocks for code in block.codes]
    long = [x.code for x in desk.plan.loads if elapsed_min(x.load_at, x.likely_done_at) > 120]
    assert sorted(told) == sorted(long)
    assert sheet.left_out.startswith("Not here: ")
    assert "sausages" in sheet.left_out
    assert "half chickens" in sheet.left_out
    assert "briskets" not in sheet.left_out


def test_a_card_says_what_goes_on_where_is_wrapped_and_pulled_when(desk: Desk, sheet: ProbeSheet) -> None:
    load = next(x for x in desk.plan.loads if x.cut == "packer-brisket" and x.wrap_at)
    on, wrap, pull = card(sheet, load.code).lines
    assert on.startswith(f"On {desk.moment(load.load_at)}: ")
    assert desk.smoker_place(load) in on
    assert wrap.startswith(f"Wrap {desk.near(load.wrap_at, load.load_at)} ({desk.wrap_span(load)}) at about ")
    assert "at 203 °F, likely " in pull
    assert all(line.endswith(".") for line in (on, wrap, pull))
    centre = wrap.partition(" at about ")[2].split()[0]
    place = desk.smoker_place(load)
    assert card(sheet, load.code).short == f"{place[0].upper()}{place[1:]}: wrap {centre}, pull 203 °F."


def test_readings_rise_and_the_quicker_pace_is_the_hotter(sheet: ProbeSheet) -> None:
    for block in sheet.blocks:
        assert [row.name for row in block.rows] == ["early", "likely", "late"]
        numbers = [[999 if cell == "done" else int(cell) for cell in row.readings] for row in block.rows]
        assert all(row == sorted(row) for row in numbers)
        for early, likely, late in zip(*numbers, strict=True):
            assert late <= likely <= early
        assert all(len(row.readings) == len(block.rounds) <= MOST_ROUNDS for row in block.rows)


def test_done_stands_from_the_plans_minute_on(desk: Desk, sheet: ProbeSheet) -> None:
    for load in desk.plan.loads:
        if not any(load.code in block.codes for block in sheet.blocks):
            continue
        _, minutes = rounds(desk, load)
        likely = elapsed_min(load.load_at, load.likely_done_at)
        cells = card(sheet, load.code).rows[1].readings
        assert [cell == "done" for cell in cells] == [minute >= likely for minute in minutes]


def test_rounds_are_even_times_of_the_clock(desk: Desk) -> None:
    for load in desk.plan.loads:
        every, minutes = rounds(desk, load)
        assert minutes[0] >= every / 4
        assert {b - a for a, b in itertools.pairwise(minutes)} <= {every}
        assert {desk.local(add_min(load.load_at, minute)).minute % min(every, 60) for minute in minutes} == {0}
        late = elapsed_min(load.load_at, load.late_done_at)
        assert minutes[-1] + every / 2 >= late - every / 2


def test_loads_that_are_alike_share_a_card_and_others_do_not(desk: Desk) -> None:
    first = next(x for x in desk.plan.loads if x.cut == "packer-brisket")
    twin = first.model_copy(update={"code": "BR90", "pieces": 2})
    later = first.model_copy(update={"code": "BR91", "load_at": first.load_at - timedelta(minutes=15)})
    plan = desk.plan.model_copy(update={"loads": (first, twin, later)})
    found = probe_sheet(Desk(plan, desk.scenario))
    assert found is not None
    assert sorted(block.codes for block in found.blocks) == [(first.code, "BR90"), ("BR91",)]
    assert card(found, "BR90").what == f"{first.pieces + 2} packer briskets"


def test_the_picture_says_what_the_table_says(desk: Desk, sheet: ProbeSheet) -> None:
    for block in sheet.blocks:
        drawing = block.drawing
        assert list(drawing.ticks) == sorted(drawing.ticks)
        assert drawing.ticks[0] > LEFT
        assert drawing.ticks[-1] < WIDTH
        ends = {pace.name: pace.end_x for pace in drawing.paces}
        assert ends["early"] <= ends["likely"] <= ends["late"] <= WIDTH
        for pace in drawing.paces:
            points = [tuple(map(float, point.split(","))) for point in pace.points.split()]
            assert all(0 <= x <= WIDTH and TOP - 0.5 <= y <= BASE for x, y in points)
            assert points[-1][1] == pytest.approx(TOP, abs=0.5)
        wrapped = any(desk.by_code[code].wrap_at for code in block.codes)
        assert (drawing.wrap is not None) == wrapped
        if drawing.wrap is not None:
            assert drawing.left < drawing.wrap.x < ends["early"]
            assert drawing.wrap.from_x <= drawing.wrap.x <= drawing.wrap.from_x + drawing.wrap.width + 1


def test_a_cut_that_no_table_knows_has_no_card(desk: Desk) -> None:
    load = next(x for x in desk.plan.loads if x.cut == "pork butt").model_copy(update={"cut": "lamb shoulder"})
    scenario = changed(desk.scenario, "pork butt", name="lamb shoulder")
    assert probe_sheet(Desk(desk.plan.model_copy(update={"loads": (load,)}), scenario)) is None


def test_a_heat_that_the_model_does_not_know_leaves_the_card_out(desk: Desk) -> None:
    cold = changed(desk.scenario, "pork butt", done_f=400)
    found = probe_sheet(Desk(desk.plan, cold))
    assert found is not None
    assert "pork butts" in found.left_out
