"""The strip under the racks: warm-up, setpoints, changes and the end of each burn."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from scheduler.model.clock import add_min
from scheduler.model.plan import Fire
from scheduler.report.desk import Desk
from scheduler.report.panels import WIDTH, Panel
from scheduler.report.shapes import CHAR, FireMark, FireRow, Heat


def _heats(desk: Desk, fire: Fire, view: Panel) -> list[Heat]:
    change = desk.scenario.site.firebox(fire.firebox).setpoint_change_min
    first = fire.setpoints[0].setpoint_f
    spans: list[tuple[datetime, datetime, str, str]] = [(fire.lit_at, fire.ready_at, "warming", "warm-up")]
    since = fire.ready_at
    for setpoint in fire.setpoints[1:]:
        turn = max(since, add_min(setpoint.from_at, -change))
        spans.append((since, turn, "steady", f"{first} °F"))
        spans.append((turn, setpoint.from_at, "changing", ""))
        since, first = setpoint.from_at, setpoint.setpoint_f
    spans.append((since, fire.out_at, "steady", f"{first} °F"))
    found = []
    for start, end, kind, text in spans:
        if start < end and view.shows(start, end):
            x, width = view.x(start), round(view.x(end) - view.x(start), 1)
            found.append(Heat(x, width, kind, _fitting(text, width)))
    return found


def _marks(desk: Desk, fire: Fire, view: Panel) -> list[FireMark]:
    found = []
    if view.start <= fire.lit_at < view.end:
        ready = f", ready {desk.clock(fire.ready_at)}" if fire.ready_at > fire.lit_at else ""
        found.append(FireMark(view.x(fire.lit_at), f"lit {desk.clock(fire.lit_at)}{ready}", "start"))
    for setpoint in fire.setpoints[1:]:
        if view.start <= setpoint.from_at < view.end:
            text = f"{setpoint.setpoint_f} °F from {desk.clock(setpoint.from_at)}"
            found.append(FireMark(view.x(setpoint.from_at), text, "middle"))
    if view.start < fire.out_at <= view.end:
        found.append(FireMark(view.x(fire.out_at), f"out {desk.clock(fire.out_at)}", "end"))
    return found


def _fitting(text: str, width: float) -> str:
    """The text, or nothing where it is wider than its part of the strip."""
    return text if len(text) * CHAR + 10 <= width else ""


def _kept_inside(mark: FireMark) -> FireMark:
    """Turned to the left where it would run out of the chart."""
    over = mark.anchor == "start" and mark.x + len(mark.text) * CHAR > WIDTH
    return replace(mark, anchor="end", x=WIDTH - 4) if over else mark


def _apart(marks: list[FireMark]) -> tuple[FireMark, ...]:
    """Without the marks that would run into the one before."""
    kept: list[FireMark] = []
    edge = 0.0
    for mark in sorted((_kept_inside(mark) for mark in marks), key=lambda m: m.x):
        width = len(mark.text) * CHAR
        left = mark.x - {"start": 0.0, "middle": width / 2, "end": width}[mark.anchor]
        if left >= edge:
            kept.append(mark)
            edge = left + width + 8
    return tuple(kept)


def fire_row(desk: Desk, firebox: str, view: Panel, y: float) -> FireRow:
    fires = [f for f in desk.plan.fires if f.firebox == firebox and view.shows(f.lit_at, f.out_at)]
    heats = [heat for fire in fires for heat in _heats(desk, fire, view)]
    marks = [mark for fire in fires for mark in _marks(desk, fire, view)]
    return FireRow(desk.fire_words(firebox), y, tuple(heats), _apart(marks))
