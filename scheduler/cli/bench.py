"""The command that measures: the search and its peers on seeded weekends."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.cli.commands import BREACHES, app, sentences_on_stderr
from scheduler.cli.options import DAY_S, seconds_option

if TYPE_CHECKING:
    from scheduler.bench.one import Task
    from scheduler.bench.results import Results


def _known(value: list[str] | None, known: Iterable[str]) -> list[str]:
    names = list(known)
    for name in value or ():
        if name not in names:
            raise typer.BadParameter(f"{name!r} is not one of {', '.join(names)}")
    return value or names


def _families(value: list[str] | None) -> list[str]:
    from scheduler.bench.sizes import FAMILIES

    return _known(value, FAMILIES)


def _variants(value: list[str] | None) -> list[str]:
    from scheduler.bench.sizes import VARIANTS

    return _known(value, VARIANTS)


@app.command()
def bench(
    family: Annotated[
        list[str] | None, typer.Option(callback=_families, help="S, M, L or XL; may be given again.")
    ] = None,
    variant: Annotated[
        list[str] | None, typer.Option(callback=_variants, help="Such as 'tight hold'; may be given again.")
    ] = None,
    seeds: Annotated[int, typer.Option(min=1, max=100, help="Weekends of each kind.")] = 5,
    seconds: Annotated[float | None, seconds_option(1, DAY_S, "Of each search.", show_default="by family")] = None,
    alone: Annotated[bool, typer.Option("--alone", help="This program alone, without other methods.")] = False,
    as_json: Annotated[
        Path | None, typer.Option("--json", metavar="FILE", help="Writes all results here.", show_default=False)
    ] = None,
    against: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Earlier results to hold these against.", show_default=False)
    ] = None,
    figure: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Draws time and memory by size.", show_default=False)
    ] = None,
) -> None:
    """Measure the search on seeded invented weekends, beside other methods, and print the tables.

    Exit status 1 if a plan costs less than a bound that this run or an earlier one proved.
    """
    from scheduler.bench.growth import growth_svg
    from scheduler.bench.results import changed, contradictions, read_results
    from scheduler.bench.table import markdown
    from scheduler.bench.weekends import menu
    from scheduler.books import write_text

    with sentences_on_stderr():
        before = None if against is None else read_results(against)
        menu()
        results = _measured(_tasks(family or [], variant or [], seeds, seconds, alone=alone), as_json)
        if figure is not None:
            write_text(figure, growth_svg(results.records))
    typer.echo(markdown(results), nl=False)
    if before is not None:
        for case in changed(results, before):
            typer.echo(f"{case} is not the weekend that it was in {against}, so it is not compared.", err=True)
    wrong = list(contradictions(results, *([before] if before is not None else [])))
    for sentence in wrong:
        typer.echo(f"Contradiction: {sentence}.", err=True)
    if wrong:
        raise typer.Exit(BREACHES)


def _tasks(families: list[str], variants: list[str], seeds: int, seconds: float | None, *, alone: bool) -> list[Task]:
    """Each weekend by this program and by all others, one after another."""
    from scheduler.bench.one import METHODS, ON_PART, OURS, Task
    from scheduler.bench.sizes import FAMILIES

    found = []
    for family in families:
        given = FAMILIES[family].seconds if seconds is None else seconds
        for variant in variants:
            for seed in range(seeds):
                for method in (OURS, *(() if alone else METHODS)):
                    if method in ON_PART:
                        found.append(Task(family, variant, seed, OURS, given, part=True))
                    found.append(Task(family, variant, seed, method, given, part=method in ON_PART))
    return found


def _measured(tasks: list[Task], path: Path | None) -> Results:
    """All runs, each in a process of its own; what is there is written after each."""
    from scheduler.bench.one import run_apart
    from scheduler.bench.results import Results, machine

    where, records = machine(), []
    for number, task in enumerate(tasks, 1):
        record = run_apart(task)
        records.append(record)
        said = record.note if record.cents is None else f"${record.cents / 100:,.2f}"
        typer.echo(f"{number} of {len(tasks)}: {record.case}, {record.method}: {said}", err=True)
        if path is not None:
            Results(where, tuple(records)).write(path)
    return Results(where, tuple(records))
