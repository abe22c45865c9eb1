"""shifts.ics: a calendar (RFC 5545) with an event for each person's shift and each wrap.

Times are written in UTC, which every calendar shows in its own zone and which no clock change can shift. The same plan
gives the same file: the stamp is the plan's first moment, never the time of writing.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from icalendar import Calendar, Event

from scheduler.model.plan import Load, Shift
from scheduler.report.desk import Desk
from scheduler.report.handoff import coming_up
from scheduler.report.sentences import after_wrap
from scheduler.report.words import list_text, sentence, shift_text, unique


def _event(desk: Desk, code: str, start: datetime, end: datetime) -> Event:
    event = Event()
    event.add("uid", f"{desk.plan.scenario_hash}-{code}@pit-scheduler.invalid")
    event.add("dtstamp", desk.first_at.astimezone(UTC))
    event.add("dtstart", start.astimezone(UTC))
    event.add("dtend", end.astimezone(UTC))
    event.add("sequence", desk.plan.number)
    event.add("location", desk.scenario.site.name)
    return event


def _shift(desk: Desk, shift: Shift) -> Event:
    event = _event(desk, shift.code, shift.starts_at, shift.ends_at)
    event.add("summary", f"{shift.person}: {shift_text(shift.pattern)}")
    lines = [f"{desk.day_span(shift.starts_at, shift.ends_at)}."]
    lines += [sentence(line) for line in coming_up(desk, shift.starts_at)]
    event.add("description", "\n".join(lines))
    return event


def _wrap(desk: Desk, load: Load, wrap_at: datetime) -> Event:
    tasks = [t for t in desk.plan.tasks if t.kind == "wrap" and load.code in t.loads]
    ends = max([t.at + timedelta(minutes=t.minutes) for t in tasks], default=wrap_at)
    least = wrap_at + timedelta(minutes=desk.plan.certificate.grid_min)
    event = _event(desk, f"wrap-{load.code}", wrap_at, max(ends, least))
    event.add("summary", f"Wrap {load.code} {desk.wrap_words(load)}: {desk.pieces(load)}")
    who = list_text(unique(t.person for t in tasks))
    lines = [
        f"Window {desk.wrap_span(load)}. From the {desk.smoker_place(load)}.",
        f"{after_wrap(desk, load)}.",
        *([f"By {who}."] if who else []),
    ]
    event.add("description", "\n".join(lines))
    return event


def shifts_ics(desk: Desk) -> str:
    """The file's text, lines ending with CR LF."""
    calendar = Calendar()
    calendar.add("prodid", "-//pit-scheduler//crew plan//EN")
    calendar.add("version", "2.0")
    for shift in sorted(desk.plan.shifts, key=lambda s: (s.starts_at, s.code)):
        calendar.add_component(_shift(desk, shift))
    wraps = [(load.wrap_at, load) for load in desk.plan.loads if load.wrap_at is not None]
    for wrap_at, load in sorted(wraps, key=lambda pair: (pair[0], pair[1].code)):
        calendar.add_component(_wrap(desk, load, wrap_at))
    text: bytes = calendar.to_ical()
    return text.decode("utf-8")
