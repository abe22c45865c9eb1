"""shifts.ics against RFC 5545, and its times against the clock, also in the night of the clock change."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

import pytest
import report_kitchen as kitchen
from icalendar import Calendar, Event

from scheduler.model.plan import Plan
from scheduler.report.desk import Desk
from scheduler.report.shifts_ics import shifts_ics


def _desk(start: datetime = kitchen.SATURDAY, number: int = 1) -> Desk:
    scenario = kitchen.scenario(start)
    return Desk(kitchen.plan(scenario, number=number), scenario)


def _events(desk: Desk) -> dict[str, Event]:
    calendar = Calendar.from_ical(shifts_ics(desk))
    return {str(event["uid"]): event for event in calendar.walk("VEVENT") if isinstance(event, Event)}


def _key(desk: Desk, code: str) -> str:
    return f"{desk.plan.scenario_hash}-{code}@pit-scheduler.invalid"


def test_an_event_for_each_shift_and_each_wrap() -> None:
    desk = _desk()
    events = _events(desk)
    wraps = [load for load in desk.plan.loads if load.wrap_at is not None]
    assert len(events) == len(desk.plan.shifts) + len(wraps)
    for shift in desk.plan.shifts:
        event = events[_key(desk, shift.code)]
        assert (event.decoded("dtstart"), event.decoded("dtend")) == (shift.starts_at, shift.ends_at)
        assert str(event["summary"]).startswith(f"{shift.person}: ")
    for load in wraps:
        event = events[_key(desk, f"wrap-{load.code}")]
        assert event.decoded("dtstart") == load.wrap_at
        assert event.decoded("dtend") >= event.decoded("dtstart") + timedelta(minutes=15)
        assert str(event["summary"]) == f"Wrap {load.code} in paper: {desk.pieces(load)}"
    assert "Window 10 to 11:30 pm." in str(events[_key(desk, "wrap-BR01")]["description"])


def test_it_is_what_rfc_5545_asks_for() -> None:
    text = shifts_ics(_desk())
    lines = text.split("\r\n")
    assert lines.pop() == ""
    assert "\n" not in text.replace("\r\n", "")  # 3.1: lines end with CRLF
    assert all(len(line.encode()) <= 75 for line in lines)  # 3.1: lines of 75 octets at most
    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines[-1] == "END:VCALENDAR"
    assert lines.count("VERSION:2.0") == 1  # 3.7.4
    assert sum(line.startswith("PRODID:") for line in lines) == 1  # 3.7.3
    events = text.split("BEGIN:VEVENT")[1:]
    for event in events:
        for once in ("UID", "DTSTAMP", "DTSTART", "DTEND", "SEQUENCE", "SUMMARY"):  # 3.6.1
            assert len(re.findall(rf"^{once}[:;]", event, re.MULTILINE)) == 1
        assert re.search(r"^DTSTART:\d{8}T\d{6}Z\r$", event, re.MULTILINE)  # 3.3.5, form 2: UTC
        assert re.search(r"^DTSTAMP:\d{8}T\d{6}Z\r$", event, re.MULTILINE)  # 3.8.7.2


def test_the_night_shift_of_the_clock_change_is_nine_hours_long() -> None:
    # Saturday, October 31, 2026, 10 pm CDT is 03:00 UTC. Nine elapsed hours later the clock shows 6 am CST, not 7 am.
    desk = _desk(datetime(2026, 10, 31))
    night = next(s for s in desk.plan.shifts if s.pattern == "night" and desk.local(s.starts_at).day == 31)
    event = _events(desk)[_key(desk, night.code)]
    assert event.decoded("dtstart") == datetime(2026, 11, 1, 3, tzinfo=UTC)
    assert event.decoded("dtend") == datetime(2026, 11, 1, 12, tzinfo=UTC)
    assert "Sat 10 pm to Sun 6 am" in str(event["description"])


def test_a_new_plan_of_the_same_scenario_replaces_the_old_one() -> None:
    # 3.8.4.7 and 3.8.7.4: the same UID with a higher SEQUENCE is a revision.
    old, new = _events(_desk(number=1)), _events(_desk(number=2))
    assert set(old) == set(new)
    assert {e.decoded("sequence") for e in old.values()} == {1}
    assert {e.decoded("sequence") for e in new.values()} == {2}


def test_the_same_plan_gives_the_same_bytes() -> None:
    desk = _desk()
    again = Desk(Plan.model_validate_json(desk.plan.model_dump_json()), desk.scenario)
    assert shifts_ics(again) == shifts_ics(desk)


@pytest.mark.parametrize("name", ["Ann; Bo, Co\\", "Line\nbreak", "ATTENDEE:mailto:x"])
def test_names_cannot_add_lines(name: str) -> None:
    desk = _desk()
    shifts = (desk.plan.shifts[0].model_copy(update={"person": name}), *desk.plan.shifts[1:])
    hostile = Desk(desk.plan.model_copy(update={"shifts": shifts}), desk.scenario)
    event = _events(hostile)[_key(desk, "S01")]
    assert str(event["summary"]) == f"{name}: evening shift"
    assert "attendee" not in event
