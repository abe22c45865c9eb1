"""A reshuffle inside the worker: from the plan, its past and the log to a plan that goes on from here."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable
from dataclasses import fields
from datetime import datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from scheduler.books import event_of
from scheduler.books.plans import in_zone
from scheduler.errors import InputError, Problem
from scheduler.model.log import Log
from scheduler.model.past import Past
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario

if TYPE_CHECKING:
    from scheduler.reshuffle.replan import Reshuffled, Search


def answer(task: dict[str, Any], say: Callable[[dict[str, Any]], None], stop: threading.Event) -> dict[str, Any]:
    """The plan from the task's moment on, with the kitchen as it now is and what is fixed."""
    from scheduler.reshuffle.replan import Search
    from scheduler.reshuffle.state import state_at, went_as_planned

    scenario = Scenario.model_validate_json(task["scenario"])
    zone = ZoneInfo(scenario.weekend.timezone)
    plan = in_zone(Plan.model_validate_json(task["plan"]), zone)
    before = None if task["past"] is None else Past.model_validate_json(task["past"])
    events = [in_zone(event_of(data, "the log"), zone) for data in map(json.loads, task["log"])]
    log = Log(tuple(sorted(events, key=lambda event: event.at.timestamp())))
    state = state_at(plan, scenario, log, datetime.fromisoformat(task["at"]).astimezone(zone), before)
    if went_as_planned(state):
        return {"same": True}
    search = Search(state, stop=stop)
    found = search.run(seconds=float(task["seconds"]), first=lambda first: say({"first": _told(search, first)}))
    if found is None:
        said = [breach.sentence for breach in search.breaches[:3]]
        what = "no plan that goes on from here passes the audit"
        mend = "go on as you are, throw away nothing that is hot, and call the lead"
        raise InputError([Problem("the reshuffle", "", "", "; ".join([what, *said]), mend)])
    return _told(search, found)


def _told(search: Search, found: Reshuffled) -> dict[str, Any]:
    """A plan with the kitchen as it now is, what is fixed, and what to do now."""
    from scheduler.report.do_now import do_now
    from scheduler.reshuffle.money import money

    words: dict[str, Any] = {}
    if found.candidate is not None:
        page = do_now(search.state, found.plan, money(search.basis, found.plan, found.candidate))
        words = {field.name: getattr(page, field.name) for field in fields(page) if field.name not in ("css", "policy")}
        words["people"] = [{"name": person.name, "todo": list(person.todo)} for person in page.people]
    return {
        "plan": found.plan.model_dump_json(),
        "scenario": search.state.scenario.model_dump_json(by_alias=True),
        "past": search.past.model_dump_json(),
        "do_now": words,
    }
