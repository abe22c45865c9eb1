"""A plan, its scenario, its past and its log, read for the commands of the night."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from scheduler.books import read_log
from scheduler.cli.moments import moment_of
from scheduler.cli.result import past_of, read_pair
from scheduler.errors import InputError, Problem
from scheduler.reshuffle.state import State, state_at


def state_of(plan_path: Path, log_path: Path, at: str | None) -> State:
    """The state at a time as typed, or at the last event of the log. InputError where neither says when."""
    plan, scenario = read_pair(plan_path)
    weekend = scenario.weekend
    log = read_log(log_path, weekend.zone)
    if at is not None:
        moment: datetime = moment_of(at, weekend)
    elif log.events:
        moment = log.events[-1].at
    else:
        what = "nothing says at what time"
        raise InputError([Problem(log_path.name, "", "", what, 'give --at, such as --at "sat 3:00", or log something')])
    return state_at(plan, scenario, log, moment, past_of(plan_path))
