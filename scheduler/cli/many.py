"""The command that plans a whole folder of weekends at once, on this machine or on a cluster."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from concurrent.futures import BrokenExecutor, Executor, ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import get_context
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.cli.commands import BREACHES, app, sentences_on_stderr
from scheduler.cli.options import DAY_S, seconds_option
from scheduler.errors import InputError, Problem

if TYPE_CHECKING:
    from scheduler.model.scenario import Scenario
    from scheduler.solve.many import Job, Planned

CONNECT_S = 20


@app.command("plan-many")
def plan_many(
    folder: Annotated[Path, typer.Argument(help="Folder that holds scenario folders.", show_default=False)],
    out: Annotated[Path, typer.Option(help="Folder for the plans, one folder each.", show_default=False)],
    seconds: Annotated[
        float | None, seconds_option(1, DAY_S, "Longest search for each weekend.", show_default="60")
    ] = None,
    moves: Annotated[
        int | None, typer.Option(min=0, help="Limits each search by moves, so that it repeats.", show_default=False)
    ] = None,
    seed: Annotated[int, typer.Option(min=0, help="Another seed may find another plan.")] = 0,
    workers: Annotated[
        int | None, typer.Option(min=1, max=1000, help="Weekends at once on this machine.", show_default="by cores")
    ] = None,
    cluster: Annotated[
        str | None, typer.Option(metavar="ADDRESS", help="Dask cluster to plan on.", show_default=False)
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the result as JSON instead of text.")] = False,
) -> None:
    """Plan all weekends in a folder, side by side: many sites, or many what-ifs.

    Writes the files of each plan into a folder of its own. Nothing is written if one of the weekends cannot be used.
    """
    from scheduler.audit import audit
    from scheduler.cli.result import result_data, staged, summary, write_into
    from scheduler.solve.many import Job, plan_all

    if seconds is not None and moves is not None:
        raise typer.BadParameter("give --seconds or --moves, not both")
    with sentences_on_stderr():
        scenarios = _scenarios(folder)
        jobs = [Job(name, scenario, seconds or 60.0, moves, seed) for name, scenario in scenarios.items()]
        with staged(out) as stage, executor_at(cluster, workers or _workers(moves)) as executor:
            plans = {answer.name: answer.plan for answer in _all_sound(plan_all(jobs, executor), jobs)}
            broken = [name for name, plan in plans.items() if plan is None or audit(plan, scenarios[name])]
            if broken:
                typer.echo(f"Plans that break rules, so nothing was written: {', '.join(sorted(broken))}", err=True)
                raise typer.Exit(BREACHES)
            sound = {name: plan for name, plan in sorted(plans.items()) if plan is not None}
            files = {name: write_into(stage / name, out / name, plan, scenarios[name]) for name, plan in sound.items()}
    if as_json:
        typer.echo(json.dumps({name: result_data(plan, files[name]) for name, plan in sound.items()}, indent=1))
        return
    for name, plan in sound.items():
        typer.echo(f"{name}: {summary(plan)}")
    typer.echo(f"Wrote {len(sound)} plans into {out}")


def _scenarios(folder: Path) -> dict[str, Scenario]:
    """All weekends in a folder by name. InputError with the mistakes of all of them."""
    from scheduler.books import read_scenario
    from scheduler.learn.layout import laid_out

    if not folder.is_dir():
        what = "is a file" if folder.exists() else "there is no such folder"
        raise InputError([Problem(str(folder), "", "", what, "give a folder that holds scenario folders")])
    inside = sorted(path for path in folder.iterdir() if path.is_dir() and not path.name.startswith("."))
    if not inside:
        raise InputError([Problem(str(folder), "", "", "it holds no folder", "put a folder for each weekend into it")])
    found, problems = {}, []
    for path in inside:
        try:
            found[path.name] = laid_out(read_scenario(path))
        except InputError as error:
            problems += [_in(path.name, problem) for problem in error.problems]
    if problems:
        raise InputError(problems)
    return found


def _in(name: str, problem: Problem) -> Problem:
    """A mistake with the folder that it is in."""
    return Problem(f"{name}/{problem.file}", problem.item, problem.field, problem.what, problem.mend)


def _all_sound(answers: Iterator[Planned], jobs: list[Job]) -> list[Planned]:
    """All answers. InputError with the mistakes of the weekends that cannot be planned at all."""
    found: list[Planned] = []
    try:
        for answer in answers:
            found.append(answer)
            said = "cannot be planned" if answer.plan is None else "planned"
            typer.echo(f"{len(found)} of {len(jobs)}: {answer.name} {said}", err=True)
    except BrokenExecutor:
        what = "a process that was planning ended, perhaps for want of memory"
        raise InputError(
            [Problem("plan-many", "", "--workers", what, "let fewer weekends be planned at once")]
        ) from None
    problems = [_in(answer.name, problem) for answer in found for problem in answer.problems]
    if problems:
        raise InputError(problems)
    return found


def _workers(moves: int | None) -> int:
    """As many as there are cores; half of that where each search has a second process at work."""
    cores = os.cpu_count() or 1
    return cores if moves is not None else max(1, cores // 2)


@contextmanager
def executor_at(cluster: str | None, workers: int) -> Iterator[Executor]:
    """Processes of this machine, or the cluster at an address. InputError if it cannot be reached."""
    if cluster is None:
        with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
            yield pool
        return
    try:
        from distributed import Client
    except ImportError:
        what = "the package distributed, which speaks to a cluster, is not installed"
        mend = "install it with: pip install 'pit-scheduler[cluster]'"
        raise InputError([Problem("plan-many", "", "--cluster", what, mend)]) from None
    try:
        client = Client(cluster, timeout=CONNECT_S, set_as_default=False)  # type: ignore[no-untyped-call]
    except (OSError, ValueError) as error:
        what = f"no cluster answers at {cluster} ({str(error).splitlines()[0] or type(error).__name__})"
        mend = "give the address that its scheduler printed, such as tcp://10.0.0.5:8786"
        raise InputError([Problem("plan-many", "", "--cluster", what, mend)]) from None
    with client, client.get_executor() as executor:  # type: ignore[no-untyped-call]
        yield executor
