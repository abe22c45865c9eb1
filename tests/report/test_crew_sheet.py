"""Crew sheets: rows that belong together, plain sentences, and what one shift tells the next."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
import report_kitchen as kitchen

from scheduler.model.plan import Task
from scheduler.report.crew_sheet import CrewSheet, TaskLine, crew_sheets
from scheduler.report.desk import Desk
from scheduler.report.handoff import coming_up, handoff
from scheduler.report.page import render
from scheduler.report.sentences import say
from scheduler.report.task_rows import task_rows
from scheduler.report.words import codes_text
from scheduler.trade.cautions import SHORT, TOPICS, cautions


@pytest.fixture(scope="module")
def desk() -> Desk:
    scenario = kitchen.scenario()
    return Desk(kitchen.plan(scenario), scenario)


@pytest.fixture(scope="module")
def sheets(desk: Desk) -> dict[str, CrewSheet]:
    return {sheet.title: sheet for sheet in crew_sheets(desk)}


def _line(sheet: CrewSheet, start: str) -> TaskLine:
    return next(line for line in sheet.lines if line.what.startswith(start))


def _task(desk: Desk, hour: int, minute: int, minutes: int, **what: object) -> Task:
    at = desk.scenario.weekend.local(kitchen.SATURDAY + timedelta(hours=hour, minutes=minute))
    given = {"at": at, "minutes": minutes, "kind": "counter", "person": "Pia", "shift": "S05"}
    return Task(**(given | what))


def test_a_sheet_for_each_pattern_and_day_in_order(sheets: dict[str, CrewSheet]) -> None:
    assert list(sheets) == [
        "Fri evening shift",
        "Fri night shift",
        "Sat opening shift",
        "Sat day shift",
        "Sat evening shift",
        "Sat night shift",
        "Sun opening shift",
        "Sun day shift",
    ]
    assert [person.name for person in sheets["Sat day shift"].people] == ["Juno", "Pia"]
    assert sheets["Fri evening shift"].hours == "Fri 2 to 10:30 pm, 2 people"
    assert sheets["Fri night shift"].hours == "Fri 10 pm to Sat 7 am, 1 person"


def test_loading_is_a_plain_sentence(sheets: dict[str, CrewSheet]) -> None:
    line = _line(sheets["Fri evening shift"], "Load 5 packer briskets (BR03)")
    assert line.what == "Load 5 packer briskets (BR03) on the north smoker, bottom rack."
    assert line.detail == ("Wrap at Sat 1:45 am; done about Sat 8:30 am.",)


def test_wrapping_gives_the_window_and_where_it_goes(sheets: dict[str, CrewSheet]) -> None:
    # Loaded Friday at 4:30 pm on a rack without offset: the recipe's 330 to 420 minutes are 10 to 11:30 pm.
    night = sheets["Fri night shift"]
    stays, moved = _line(night, "Wrap BR01"), _line(night, "Wrap BR02")
    assert stays.what == "Wrap BR01 in paper: 5 packer briskets."
    assert stays.detail == ("Window 10 to 11:30 pm. From the north smoker, middle rack. Then back on the same rack.",)
    assert moved.detail[0].endswith("Then to the oven.")
    assert stays.urgent


def test_the_wrap_window_moves_with_the_rack_offset(sheets: dict[str, CrewSheet]) -> None:
    # Ribs on the top rack, 10 F hotter, 0.5 % a degree: 150 to 210 minutes become 142 to 200 (round half even).
    line = _line(sheets["Sat opening shift"], "Wrap SR01")
    assert line.detail[0].startswith("Window 6:52 to 7:50 am.")


def test_part_of_a_load_says_of_how_many(desk: Desk) -> None:
    what = {"kind": "wrap", "person": "Dell", "shift": "S03", "loads": ("BR01",), "pieces": 2}
    (row,) = task_rows(desk, [_task(desk, -1, 15, 5, **what)])
    assert say(desk, row)[0] == "Wrap BR01 in paper: 2 of 5 packer briskets."


def test_probe_rounds_say_what_is_expected_and_when_it_is_the_last(sheets: dict[str, CrewSheet]) -> None:
    lines = [line for line in sheets["Fri night shift"].lines if line.what.startswith("Probe round: BR01")]
    assert lines[0].what == "Probe round: BR01."
    assert lines[0].detail == ("At 203 °F: BR01 likely 5:30 am, late 7:30 am.",)
    assert not lines[0].urgent
    last = [line for line in sheets["Sat opening shift"].lines if "Last round for" in " ".join(line.detail)]
    assert last[0].urgent
    assert last[0].detail[-1] == "Last round for BR01; PB01: if not done, say so at once."


def test_lighting_tending_cleaning_and_the_fire_itself(sheets: dict[str, CrewSheet]) -> None:
    evening, night = sheets["Fri evening shift"], sheets["Fri night shift"]
    assert _line(evening, "Light the north box").detail == (
        "Bring it to 250 °F. Ready for meat at 4:30 pm; out at Sat 11:30 am.",
    )
    assert _line(evening, "The north box is steady").when == "4:30 pm"
    change = _line(night, "Take the north box from 250 to 275")
    assert (change.when, change.who, change.detail) == ("2:30 am", "Dell", ("There by 3 am.",))
    assert _line(sheets["Sat opening shift"], "Feed the north box no more").when == "11:30 am"
    assert _line(sheets["Sat evening shift"], "Clean out the north box").detail == (
        "It is lit again at 3 pm.",
        "Hot ash into the lidded metal can, outside.",
    )


def test_one_persons_fires_of_one_step_are_one_round(desk: Desk) -> None:
    tend = {"kind": "tend", "person": "Dell", "shift": "S03"}
    tasks = [
        _task(desk, 1, 0, 4, place="north box", **tend),
        _task(desk, 1, 5, 4, place="south box", **tend),
        _task(desk, 1, 20, 4, place="south box", **tend),
    ]
    rows = task_rows(desk, tasks)
    assert [row.places for row in rows] == [("north box", "south box"), ("south box",)]


def test_a_persons_probing_in_one_step_is_one_round(desk: Desk) -> None:
    pull = {"kind": "pull", "person": "Rosa", "shift": "S04"}
    tasks = [
        _task(desk, 6, 30, 3, loads=("BR01", "BR02"), **pull),
        _task(desk, 6, 34, 3, loads=("PB02",), **pull),
        _task(desk, 6, 34, 3, loads=("BR03",), **(pull | {"person": "Dell", "shift": "S03"})),
    ]
    rows = task_rows(desk, tasks)
    assert [(row.people, row.loads) for row in rows] == [(("Rosa",), ("BR01", "BR02", "PB02")), (("Dell",), ("BR03",))]


def test_tending_names_each_fire_with_its_setpoint(desk: Desk, sheets: dict[str, CrewSheet]) -> None:
    line = next(x for x in sheets["Fri night shift"].lines if x.what.startswith("Tend") and x.when == "3:45 am")
    assert line.what == "Tend the north box (275 °F) and the south box (250 °F)."


def test_one_load_by_two_people_is_one_row(desk: Desk) -> None:
    tasks = [
        _task(desk, 9, 0, 5, kind="load", person="Rosa", shift="S04", loads=("HC01",), pieces=7),
        _task(desk, 9, 1, 4, kind="load", person="Otis", shift="S07", loads=("HC01",), pieces=5),
    ]
    (row,) = task_rows(desk, tasks)
    assert (row.people, row.pieces, row.minutes) == (("Rosa", "Otis"), 12, 9)


def test_counter_quarters_become_one_block_and_a_long_pause_splits_it(desk: Desk) -> None:
    quarters = [_task(desk, 11, 15 * k, 15) for k in range(8)] + [_task(desk, 14, 15 * k, 15) for k in range(4)]
    rows = task_rows(desk, quarters)
    assert [(row.at.hour, row.ends_at.hour, row.minutes, row.steady) for row in rows] == [
        (11, 13, 120, True),
        (14, 15, 60, True),
    ]


def test_slicing_in_bits_is_on_and_off(sheets: dict[str, CrewSheet]) -> None:
    line = next(line for line in sheets["Sun day shift"].lines if "packer briskets, on and off" in line.what)
    assert line.what.startswith("Slice packer briskets, on and off, ")
    assert line.detail[0] == "BR05, 06 from tall cabinet, for Sun 11 am."


def test_days_are_named_after_midnight(sheets: dict[str, CrewSheet]) -> None:
    assert [line.day for line in sheets["Fri night shift"].lines if line.day] == ["Saturday, June 13"]
    assert [line.when for line in sheets["Fri night shift"].lines if line.day] == ["midnight"]
    assert not [line.day for line in sheets["Sat day shift"].lines if line.day]


def test_the_hour_that_comes_twice_is_told_in_its_own_order() -> None:
    # Saturday, October 31, 2026: 1 am CDT to 2 am CDT, then 1 am CST to 2 am CST.
    scenario = kitchen.scenario(datetime(2026, 10, 31))
    plan = kitchen.plan(scenario)
    night = next(s for s in plan.shifts if s.pattern == "night" and s.starts_at.day == 31)
    first = datetime(2026, 11, 1, 1, 15, tzinfo=scenario.weekend.zone)
    tasks = [
        Task(at=first.replace(minute=minute, fold=fold), minutes=4, kind=kind, person="Dell", shift=night.code, **what)
        for fold, minute, kind, what in (
            (1, 0, "tend", {"place": "south box"}),
            (0, 45, "wrap", {"loads": ("BR05",), "pieces": 6}),
            (1, 15, "tend", {"place": "north box"}),
            (0, 15, "tend", {"place": "north box"}),
        )
    ]
    desk = Desk(plan.model_copy(update={"tasks": tuple(tasks)}), scenario)
    lines = [line for sheet in crew_sheets(desk) for line in sheet.lines if line.kind != "fire"]
    assert [(line.when, line.what[:18]) for line in lines] == [
        ("1:15 am CDT", "Tend the north box"),
        ("1:45 am CDT", "Wrap BR05 in paper"),
        ("1 am CST", "Tend the south box"),
        ("1:15 am CST", "Tend the north box"),
    ]


def test_handoff_tells_what_is_where_since_when_and_what_is_next(desk: Desk) -> None:
    at = desk.scenario.weekend.local(datetime(2026, 6, 13, 6))
    found = {place.place: place for place in handoff(desk, at).places}
    assert list(found) == ["north smoker", "south smoker", "oven"]
    north = {item.code: item for item in found["north smoker"].items}
    assert found["north smoker"].note == (
        "north box: burning, 275 °F; lit Fri 3 pm, out 11:30 am"  # the change to 275 was at 3 am
    )
    assert north["SR01"].next == "wrap in paper at 7:30 am (6:52 to 7:50 am)"
    assert north["BR03"].what == "5 packer briskets, wrapped, bottom rack"
    assert north["BR03"].next == "probe 6:30 to 10:30 am, likely 8:30 am"
    assert north["BR01"].next == "some may be off; late 7:30 am"
    assert north["BR01"].since == "Fri 10:45 pm"
    assert [item.code for item in found["oven"].items] == ["BR02"]


def test_handoff_tells_what_rests_and_what_is_held(desk: Desk) -> None:
    at = desk.scenario.weekend.local(datetime(2026, 6, 13, 10, 45))
    found = {place.place: {item.code: item.next for item in place.items} for place in handoff(desk, at).places}
    assert found["rest shelf A"]["BR03"] == "rest until 11:30 am at the latest; for Sat 2 pm, until 5 pm"
    assert found["tall cabinet"]["BR01"] == "for Sat 11 am, until 2 pm"


def test_handoff_of_a_cold_kitchen_is_empty(desk: Desk) -> None:
    assert handoff(desk, desk.starts_at).empty
    assert not handoff(desk, desk.plan.loads[0].load_at).empty


def test_coming_up_is_in_order_and_within_three_hours(desk: Desk) -> None:
    at = desk.scenario.weekend.local(datetime(2026, 6, 13, 7))
    assert coming_up(desk, at)[:4] == (
        "7 am: load TB01",
        "7:15 am: start probing BR04",
        "7:30 am: wrap SR01",
        "7:45 am: wrap SR02",
    )
    assert not [line for line in coming_up(desk, at) if line.startswith("10")]


def test_cautions_fit_the_work_and_the_people(sheets: dict[str, CrewSheet]) -> None:
    day, night = " ".join(sheets["Sat day shift"].cautions), " ".join(sheets["Fri night shift"].cautions)
    assert "power slicers" in day
    assert "Cut away from the hand" in day
    assert "carbon monoxide" in night
    assert "Never leave a lit firebox" in night
    assert "power slicers" not in night
    assert "135 °F" in day
    assert "135 °F" in night


def test_cautions_are_told_in_full_once_and_in_a_breath_on_each_sheet(sheets: dict[str, CrewSheet]) -> None:
    for sheet in sheets.values():
        assert sum(len(caution) for caution in sheet.cautions) < 450
        assert len(sheet.cautions) == len(set(sheet.cautions))
    for topic in TOPICS:
        assert len(SHORT[topic]) < sum(len(caution.sentence) for caution in cautions(topic))


def test_pulls_say_how_hot_when_and_where_to(sheets: dict[str, CrewSheet]) -> None:
    pull = next(pull for pull in sheets["Fri night shift"].pulls if pull.code == "BR01")
    assert (pull.what, pull.place, pull.done) == ("5 packer briskets", "north, middle", "203 °F")
    assert (pull.likely, pull.late) == ("Sat 5:30 am", "7:30 am")
    assert pull.then == "1 h rest shelf A; tall cabinet 150 °F"
    likely = [pull.code for pull in sheets["Sat opening shift"].pulls]
    assert likely[:3] == ["BR01", "PB01", "BR02"]


def test_a_long_probe_round_names_what_is_likely_done_first(desk: Desk, sheets: dict[str, CrewSheet]) -> None:
    row = next(row for row in task_rows(desk, desk.plan.tasks) if row.kind == "pull" and len(row.loads) > 4)
    what, detail = say(desk, row)
    first, _, rest = what.removeprefix("Probe round: likely done ").partition("; also ")
    likely = sorted(code for code in row.loads if desk.by_code[code].likely_done_at <= row.at)
    assert first.rstrip(".") == codes_text(likely)
    assert rest.rstrip(".") == codes_text([code for code in sorted(row.loads) if code not in likely])
    assert not [line for line in detail if line.startswith("At ")]


def test_the_times_of_a_load_are_told_once_to_each_person(desk: Desk) -> None:
    told: dict[tuple[str, str], int] = {}
    for row in task_rows(desk, desk.plan.tasks):
        if row.kind == "pull" and len(row.loads) <= 4:
            for code in row.loads:
                times = [line for line in say(desk, row)[1] if code in line and line.startswith("At ")]
                told[row.people[0], code] = told.get((row.people[0], code), 0) + len(times)
    assert told
    assert max(told.values()) == 1


def test_every_task_is_on_a_sheet(desk: Desk) -> None:
    shifts = {shift.code: shift for shift in desk.plan.shifts}
    for key in {(s.starts_at, s.pattern) for s in shifts.values()}:
        own = [t for t in desk.plan.tasks if (shifts[t.shift].starts_at, shifts[t.shift].pattern) == key]
        assert sum(row.minutes for row in task_rows(desk, own)) == sum(t.minutes for t in own)


def test_a_shift_that_is_relieved_points_to_the_list_of_the_next_one(desk: Desk, sheets: dict[str, CrewSheet]) -> None:
    evening, night = sheets["Fri evening shift"], sheets["Fri night shift"]
    # Evening ends at 10:30 pm, night starts at 10.
    assert evening.relief is not None
    assert (evening.relief.anchor, evening.relief.title, evening.relief.at) == (night.anchor, night.title, "Fri 10 pm")
    assert evening.coming == ()
    assert night.takes_over.at == "Fri 10 pm"
    html = str(render("crew_sheet.html", evening))
    assert f'<a href="#{night.anchor}">Fri night shift</a> takes over' in html
    assert html.count('<table class="state">') == (0 if evening.takes_over.empty else 1)


def test_a_shift_that_nobody_has_just_relieved_says_what_is_on(desk: Desk, sheets: dict[str, CrewSheet]) -> None:
    # The day shift ends at 6 pm; evening came at 2 pm, too long before for its list to do.
    day = sheets["Sat day shift"]
    assert day.relief is None
    html = str(render("crew_sheet.html", day))
    assert day.hands_over.places
    assert html.rindex("Coming up after you") < html.rindex('<table class="state">')
    alone = desk.plan.model_copy(update={"shifts": tuple(s for s in desk.plan.shifts if s.pattern != "night")})
    tasks = tuple(t for t in desk.plan.tasks if t.shift in {s.code for s in alone.shifts})
    kept = crew_sheets(Desk(alone.model_copy(update={"tasks": tasks}), desk.scenario))
    assert next(sheet for sheet in kept if sheet.title == "Fri evening shift").relief is None
