"""A search in a process of its own, so that pages stay quick: a task on the first line of its input, then "stop".

Everything that it says is one JSON object a line: progress, a first answer, and at the end the answer or what is wrong.
It ends when its input does, so that it does not outlive the server that started it. What a search starts in turn has to
see to that itself.
"""

from __future__ import annotations

import json
import os
import sys
import threading
from collections.abc import Callable
from typing import Any

from scheduler.errors import InputError
from scheduler.model.scenario import Scenario

Task = dict[str, Any]
Say = Callable[[dict[str, Any]], None]


def _say(data: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(data) + "\n")
    sys.stdout.flush()


def _listen(stop: threading.Event) -> None:
    for line in sys.stdin:
        if line.strip() == "stop":
            stop.set()
    os._exit(0)  # the server is gone


def _progress(say: Say) -> Callable[[Any], None]:
    def hear(progress: Any) -> None:
        names = ("seconds", "cost_cents", "bound_cents", "gap", "pieces_short", "note")
        say({"progress": {name: getattr(progress, name) for name in names}})

    return hear


def _plan(task: Task, say: Say, stop: threading.Event) -> dict[str, Any]:
    from scheduler.books import scenario_dump
    from scheduler.learn.layout import laid_out
    from scheduler.solve import plan_weekend

    scenario = laid_out(Scenario.model_validate_json(task["scenario"]))
    plan = plan_weekend(scenario, seconds=task["seconds"], seed=task.get("seed", 0), listener=_progress(say), stop=stop)
    return {"plan": plan.model_dump_json(), "scenario": scenario_dump(scenario)}


def _around(task: Task, say: Say, stop: threading.Event) -> dict[str, Any]:
    from scheduler.books.plans import in_zone
    from scheduler.model.plan import Plan
    from scheduler.solve.around import plan_around

    scenario = Scenario.model_validate_json(task["scenario"])
    plan = in_zone(Plan.model_validate_json(task["plan"]), scenario.weekend.zone)
    found = plan_around(plan, scenario, task["pins"], seconds=task["seconds"], listener=_progress(say), stop=stop)
    return {"plan": found.model_dump_json()}


def _reshuffle(task: Task, say: Say, stop: threading.Event) -> dict[str, Any]:
    from web.restate import answer

    return answer(task, say, stop)


def _forecast(task: Task, say: Say, stop: threading.Event) -> dict[str, Any]:
    from web.foresee import answer

    return answer(task)


KINDS: dict[str, Callable[[Task, Say, threading.Event], dict[str, Any]]] = {
    "plan": _plan,
    "around": _around,
    "reshuffle": _reshuffle,
    "forecast": _forecast,
}


def main() -> None:
    """Do the task on the first line of the input."""
    os.nice(5)  # pages come first
    task: Task = json.loads(sys.stdin.readline())
    stop = threading.Event()
    threading.Thread(target=_listen, args=(stop,), daemon=True).start()
    try:
        _say({"answer": KINDS[task["kind"]](task, _say, stop)})
    except InputError as error:
        _say({"problems": [problem.sentence() for problem in error.problems]})


if __name__ == "__main__":
    main()
