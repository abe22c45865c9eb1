"""Pages in the nights in which the clock is changed: what is due is told by the time that passes."""

from __future__ import annotations

from datetime import UTC, datetime
from types import SimpleNamespace
from typing import Any, cast
from zoneinfo import ZoneInfo

import report_kitchen as kitchen

from scheduler.model.clock import add_min
from scheduler.model.log import Log, Wrapped
from scheduler.model.plan import Task
from scheduler.report.desk import Desk
from web.broke import _until
from web.kitchen import Kitchen
from web.now_tasks import cards, due_text
from web.service_board import _Day
from web.store.plans import KeptPlan

ZONE = ZoneInfo("America/Chicago")
FIRST = datetime(2026, 11, 1, 1, 45, tzinfo=ZONE)
"""1:45 am CDT; 15 minutes later it is 1 am again."""


def tending(saturday: datetime, now: datetime, *minutes_ahead: int) -> list[str]:
    """How far off the rounds are that the board shows, of those so many minutes ahead."""
    scenario = kitchen.scenario(saturday)
    plan = kitchen.plan(scenario)
    shift = plan.shifts[0]
    tasks = tuple(
        Task(at=add_min(now, m), minutes=4, kind="tend", person=shift.person, shift=shift.code, place="north box")
        for m in minutes_ahead
    )
    return [card.due for card in cards(Desk(plan.model_copy(update={"tasks": tasks}), scenario), (), now)]


def test_what_is_due_after_the_hour_that_comes_twice() -> None:
    assert due_text(add_min(FIRST, 15), FIRST) == "in 15 min"
    assert tending(datetime(2026, 10, 31), FIRST, 15, 30, 45, 90) == ["in 15 min", "in 30 min"]


def test_what_is_overdue_after_the_hour_that_is_skipped() -> None:
    spring = datetime(2026, 3, 8, 3, 10, tzinfo=ZONE)
    assert tending(datetime(2026, 3, 7), spring, -55) == ["55 min ago"]


def test_a_load_has_rested_when_the_time_has_passed() -> None:
    scenario = kitchen.scenario(datetime(2026, 10, 31))
    load = kitchen.plan(scenario).loads[0].model_copy(update={"late_done_at": FIRST})
    kept = cast("KeptPlan", SimpleNamespace(scenario=scenario))
    day = _Day(cast("Kitchen", None), kept, (), scenario.weekend.days[0], FIRST, {})
    rested = day._rested(load)
    assert rested == add_min(FIRST, scenario.menu.cut(load.cut).rest_min).astimezone(UTC)
    assert rested > add_min(FIRST, 30)


def test_who_is_back_in_an_hour_is_back_when_it_has_passed() -> None:
    clock = kitchen.scenario(datetime(2026, 10, 31)).weekend.timeline
    state: Any = SimpleNamespace(
        clock=clock,
        now_min=clock.minute(FIRST),
        scenario=kitchen.scenario(datetime(2026, 10, 31)),
        plan=SimpleNamespace(clock="12h"),
    )
    assert _until(state)[1].text == "About 1:45 am CST"


def test_nothing_is_known_before_it_was_written() -> None:
    again = add_min(FIRST, 15)
    assert Log((Wrapped(at=again, load="BR01"),)).until(FIRST).events == ()
