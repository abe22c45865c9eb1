"""People who are faster or slower than planned: when loads really go on, and when they are really wrapped."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.forecast.special import Floats
from scheduler.model.crew import TaskKind
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario

PERSON_SD = 0.15
"""A person's pace this weekend: so much faster or slower, as a standard deviation of its logarithm."""
TASK_SD = 0.2
"""And so much more from one task to the next. Both common practice, no source."""
BY_CLOCK: tuple[TaskKind, ...] = ("counter",)
"""Kinds that end by the clock however fast one works."""


@dataclass(frozen=True)
class Delays:
    """Minutes later than planned, by load and run."""

    loaded: dict[str, Floats]
    wrapped: dict[str, Floats]
    worst_wrap_wait: Floats
    """By run: the longest that a load due at the wrap table waits for a table or for hands."""


def played_tasks(plan: Plan, scenario: Scenario, runs: int, rng: np.random.Generator) -> Delays:
    """Every person does the tasks of the plan in their order, each as soon as it is due and he is free."""
    clock = scenario.weekend.timeline
    pace = {name: np.exp(PERSON_SD * rng.standard_normal(runs)) for name in sorted({t.person for t in plan.tasks})}
    free = {name: np.full(runs, -np.inf) for name in pace}
    tables = np.full((max(1, scenario.site.wrap_tables), runs), -np.inf)
    loaded = {load.code: np.zeros(runs) for load in plan.loads}
    wrapped = {load.code: np.zeros(runs) for load in plan.loads}
    worst = np.zeros(runs)
    for task in sorted(plan.tasks, key=lambda t: (t.at.timestamp(), t.person)):
        due = float(clock.minute(task.at))
        start = np.maximum(free[task.person], due)
        if task.kind == "wrap":
            start = np.maximum(start, tables.min(axis=0))
        takes = np.full(runs, float(task.minutes))
        if task.kind not in BY_CLOCK:
            takes = takes * pace[task.person] * np.exp(TASK_SD * rng.standard_normal(runs) - TASK_SD**2 / 2)
        free[task.person] = start + takes if task.kind not in BY_CLOCK else np.maximum(start, due + task.minutes)
        if task.kind == "wrap":
            tables[tables.argmin(axis=0), np.arange(runs)] = start + takes
            worst = np.maximum(worst, start - due)
        into = loaded if task.kind == "load" else wrapped if task.kind == "wrap" else {}
        for code in task.loads:
            if code in into:
                into[code] = np.maximum(into[code], start - due)
    return Delays(loaded, wrapped, worst)
