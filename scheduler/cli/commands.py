"""The commands and their options."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.cli.options import DAY_S, PlanPath, seconds_option
from scheduler.errors import InputError, SchedulerError

if TYPE_CHECKING:
    from scheduler.audit import Breach

BREACHES = 1
BAD_INPUT = 2

GRIDS_MIN = (5, 10, 15, 20, 30, 60)
"""Steps that divide an hour, so that shifts and waves on the quarter or half hour stay on the grid."""

app = typer.Typer(
    help="Plan the production of a wood-fired barbecue kitchen for a weekend of service.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)


@contextmanager
def sentences_on_stderr() -> Iterator[None]:
    """Ends with status 2 and one sentence a line where the input, or the place for the output, cannot be used."""
    try:
        yield
    except SchedulerError as error:
        lines = [p.sentence() for p in error.problems] if isinstance(error, InputError) else [f"{error}."]
        for line in lines:
            typer.echo(" ".join(line.split()), err=True)
        raise typer.Exit(BAD_INPUT) from None


def _on_grid(value: int) -> int:
    if value not in GRIDS_MIN:
        raise typer.BadParameter(f"{value} is not one of {', '.join(map(str, GRIDS_MIN))}")
    return value


@app.command()
def plan(
    scenario: Annotated[
        Path, typer.Argument(help="Folder with site.toml, menu.toml, crew.toml and weekend.toml.", show_default=False)
    ],
    out: Annotated[Path, typer.Option(help="Folder for the plan and the crew plan.", show_default=False)],
    seconds: Annotated[float, seconds_option(1, DAY_S, "Longest search.")] = 60,
    seed: Annotated[int, typer.Option(min=0, help="Another seed may find another plan.")] = 0,
    grid: Annotated[int, typer.Option(callback=_on_grid, help="Time grid in minutes, a part of an hour.")] = 15,
    as_json: Annotated[bool, typer.Option("--json", help="Print the result as JSON instead of text.")] = False,
) -> None:
    """Plan a weekend: who loads, wraps and pulls what, where and when.

    Writes plan.json, scenario.json, crew-plan.html, loads.csv and shifts.ics. Press Ctrl-C to keep the best plan so
    far, twice to give up.
    """
    from scheduler.audit import audit
    from scheduler.books import read_scenario
    from scheduler.cli.result import result_data, result_text, staged, write_into
    from scheduler.cli.search import search
    from scheduler.learn.layout import laid_out

    with sentences_on_stderr():
        read = laid_out(read_scenario(scenario))
        with staged(out) as folder:
            found = search(read, seconds=seconds, seed=seed, grid_min=grid)
            breaches = audit(found, read)
            if breaches:
                _tell(breaches, "The plan breaks rules, so nothing was written:")
                raise typer.Exit(BREACHES)
            files = write_into(folder, out, found, read)
    typer.echo(json.dumps(result_data(found, files), indent=1) if as_json else result_text(found, files))


@app.command("audit")
def audit_plan(plan_path: PlanPath) -> None:
    """Check a plan against every rule, one by one, and its cost."""
    from scheduler.audit import audit
    from scheduler.cli.result import past_of, read_pair, summary

    with sentences_on_stderr():
        found, scenario = read_pair(plan_path)
        past = past_of(plan_path)
    breaches = audit(found, scenario, past)
    if breaches:
        _tell(breaches, f"{len(breaches)} {'breach' if len(breaches) == 1 else 'breaches'}:", err=False)
        raise typer.Exit(BREACHES)
    typer.echo(f"No breach. {summary(found)}")


@app.command()
def show(plan_path: PlanPath) -> None:
    """Show a plan in the terminal: what is ready when, loads, fires, shifts, shorts, and how sure it is."""
    from scheduler.audit import audit
    from scheduler.cli.result import past_of, read_pair
    from scheduler.cli.show import show_plan

    with sentences_on_stderr():
        found, scenario = read_pair(plan_path)
        past = past_of(plan_path)
    breaches = audit(found, scenario, past)
    if breaches:
        _tell(breaches, "DO NOT COOK BY THIS PLAN. It breaks rules:")
    show_plan(found, scenario)
    if breaches:
        raise typer.Exit(BREACHES)


@app.command()
def schema() -> None:
    """Print the JSON Schema of plan.json."""
    from scheduler.books import plan_schema

    typer.echo(json.dumps(plan_schema(), indent=1))


def _tell(breaches: tuple[Breach, ...], head: str, err: bool = True) -> None:
    typer.echo(head, err=err)
    for breach in breaches:
        typer.echo(f"{breach.code}: {breach.sentence}", err=err)
