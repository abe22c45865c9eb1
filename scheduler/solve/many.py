"""Many weekends at once through one seam, a `concurrent.futures.Executor`: processes of this machine, or a cluster.

The same job gives the same plan wherever it runs, if it is limited by moves. An executor's workers need this program.
"""

from __future__ import annotations

import pickle
import subprocess
import sys
from collections.abc import Iterable, Iterator
from concurrent.futures import Executor, as_completed
from dataclasses import dataclass
from multiprocessing import current_process

from scheduler.errors import InputError, Problem
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario


@dataclass(frozen=True, slots=True)
class Job:
    """A weekend to be planned."""

    name: str
    scenario: Scenario
    seconds: float = 60.0
    moves: int | None = None
    """Limits the search, in place of the seconds, so that it repeats."""
    seed: int = 0


@dataclass(frozen=True, slots=True)
class Planned:
    """What came of a job: a plan, or why there can be none."""

    name: str
    plan: Plan | None
    problems: tuple[Problem, ...] = ()


def plan_all(jobs: Iterable[Job], executor: Executor) -> Iterator[Planned]:
    """Plan weekends side by side; each is handed over when it is done, whatever the order."""
    futures = [executor.submit(planned, job) for job in jobs]
    try:
        for future in as_completed(futures):
            yield future.result()
    finally:
        for future in futures:
            future.cancel()


def planned(job: Job) -> Planned:
    """Plan one weekend, here.

    A search limited by time has processes of its own, which a cluster's worker may not start by the usual way; there it
    runs in a fresh interpreter.
    """
    if job.moves is None and current_process().daemon:
        words = [sys.executable, "-c", f"from {__name__} import answer; answer()"]
        done = subprocess.run(words, input=pickle.dumps(job), capture_output=True, check=True)
        found: Planned = pickle.loads(done.stdout)
        return found
    from scheduler.solve.search import plan_weekend

    try:
        plan = plan_weekend(job.scenario, seconds=job.seconds, work=job.moves, seed=job.seed)
    except InputError as error:  # as a value: it has to pass from process to process
        return Planned(job.name, None, error.problems)
    return Planned(job.name, plan)


def answer() -> None:
    """Plan the job on the input, pickled; what came of it goes to the output. For `planned` alone."""
    sys.stdout.buffer.write(pickle.dumps(planned(pickle.loads(sys.stdin.buffer.read()))))
