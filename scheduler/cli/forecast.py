"""What will be sold, when each cut is gone, and how well such forecasts have done."""

from __future__ import annotations

import json
from datetime import datetime, time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.cli.commands import app, sentences_on_stderr
from scheduler.errors import InputError, Problem

if TYPE_CHECKING:
    from scheduler.forecast.weekend import WeekendForecast
    from scheduler.model.history import History
    from scheduler.model.scenario import Scenario
    from scheduler.model.weekend import ServiceDay

MOST_DRAWS = 100_000

ScenarioArgument = Annotated[
    Path, typer.Argument(help="Folder of the scenario, with sales.csv and service-days.csv.", show_default=False)
]
SkipOption = Annotated[bool, typer.Option("--skip-bad-rows", help="Go on without the rows that cannot be read.")]
JsonOption = Annotated[bool, typer.Option("--json", help="Print the result as JSON instead of text.")]
SeedOption = Annotated[int, typer.Option(min=0, help="Where chance starts from.")]


def history_of(folder: Path, scenario: Scenario, skip_bad_rows: bool) -> History:
    """What was sold before. InputError with every bad row, unless they are to be left out; then they are told."""
    from scheduler.books import read_history
    from scheduler.report.words import count_text

    found = read_history(folder, scenario)
    if found.bad and not skip_bad_rows:
        mend = "correct the rows above, or leave them out with --skip-bad-rows"
        told = Problem(found.bad[0].file, "", "", f"{count_text(len(found.bad), 'row')} cannot be read", mend)
        raise InputError([*found.bad, told])
    for problem in found.bad:
        typer.echo(f"Left out: {problem.sentence()}", err=True)
    return found


def _time_of_day(text: str) -> time:
    try:
        return datetime.strptime(text.strip(), "%H:%M").time()
    except ValueError:
        what, mend = f'"{text}" is not a time of day', "write it such as 12:00"
        raise InputError([Problem("forecast", "", "--by", what, mend)]) from None


def _days_named(text: str, scenario: Scenario) -> list[ServiceDay]:
    from scheduler.books.sentences import suggest
    from scheduler.model.crew import WEEKDAYS

    word = text.strip().lower()
    names = {
        day: {WEEKDAYS[day.opens.weekday()], f"{day.opens:%A}".lower(), f"{day.opens.date()}"}
        for day in _days(scenario)
    }
    found = [day for day, words in names.items() if word in words]
    if not found:
        known = [WEEKDAYS[day.opens.weekday()] for day in names]
        raise InputError([Problem("forecast", "", "--day", f'no service day is "{text}"', suggest(word, known))])
    return found


def _days(scenario: Scenario) -> list[ServiceDay]:
    return sorted(scenario.weekend.days, key=lambda day: day.opens)


@app.command()
def forecast(
    scenario: ScenarioArgument,
    plan_path: Annotated[
        Path | None, typer.Option("--plan", help="plan.json, or its folder: meat is ready as this plan says.")
    ] = None,
    by: Annotated[str | None, typer.Option(help="Time of day that is asked about (noon, where it is open).")] = None,
    day: Annotated[str | None, typer.Option(help="One day only: sat, or 2026-06-13.")] = None,
    out: Annotated[Path | None, typer.Option(help="Folder for forecast.html, forecast.json and forecast.csv.")] = None,
    draws: Annotated[int, typer.Option(min=100, max=MOST_DRAWS, help="How many times each day is played.")] = 10_000,
    seed: SeedOption = 0,
    skip_bad_rows: SkipOption = False,
    as_json: JsonOption = False,
) -> None:
    """What is sold by noon, when each cut is gone, what would change that: as odds."""
    from scheduler.books import read_scenario, write_text
    from scheduler.cli.result import read_pair
    from scheduler.forecast.weekend import forecast_weekend
    from scheduler.model.fold import folded
    from scheduler.report.forecast_files import forecast_csv, forecast_data, forecast_html

    with sentences_on_stderr():
        read = read_scenario(scenario)
        history = history_of(scenario, read, skip_bad_rows)
        plan = None
        if plan_path is not None:
            plan, read = folded(*read_pair(plan_path))
        asked = None if by is None else _time_of_day(by)
        days = None if day is None else _days_named(day, read)
        found = forecast_weekend(read, history, plan, by=asked, days=days, draws=draws, seed=seed)
        files = []
        if out is not None:
            files = [out / f"forecast.{kind}" for kind in ("html", "json", "csv")]
            texts = forecast_html(found), json.dumps(forecast_data(found), indent=1) + "\n", forecast_csv(found)
            for file, text in zip(files, texts, strict=True):
                write_text(file, text)
    if as_json:
        typer.echo(json.dumps(forecast_data(found), indent=1))
        return
    print_forecast(found)
    for file in files:
        typer.echo(f"Wrote {file}")


def print_forecast(found: WeekendForecast) -> None:
    """Print a forecast."""
    from scheduler.cli.tables import print_table, terminal
    from scheduler.report.forecast_sheet import CAUTIONS, day_words, source_words

    out = terminal()
    out.print(f"Forecast: {found.scenario.weekend.name}, {found.scenario.site.name}", style="bold")
    if found.scenario.weekend.invented:
        out.print("Invented demo data.")
    for day in found.days:
        words = day_words(found, day)
        out.print()
        out.print(f"{words.title}, {words.hours}", style="bold")
        for line in words.answers:
            out.print(line)
        heads = (
            "Portions of",
            "Wanted",
            "Made",
            f"Sold by {words.by}",
            "Sold by closing",
            f"Gone by {words.by}",
            "Gone at",
            "Turned away",
            "Left",
        )
        rows = [
            (r.what, r.wanted, r.made, r.sold_by, r.sold, r.out_by, r.gone, r.turned_away, r.left) for r in words.rows
        ]
        print_table(out, heads, rows)
        for line in (*words.binds, words.line):
            out.print(line)
        if words.what_if:
            changes = [(w.what, w.brings, w.meat, w.sold, w.wait) for w in words.what_if]
            print_table(out, ("What if", "Takings", "Meat to buy", "Portions sold", "Longest wait"), changes)
    out.print()
    out.print("How sure", style="bold")
    for line in source_words(found):
        out.print(line)
    out.print()
    out.print("Cautions", style="bold")
    for line in CAUTIONS:
        out.print(line)
