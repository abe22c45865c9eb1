"""One run in a process of its own: `python -m scheduler.bench.one`, a task as JSON in, a record as JSON out.

So that what one method leaves behind in memory is not counted to the next.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace

from scheduler.bench.outcome import Made, Record, reached, thinned
from scheduler.bench.weekends import GRID_MIN, Case
from scheduler.books import scenario_hash
from scheduler.errors import InputError
from scheduler.model.scenario import Scenario

OURS = "this program"
Peer = Callable[[Scenario, float], Made]

PATIENCE = 3.0
"""A run is ended after so many times its seconds, and `PATIENCE_S` on top: setting up and settling take time too."""
PATIENCE_S = 240.0


@dataclass(frozen=True, slots=True)
class Task:
    """Who is to plan which weekend for how long."""

    family: str
    variant: str
    seed: int
    method: str
    seconds: float
    part: bool = False
    """On the part of the weekend that a scheduling library can express."""

    @property
    def case(self) -> Case:
        """The weekend."""
        return Case(self.family, self.variant, self.seed)


def peers() -> dict[str, Peer]:
    """All peers by name. Those of the part are given the part."""
    from scheduler.bench.peers.flow import cp_sat_on_flow, highs_on_flow
    from scheduler.bench.peers.intervals import cp_sat_by_intervals
    from scheduler.bench.peers.shop import pyjobshop
    from scheduler.bench.peers.thumb import counting_back

    return {
        "counting back": counting_back,
        "CP-SAT, an interval a load": cp_sat_by_intervals,
        "HiGHS, flow model": highs_on_flow,
        "CP-SAT, flow model": cp_sat_on_flow,
        "PyJobShop": pyjobshop,
    }


ON_PART = ("PyJobShop",)
METHODS = ("counting back", "CP-SAT, an interval a load", "HiGHS, flow model", "CP-SAT, flow model", "PyJobShop")


def run_here(task: Task) -> Record:
    """Run a task in this process."""
    from scheduler.bench.memory import Watch

    scenario = task.case.scenario()
    if task.part:
        from scheduler.bench.peers.part import part_of

        scenario = part_of(scenario)
    if task.method == OURS:
        from scheduler.bench import ours

        started = time.monotonic()
        made, memory = ours.run(scenario, task.seconds, task.seed, reshuffle=not task.part)
    else:
        method = peers()[task.method]  # imported before the clock starts, as for this program
        started = time.monotonic()
        with Watch() as watch:
            try:
                made = method(scenario, task.seconds)
            except InputError as error:  # what it needs is not installed: the others still run
                made = Made(None, note=" ".join(str(error).split()))
        memory = watch.megabytes
        made = replace(made, more=made.more | {"cores": watch.cores})
    return _record(task, scenario, made, time.monotonic() - started, memory)


def _record(task: Task, scenario: Scenario, made: Made, took_s: float, memory_mb: int) -> Record:
    cents = None if made.plan is None else made.plan.cost.total
    bound = made.bound_cents
    first = made.found[0] if made.found else (None, None)
    gap = None if cents is None or bound is None else ((cents - bound) / cents if cents else 0.0)
    return Record(
        family=task.family,
        variant=task.variant,
        seed=task.seed,
        method=task.method,
        part=task.part,
        scenario_hash=scenario_hash(scenario),
        grid_min=GRID_MIN,
        seconds=task.seconds,
        took_s=round(took_s, 2),
        first_s=first[0],
        first_cents=first[1],
        cents=cents,
        bound_cents=bound,
        gap=gap,
        gap_s=reached(made.history),
        found=thinned(made.found),
        memory_mb=memory_mb,
        note=made.note,
        more=made.more,
    )


def run_apart(task: Task) -> Record:
    """Run a task in a process of its own, ended with all that it started if it takes far too long."""
    words = [sys.executable, "-m", "scheduler.bench.one"]
    process = subprocess.Popen(
        words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    )
    try:
        said, wrong = process.communicate(json.dumps(asdict(task)), PATIENCE * task.seconds + PATIENCE_S)
    except subprocess.TimeoutExpired:
        os.killpg(process.pid, signal.SIGKILL)
        process.communicate()
        return _nothing(task, "ended: it took far longer than its seconds")
    except BaseException:
        os.killpg(process.pid, signal.SIGKILL)
        raise
    if process.returncode:
        lines = wrong.strip().splitlines()
        return _nothing(task, f"failed: {lines[-1] if lines else f'exit status {process.returncode}'}")
    return Record.of(json.loads(said.splitlines()[-1]))


def _nothing(task: Task, note: str) -> Record:
    return _record(task, task.case.scenario(), Made(None, note=note), task.seconds, 0)


if __name__ == "__main__":
    print(json.dumps(run_here(Task(**json.loads(sys.stdin.read()))).data()))
