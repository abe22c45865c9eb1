"""The night in which the clock shows an hour twice: what comes after in time comes after, whatever the clock shows."""

from __future__ import annotations

from datetime import datetime
from functools import cache
from pathlib import Path

import pytest

from scheduler.audit import RULES, audit
from scheduler.books import read_scenario
from scheduler.model.clock import elapsed_min
from scheduler.model.log import Down, Log, Missing
from scheduler.model.past import Past
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.reshuffle.changed import instructions
from scheduler.reshuffle.crew_past import doing_now
from scheduler.reshuffle.facts import facts_of
from scheduler.reshuffle.kitchen import as_it_is
from scheduler.reshuffle.what_if import failures
from scheduler.solve import plan_weekend

FOLDER = Path(__file__).parents[2] / "scenarios" / "first-frost"


@cache
def frost() -> tuple[Plan, Scenario]:
    scenario = read_scenario(FOLDER)
    return plan_weekend(scenario, work=1), scenario


def at(hour: int, minute: int, fold: int = 0) -> datetime:
    """A time of Sunday, November 1; with fold 1 of the hour's second coming."""
    return datetime(2026, 11, 1, hour, minute, tzinfo=frost()[1].weekend.zone, fold=fold)


SUMMER, WINTER = at(1, 45), at(1, 15, fold=1)
"""Half an hour apart."""


def test_an_event_keeps_its_hour_and_is_known_from_then_on() -> None:
    event = Down(at=WINTER.replace(second=30), place="north")
    assert elapsed_min(SUMMER, event.at) == 30
    log = Log((Down(at=SUMMER, place="north"), event))
    assert log.until(WINTER.replace(minute=14)).events == log.events[:1]
    assert log.until(WINTER.replace(second=59)).events == log.events


def test_a_breach_after_the_change_of_plan_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    plan, scenario = frost()
    minute = scenario.weekend.timeline.minute
    monkeypatch.setitem(RULES, "late", lambda view: [view.breach("late", "Too late.", at=minute(WINTER))])
    assert "late" in {breach.code for breach in audit(plan, scenario, Past(from_min=minute(SUMMER)))}
    assert "late" not in {breach.code for breach in audit(plan, scenario, Past(from_min=minute(WINTER) + 1))}


def test_what_fails_or_is_away_does_so_in_its_own_hour_and_no_file_forgets_it() -> None:
    _, scenario = frost()
    place, person = scenario.site.smokers[0].name, scenario.crew.people[0].name
    events = (
        Down(at=at(1, 30), place=place, until=at(1, 40)),
        Down(at=at(1, 30, fold=1), place=place, until=at(3, 0)),
        Missing(at=SUMMER, person=person, until=WINTER),
    )
    now = as_it_is(scenario, facts_of(Log(events), scenario), 0)
    kept = Scenario.model_validate_json(now.model_dump_json(by_alias=True))
    assert kept == now
    local = kept.weekend.local
    known = [*kept.weekend.out_of_use, *kept.weekend.away]
    assert [(local(e.from_at), local(e.until_at)) for e in known if e.from_at and e.until_at] == [
        (event.at, event.until) for event in events
    ]
    assert [local(e.from_at).utcoffset() for e in known if e.from_at] == [e.at.utcoffset() for e in events]


def test_what_was_told_before_the_moment_is_not_told_from_then_on() -> None:
    plan, _ = frost()
    shift = plan.shifts[0]
    came = plan.model_copy(
        update={
            "loads": (),
            "fires": (),
            "shifts": (shift.model_copy(update={"starts_at": SUMMER, "ends_at": at(5, 0)}),),
        }
    )
    assert not instructions(came, WINTER)
    assert instructions(came, SUMMER)


def test_what_somebody_does_first_is_first_in_time() -> None:
    plan, scenario = frost()
    shift = plan.shifts[0].model_copy(update={"starts_at": at(0, 0), "ends_at": at(5, 0)})
    task = plan.tasks[0].model_copy(update={"shift": shift.code, "minutes": 5})
    first, second = task.model_copy(update={"at": SUMMER}), task.model_copy(update={"at": WINTER})
    night = plan.model_copy(update={"shifts": (shift,), "tasks": (second, first)})
    clock = scenario.weekend.timeline
    assert doing_now(night, clock, clock.minute(SUMMER)) == {shift.person: first}


def test_failures_are_tried_while_a_fire_burns_and_a_stand_by_is_paid_for_each_hour() -> None:
    plan, scenario = frost()
    fire = plan.fires[0].model_copy(update={"lit_at": at(0, 0), "ready_at": at(0, 30), "out_at": WINTER})
    shift = plan.shifts[0].model_copy(update={"starts_at": at(0, 30), "ends_at": WINTER})
    night = plan.model_copy(update={"loads": (), "fires": (fire,), "shifts": (shift,)})
    first, second, missing = sorted(failures(night, scenario, 1), key=lambda failure: failure.kind)
    assert [x.at.isoformat() for x in (first, second)] == [x.isoformat() for x in (at(1, 0), at(1, 0, fold=1))]
    wage = scenario.crew.person(shift.person).wage_cents_per_h
    assert missing.stand_by_cents == round(wage * 1.75)
