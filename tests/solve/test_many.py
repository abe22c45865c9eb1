"""Many weekends through an executor: the same plans by processes and by a Dask cluster on this machine."""

from __future__ import annotations

import pickle
from collections.abc import Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from multiprocessing import get_context

import pytest
from audit_kitchen import kitchen
from distributed import Client, LocalCluster

from scheduler.audit import audit
from scheduler.books import scenario_hash
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.solve import many
from scheduler.solve.many import Job, plan_all, planned

JOBS = 8


def weekend(number: int) -> Scenario:
    """The small invented kitchen with one cut only, by turns, another number of pieces each time."""
    scenario = kitchen().scenario
    cut = ("brisket", "chicken", "chicken")[number % 3]
    waves = tuple(wave.model_copy(update={"pieces": 3 + number}) for wave in scenario.weekend.waves if wave.cut == cut)
    update = {"waves": waves, "orders": (), "name": f"what if {number}"}
    return scenario.model_copy(update={"weekend": scenario.weekend.model_copy(update=update)})


@pytest.fixture(scope="module")
def jobs() -> list[Job]:
    return [Job(f"site {number}", weekend(number), moves=3, seed=number) for number in range(JOBS)]


@pytest.fixture(scope="module")
def by_processes(jobs: list[Job]) -> dict[str, Plan]:
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        return plans(jobs, pool)


@pytest.fixture(scope="module")
def cluster() -> Iterator[str]:
    """Address of a Dask cluster: one worker of its own process, which plans two weekends at once."""
    with LocalCluster(
        n_workers=1, threads_per_worker=2, processes=True, dashboard_address=None, host="127.0.0.1"
    ) as found:
        yield found.scheduler_address


def plans(jobs: list[Job], executor: Executor) -> dict[str, Plan]:
    found = {answer.name: answer.plan for answer in plan_all(jobs, executor)}
    return {name: plan for name, plan in found.items() if plan is not None}


def test_processes_and_a_dask_cluster_give_the_same_plans(
    jobs: list[Job], by_processes: dict[str, Plan], cluster: str
) -> None:
    with Client(cluster, set_as_default=False) as client, client.get_executor() as executor:
        by_dask = plans(jobs, executor)
    assert len(by_processes) == JOBS
    assert by_dask == by_processes
    assert len({plan.model_dump_json() for plan in by_dask.values()}) == JOBS


def test_each_plan_is_of_its_weekend_and_sound(jobs: list[Job], by_processes: dict[str, Plan]) -> None:
    for job in jobs:
        plan = by_processes[job.name]
        assert plan.scenario_hash == scenario_hash(job.scenario)
        assert audit(plan, job.scenario) == ()
        assert plan.certificate.stopped_by in ("work", "proven")


class Here(Executor):
    """An executor of nothing but this thread."""

    def submit(self, fn, /, *args, **kwargs):  # type: ignore[no-untyped-def]
        future: Future[object] = Future()
        future.set_result(fn(*args, **kwargs))
        return future


def test_any_executor_will_do(jobs: list[Job], by_processes: dict[str, Plan]) -> None:
    assert plans(jobs[:1], Here()) == {jobs[0].name: by_processes[jobs[0].name]}


def test_a_weekend_that_cannot_be_manned_comes_back_as_its_problem() -> None:
    scenario = weekend(0)
    crew = scenario.crew.model_copy(
        update={"people": tuple(p.model_copy(update={"skills": ("pit",)}) for p in scenario.crew.people)}
    )
    job = Job("empty", scenario.model_copy(update={"crew": crew}), moves=0)
    answer = pickle.loads(pickle.dumps(planned(job)))  # an error of that kind could not pass between processes
    assert answer.plan is None
    assert len(answer.problems) == 1
    assert "counter" in answer.problems[0].sentence()


def test_where_no_process_may_be_started_a_fresh_interpreter_plans(monkeypatch: pytest.MonkeyPatch) -> None:
    class Daemon:
        daemon = True

    monkeypatch.setattr(many, "current_process", Daemon)
    answer = planned(Job("timed", weekend(1), seconds=1.0))
    assert answer.plan is not None
    assert audit(answer.plan, weekend(1)) == ()
