"""The weekend that was."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.cli.commands import app, sentences_on_stderr
from scheduler.cli.night import LogPath, log_of
from scheduler.cli.options import DAY_S, PlanPath, seconds_option

if TYPE_CHECKING:
    from scheduler.learn.hindsight import Hindsight
    from scheduler.learn.review import Review
    from scheduler.model.log import Log

PAGE = "review.html"
LEAST_S = 4.0
"""Shortest search that says anything."""


@app.command()
def review(
    plan_path: PlanPath,
    log: LogPath = None,
    out: Annotated[
        Path | None, typer.Option(help="Folder for review.html; that of the plan if left out.", show_default=False)
    ] = None,
    seconds: Annotated[
        float, seconds_option(0, DAY_S, "About how long to search for what would have paid; 0: not at all.")
    ] = 60,
    seed: Annotated[int, typer.Option(min=0, help="Where chance starts from.")] = 0,
) -> None:
    """Planned against real on one page, and the three changes that would have paid most."""
    from scheduler.books import read_log, write_text
    from scheduler.cli.result import read_pair
    from scheduler.learn.review import review_of
    from scheduler.report.review_page import review_html
    from scheduler.report.review_words import change_lines, price_line

    with sentences_on_stderr():
        plan, scenario = read_pair(plan_path)
        events = read_log(log_of(plan_path, log), scenario.weekend.zone)
        found = review_of(plan, scenario, events)
        known = _hindsight(found, events, seconds, seed) if seconds else None
        folder = out if out is not None else plan_path if plan_path.is_dir() else plan_path.parent
        write_text(folder / PAGE, review_html(found, known))
    for line in (*events.notes, *change_lines(known), price_line(known)):
        if line:
            typer.echo(line)
    typer.echo(f"Wrote {folder / PAGE}")


def _hindsight(found: Review, log: Log, seconds: float, seed: int) -> Hindsight:
    from scheduler.errors import InputError
    from scheduler.learn.hindsight import hindsight, searches
    from scheduler.model.plan import Plan
    from scheduler.model.scenario import Scenario
    from scheduler.solve import plan_weekend
    from scheduler.solve.again import plan_again

    each, count = max(LEAST_S, seconds / max(1, searches(found, log))), 0

    def replan(scenario: Scenario) -> Plan | None:
        nonlocal count
        count += 1
        if sys.stderr.isatty():
            typer.echo(f"Planning again with hindsight, search {count}", err=True)
        try:  # the plan as it was is the best start, where it still fits
            return plan_again(found.plan, scenario, seconds=each, seed=seed, reasons=False)
        except (ValueError, KeyError):
            pass
        try:
            return plan_weekend(scenario, seconds=each, seed=seed, grid_min=found.plan.certificate.grid_min)
        except InputError:  # nobody can man it, or no plan was found in so short a time
            return None

    return hindsight(found, log, replan)
