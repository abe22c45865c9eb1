"""How well the forecast would have done on the days that were."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.cli.commands import app, sentences_on_stderr
from scheduler.cli.forecast import JsonOption, ScenarioArgument, SeedOption, SkipOption, history_of

if TYPE_CHECKING:
    from scheduler.forecast.backtest import Backtest, Seasons


@app.command()
def backtest(
    scenario: ScenarioArgument,
    seasons: Annotated[
        int, typer.Option(min=0, max=10_000, help="Also forecast so many invented seasons, whose demand is known.")
    ] = 0,
    seed: SeedOption = 0,
    skip_bad_rows: SkipOption = False,
    as_json: JsonOption = False,
) -> None:
    """Forecast the last part of the history from what came before it, and compare with two rules of thumb."""
    from scheduler.books import read_scenario
    from scheduler.forecast.backtest import backtest as score
    from scheduler.forecast.backtest import simulated_seasons
    from scheduler.forecast.invented import harvest_truth

    with sentences_on_stderr():
        read = read_scenario(scenario)
        found = score(history_of(scenario, read, skip_bad_rows), read, seed)
        played = simulated_seasons(harvest_truth(), read, seasons, seed=seed) if seasons else None
    if as_json:
        data = asdict(found) | {"beats_both": found.best, "seasons": None if played is None else asdict(played)}
        typer.echo(json.dumps(data, indent=1))
        return
    for line in backtest_lines(found, played):
        typer.echo(line)


def backtest_lines(found: Backtest, played: Seasons | None = None) -> list[str]:
    """The result in lines."""
    from scheduler.report.words import count_text

    if not found.forecasts:
        return ["There are too few days to try the forecast on: at least 13, with the same weekday before."]
    lines = [
        f"{count_text(found.days, 'day')} forecast from what came before, {found.forecasts:,} cuts of days, "
        f"{found.sold_out:,} of them sold out.",
        f"{'':<24} {'loss, portions':>15} {'in the 80 % band':>17} {'too high by':>12}",
    ]
    lines += [f"{s.name:<24} {s.pinball:>15.2f} {s.coverage:>16.0%} {s.bias:>12.1%}" for s in found.scores]
    lines.append(
        "The forecast beats both rules of thumb."
        if found.best
        else "On this history the forecast does NOT beat both rules of thumb: go by the better one and add days."
    )
    if played is not None:
        lines.append(
            f"{count_text(played.seasons, 'invented season')}: the 80 % band holds {played.coverage:.1%} of "
            f"{played.forecasts:,} true demands; expected demand is {played.bias:+.1%} off, the mean sold "
            f"{played.naive_bias:+.1%}."
        )
    return lines
