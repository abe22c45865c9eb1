"""Commands that change a plan on the way, or look ahead at what could make that needed."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

from scheduler.cli.commands import app, sentences_on_stderr
from scheduler.cli.night import LOG, At, LogPath, log_of
from scheduler.cli.options import PlanPath, seconds_option

if TYPE_CHECKING:
    from scheduler.model.plan import Plan
    from scheduler.model.scenario import Scenario
    from scheduler.reshuffle.replan import Reshuffled
    from scheduler.reshuffle.what_if import Loss


@app.command("reshuffle")
def reshuffle_plan(
    plan_path: PlanPath,
    log: LogPath = None,
    at: At = None,
    out: Annotated[Path | None, typer.Option(help="Folder for the new plan.", show_default=False)] = None,
    seconds: Annotated[float, seconds_option(0, 3600, "How long it searches, in all.")] = 5,
    seed: Annotated[int, typer.Option(min=0, help="Another seed may find another plan.")] = 0,
) -> None:
    """Make a new plan from where everything is.

    Tells what to do now, what changes, what to tell the guests and what it costs.
    """
    from scheduler.cli.reading import state_of
    from scheduler.cli.result import past_of, read_pair, staged, write_into
    from scheduler.report.do_now import DO_NOW, do_now, do_now_html, do_now_text
    from scheduler.reshuffle.money import money
    from scheduler.reshuffle.replan import Search
    from scheduler.reshuffle.state import went_as_planned

    with sentences_on_stderr():
        log_path = log_of(plan_path, log)
        plan, scenario = read_pair(plan_path)
        state = state_of(plan, scenario, past_of(plan_path), log_path, at)
        for note in state.notes:
            typer.echo(note, err=True)
        if went_as_planned(state):
            typer.echo(f"Plan {plan.number} still holds: everything the log tells went as planned.")
            return
        old = (plan_path if plan_path.is_dir() else plan_path.parent).resolve()  # "." has no name of its own
        target = out or old.parent / f"{old.name}-plan-{plan.number + 1}"
        with staged(target) as folder:
            search = Search(state, seed=seed)
            found = search.run(seconds=seconds, first=_say_first)
            if found is None or found.candidate is None:
                _no_plan([breach.sentence for breach in search.breaches])
            page = do_now(state, found.plan, money(search.basis, found.plan, found.candidate))
            _take_along(log_path, folder, target)
            more = {DO_NOW: do_now_html(page)}
            files = write_into(folder, target, found.plan, state.scenario, search.past, more)
    typer.echo(do_now_text(page))
    typer.echo("\n".join(["", *(f"Wrote {file}" for file in files)]))
    _mark_old(old, plan, scenario, f"plan {found.plan.number} has taken its place ({page.title})")


def _say_first(found: Reshuffled) -> None:
    typer.echo(f"A first plan after {found.seconds:.1f} s; looking for a better one.", err=True)


def _no_plan(said: list[str]) -> NoReturn:
    typer.echo("No plan that goes on from here passes the audit:", err=True)
    for sentence in said[:5]:
        typer.echo(sentence, err=True)
    raise typer.Exit(1)


def _take_along(log_path: Path, folder: Path, target: Path) -> None:
    """The log goes with the new plan, by the name under which it is looked for; one that is there stays."""
    from scheduler.errors import OutputError

    if not log_path.exists() or (target / LOG).exists():
        return
    try:
        shutil.copyfile(log_path, folder / LOG)
    except OSError as error:
        raise OutputError(f"{target / LOG} cannot be written: {error.strerror or error}") from error


def _mark_old(folder: Path, plan: Plan, scenario: Scenario, new: str) -> None:
    """The old crew sheets say that they are old. The new plan holds even where they cannot be made to."""
    from scheduler.books import write_text
    from scheduler.errors import OutputError
    from scheduler.report import CREW_PLAN
    from scheduler.report.desk import Desk
    from scheduler.report.page import page_html

    banner = f"OLD. Plan {plan.number} no longer holds: {new}. Do not work from this."
    try:
        write_text(folder / CREW_PLAN, page_html(Desk(plan, scenario), banner))
    except OutputError as error:
        typer.echo(f"{error}. Take down the sheets of plan {plan.number}: they do not say that they are old.", err=True)


@app.command("what-if")
def what_if_command(
    plan_path: PlanPath,
    every: Annotated[int, typer.Option(min=1, max=48, help="Hours between the failures of one thing.")] = 8,
    seconds: Annotated[float, seconds_option(0.1, 600, "Search for each new plan.")] = 1.0,
) -> None:
    """What each single failure would cost: where the plan is brittle, and what standing by would cost."""
    from scheduler.cli.result import read_pair
    from scheduler.reshuffle.what_if import failures, what_if

    with sentences_on_stderr():
        plan, scenario = read_pair(plan_path)
        tried = failures(plan, scenario, every)
        typer.echo(f"{len(tried)} failures, one at a time", err=True)
        losses = what_if(plan, scenario, tried, seconds=seconds)
    typer.echo(loss_table(losses, plan.clock))


def loss_table(losses: list[Loss], style: str) -> str:
    """The losses as a table, dearest first."""
    from scheduler.report.words import moment_text, money_text

    rows = [("What fails", "When", "Lost", "Idle", "Thrown", "Short", "Standing by")]
    for loss in losses:
        failure = loss.failure
        spare = money_text(failure.stand_by_cents) if failure.stand_by_cents else ""
        rows.append(
            (
                f"{failure.what} ({failure.kind})",
                moment_text(failure.at, "24h" if style == "24h" else "12h"),
                "no plan" if loss.lost_cents is None else money_text(loss.lost_cents),
                "" if loss.idle_cents is None else money_text(loss.idle_cents),
                str(loss.thrown),
                str(loss.short),
                spare,
            )
        )
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    lines = ["  ".join(_cell(row[i], width, i < 2) for i, width in enumerate(widths)) for row in rows]
    note = (
        "Lost: against the plan, with a new one made. Idle: if nobody did anything. Thrown, short: pieces. "
        "Standing by: one more person for that shift, or the smallest spare fire kept warm for 8 hours."
    )
    return "\n".join([*(line.rstrip() for line in lines), "", note])


def _cell(text: str, width: int, left: bool) -> str:
    return text.ljust(width) if left else text.rjust(width)
