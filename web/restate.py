"""A reshuffle inside the worker: from the plan, its past and the log to a plan that goes on from here."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from scheduler.books import event_of
from scheduler.books.plans import in_zone
from scheduler.model.log import Log
from scheduler.model.past import Past
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario


def answer(task: dict[str, Any], say: Callable[[dict[str, Any]], None], stop: threading.Event) -> dict[str, Any]:
    """The plan from the task's moment on, with the kitchen as it now is and what is fixed."""
    from scheduler.reshuffle.replan import Reshuffled, reshuffle
    from scheduler.reshuffle.state import state_at

    scenario = Scenario.model_validate_json(task["scenario"])
    zone = ZoneInfo(scenario.weekend.timezone)
    plan = in_zone(Plan.model_validate_json(task["plan"]), zone)
    past = None if task["past"] is None else Past.model_validate_json(task["past"])
    events = [in_zone(event_of(data, "the log"), zone) for data in map(json.loads, task["log"])]
    log = Log(tuple(sorted(events, key=lambda event: event.at.timestamp())))
    state = state_at(plan, scenario, log, datetime.fromisoformat(task["at"]).astimezone(zone), past)

    def told(found: Reshuffled) -> dict[str, Any]:
        return {
            "plan": found.plan.model_dump_json(),
            "scenario": state.scenario.model_dump_json(by_alias=True),
            "past": state.past.model_dump_json(),
            "same": found.plan == plan,
        }

    found = reshuffle(state, seconds=task["seconds"], stop=stop, first=lambda early: say({"first": told(early)}))
    return told(found)
