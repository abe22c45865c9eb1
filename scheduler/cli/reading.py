"""A plan and its log put together for the commands of the night."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from scheduler.books import read_log
from scheduler.cli.moments import moment_of
from scheduler.errors import InputError, Problem
from scheduler.model.past import Past
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.reshuffle.state import State, state_at


def state_of(plan: Plan, scenario: Scenario, past: Past | None, log_path: Path, at: str | None) -> State:
    """The state at a time as typed, or at the last event of the log. InputError where neither says when."""
    weekend = scenario.weekend
    log = read_log(log_path, weekend.zone)
    if at is not None:
        moment: datetime = moment_of(at, weekend)
    elif log.events:
        moment = log.events[-1].at
    else:
        what = "nothing says at what time"
        raise InputError([Problem(log_path.name, "", "", what, 'give --at, such as --at "sat 3:00", or log something')])
    return state_at(plan, scenario, log, moment, past)
