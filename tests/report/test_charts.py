"""Charts: where things lie on the clock, that nothing overlaps, and that no day is lost."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
import report_kitchen as kitchen
from hypothesis import given
from hypothesis import strategies as st

from scheduler.model.clock import add_min, elapsed_min
from scheduler.report.desk import Desk
from scheduler.report.fire_sheet import fire_sheet
from scheduler.report.hold_chart import hold_sheet, levels, taken
from scheduler.report.panels import LEFT, PLOT, WIDTH, panel, panels
from scheduler.report.rack_chart import rack_sheets
from scheduler.report.shapes import CHAR, Bar, Drawing, lanes


def _desk(start: datetime = kitchen.SATURDAY) -> Desk:
    scenario = kitchen.scenario(start)
    return Desk(kitchen.plan(scenario), scenario)


@pytest.fixture(scope="module")
def desk() -> Desk:
    return _desk()


def _bars(drawing: Drawing) -> dict[str, Bar]:
    return {bar.code: bar for row in drawing.rows for bar in row.bars}


extents = st.lists(st.tuples(st.floats(0, 1000), st.floats(1, 300)).map(lambda p: (p[0], p[0] + p[1])), max_size=40)


@given(extents)
def test_lanes_never_overlap_and_are_as_few_as_can_be(found: list[tuple[float, float]]) -> None:
    found.sort()
    placed = lanes(found)
    for i, (left, right) in enumerate(found):
        for j in range(i):
            if placed[j] == placed[i]:
                assert found[j][1] <= left or right <= found[j][0]
    # Interval graphs are perfect: as many lanes as are open at once.
    deepest = max((sum(a <= left < b for a, b in found) for left, _ in found), default=0)
    assert max(placed, default=-1) + 1 == deepest


def test_a_moment_lies_at_its_share_of_the_window(desk: Desk) -> None:
    start = desk.scenario.weekend.local(datetime(2026, 6, 12, 16))
    view = panel(desk, start, add_min(start, 24 * 60))
    assert view.x(start) == LEFT
    assert view.x(add_min(start, 6 * 60)) == LEFT + PLOT / 4
    assert view.x(add_min(start, 30 * 60)) == LEFT + PLOT
    assert [(tick.label, tick.kind) for tick in view.ticks[:4]] == [
        ("4 pm", "named"),
        ("", "hour"),
        ("6 pm", "named"),
        ("", "hour"),
    ]
    assert [mark.label for mark in view.days] == ["Friday, June 12", "Saturday, June 13"]
    assert [tick.label for tick in view.ticks if tick.kind == "midnight"] == ["midnight"]


def test_the_night_of_the_autumn_clock_change_has_25_hours() -> None:
    # 2026-11-01, America/Chicago: 1 am comes twice (CDT, then CST).
    desk = _desk(datetime(2026, 10, 31))
    start = desk.scenario.weekend.local(datetime(2026, 10, 31, 16))
    end = desk.scenario.weekend.local(datetime(2026, 11, 1, 16))
    view = panel(desk, start, end)
    assert elapsed_min(view.start, view.end) == 25 * 60
    assert len(view.ticks) == 26
    gaps = {round(b.x - a.x, 1) for a, b in pairwise(view.ticks)}
    assert gaps <= {39.0, 39.1}  # one clock hour is one elapsed hour everywhere: 976 / 25 = 39.04
    first = panel(desk, start, add_min(start, 12 * 60))
    assert [tick.label for tick in first.ticks if "1 am" in tick.label] == ["1 am CDT", "1 am CST"]


def test_panels_cover_all_spans_with_one_scale(desk: Desk) -> None:
    spans = [(load.load_at, load.late_done_at) for load in desk.plan.loads]
    views = panels(desk, spans, 15)
    assert len(views) == 2
    assert len({elapsed_min(view.start, view.end) for view in views}) == 1
    for start, end in spans:
        assert any(view.start <= start and end <= view.end for view in views)


def test_a_short_plan_is_one_panel(desk: Desk) -> None:
    start = desk.scenario.weekend.local(datetime(2026, 6, 12, 20, 20))
    (view,) = panels(desk, [(start, add_min(start, 100))], 17)
    assert view.start == desk.scenario.weekend.local(datetime(2026, 6, 12, 20))
    assert elapsed_min(view.start, view.end) == 8 * 60


def test_bars_show_smoke_wrap_finish_and_maybe_at_their_times(desk: Desk) -> None:
    north = rack_sheets(desk)[0]
    drawing = north.drawings[0]
    bar, load, view = _bars(drawing)["BR01"], desk.by_code["BR01"], drawing.panel
    assert load.wrap_at is not None
    assert [piece.kind for piece in bar.pieces] == ["smoke", "finish", "maybe"]
    edges = [load.load_at, load.wrap_at, load.early_done_at, load.late_done_at]
    for piece, left, right in zip(bar.pieces, edges, edges[1:], strict=False):
        assert piece.x == view.x(left)
        assert piece.x + piece.width == pytest.approx(view.x(right), abs=0.06)
    assert bar.wrap_x == view.x(load.wrap_at)
    assert bar.likely_x == view.x(load.likely_done_at)
    assert bar.text == "BR01 ×5"


def test_a_moved_load_says_where_to_and_where_from(desk: Desk) -> None:
    sheets = {sheet.title: sheet for sheet in rack_sheets(desk)}
    leaving = _bars(sheets["north smoker"].drawings[0])["BR02"]
    arriving = _bars(sheets["oven"].drawings[0])["BR02"]
    assert leaving.after == "to oven"
    assert leaving.likely_x is None
    assert [piece.kind for piece in leaving.pieces] == ["smoke"]
    assert arriving.text == "BR02 ×3 from north"
    assert [piece.kind for piece in arriving.pieces] == ["finish", "maybe"]
    unwrapped = _bars(sheets["south smoker"].drawings[0])["TB01"]
    assert unwrapped.wrap_x is None
    assert [piece.kind for piece in unwrapped.pieces] == ["smoke", "maybe"]


def test_no_bar_and_no_word_of_a_rack_runs_into_another(desk: Desk) -> None:
    for sheet in rack_sheets(desk):
        for drawing in sheet.drawings:
            for row in drawing.rows:
                for bar in row.bars:
                    assert row.y <= bar.y
                    assert bar.y + bar.height <= row.y + row.height
                    assert bar.text_x >= LEFT
                    assert bar.text_x + len(bar.text) * CHAR <= WIDTH
                ordered = sorted(row.bars, key=lambda b: (b.y, b.pieces[0].x))
                for one, two in pairwise(ordered):
                    if one.y == two.y:
                        assert max(one.pieces[-1].x, one.text_x + len(one.text) * 6) <= two.pieces[0].x


def test_every_load_is_drawn_once_on_each_place_and_day_it_is_there(desk: Desk) -> None:
    drawn = [bar.code for sheet in rack_sheets(desk) for d in sheet.drawings for row in d.rows for bar in row.bars]
    moved = [load.code for load in desk.plan.loads if load.moved]
    assert sorted(set(drawn)) == sorted(load.code for load in desk.plan.loads)
    assert {code for code in drawn if drawn.count(code) == 2} == set(moved)


def test_a_bar_that_crosses_the_edge_of_a_panel_is_marked_on_both_sides(desk: Desk) -> None:
    late = desk.plan.loads[0].model_copy(update={"code": "BR09"})
    moved = {
        name: add_min(getattr(late, name), 15 * 60)
        for name in ("load_at", "wrap_at", "early_done_at", "likely_done_at", "late_done_at")
    }
    crossing = late.model_copy(update=moved)
    plan = desk.plan.model_copy(update={"loads": (*desk.plan.loads, crossing)})
    found = [_bars(d)["BR09"] for d in rack_sheets(Desk(plan, desk.scenario))[0].drawings if "BR09" in _bars(d)]
    assert [(bar.from_before, bar.goes_on) for bar in found] == [(False, True), (True, False)]


def test_the_fire_strip_has_warm_up_setpoints_and_change(desk: Desk) -> None:
    drawing = rack_sheets(desk)[0].drawings[0]
    assert drawing.fire is not None
    assert [(heat.kind, heat.text) for heat in drawing.fire.heats] == [
        ("warming", "warm-up"),
        ("steady", "250 °F"),
        ("changing", ""),
        ("steady", "275 °F"),
    ]
    fire, view = desk.plan.fires[0], drawing.panel
    assert drawing.fire.heats[0].x == view.x(fire.lit_at)
    assert drawing.fire.heats[2].x == view.x(add_min(fire.setpoints[1].from_at, -30))
    assert [mark.text for mark in drawing.fire.marks] == ["lit 3 pm, ready 4:30 pm", "275 °F from 3 am", "out 11:30 am"]


def test_hold_levels_are_the_sum_of_what_is_there(desk: Desk) -> None:
    found = taken(desk, "tall", "hold")
    for moment, level in levels(found):
        there = [t for t in found if t.start <= moment < t.end]
        by_hand = sum(t.load.pieces * round(100 * desk.cut(t.load).hold_spaces) for t in there)
        assert level == by_hand
    assert levels(found)[-1][1] == 0


def test_the_hold_sheet_draws_capacity_and_peak(desk: Desk) -> None:
    sheet = hold_sheet(desk)
    assert sheet is not None
    assert [place.title for place in sheet.places] == ["rest shelf A", "tall cabinet", "low cabinet"]
    drawing = sheet.places[1].drawings[0]
    # BR01 5, BR02 3, PB02 2 x 0.75, SR01 5 and SR02 3 x 0.5, TB01 6 x 0.5, SA01 16 x 0.1
    assert drawing.peak == "fullest 18.1 of 20 spaces"
    assert drawing.capacity == "20 spaces"
    whole = sheet.places[1].whole
    assert whole.peak == "fullest 18.1 of 20 spaces"
    assert (whole.panel.start, whole.panel.end) == (
        sheet.places[1].drawings[0].panel.start,
        sheet.places[1].drawings[-1].panel.end,
    )
    lowest = min(float(point.split(",")[1]) for point in drawing.area.split())
    assert drawing.capacity_y < lowest < drawing.base_y
    assert (drawing.base_y - lowest) / (drawing.base_y - drawing.capacity_y) == pytest.approx(18.1 / 20, abs=0.002)


def test_the_fire_sheet_has_every_round_with_who_and_setpoint(desk: Desk) -> None:
    sheet = fire_sheet(desk)
    assert sheet is not None
    assert [burn.when for burn in sheet.burns] == [
        "Fri 3 pm to Sat 11:30 am",
        "Fri 4:30 pm to Sat noon",
        "Sat 3 pm to Sun noon",
        "Sat 5 pm to Sun noon",
    ]
    first = sheet.burns[0]
    # Every 45 minutes from 3:45 pm; out at 11:30 am is 20 h 30 min later: 27 rounds before it.
    assert len(first.rounds) == 27
    assert (first.rounds[0].day, first.rounds[0].when, first.rounds[0].setpoint) == (
        "Friday, June 12",
        "3:45 pm",
        "250 °F",
    )
    assert [r.setpoint for r in first.rounds if r.when in ("2:15 am", "3 am")] == ["250 °F", "275 °F"]
    assert first.facts == (
        "Feeds north smoker. Burns 20 h 30, about 410 lb of wood. A round every 45 min."  # 20 lb/h x 20.5 h
    )
    assert [step.what for step in first.steps] == [
        "Light (Otis)",
        "Ready, 250 °F: check before loading",
        "At 275 °F; start to change 30 min before",
        "May go out",
    ]


def test_elapsed_minutes_drive_the_burn_across_the_clock_change() -> None:
    desk = _desk(datetime(2026, 10, 31))
    sheet = fire_sheet(desk)
    assert sheet is not None
    # Saturday 3 pm to Sunday noon is 22 hours in that night, not 21.
    assert sheet.burns[2].facts.startswith("Feeds north smoker. Burns 22 h, about 440 lb")
    assert desk.plan.fires[2].out_at.astimezone(UTC) - desk.plan.fires[2].lit_at.astimezone(UTC) == timedelta(hours=22)
