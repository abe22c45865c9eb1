"""How many pieces to cook."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.cli.commands import BREACHES, app, sentences_on_stderr
from scheduler.cli.forecast import JsonOption, ScenarioArgument, SeedOption, SkipOption, history_of
from scheduler.cli.options import DAY_S, seconds_option

if TYPE_CHECKING:
    from scheduler.forecast.worth import Wanted
    from scheduler.model.scenario import Scenario
    from scheduler.quantities import Settled
    from scheduler.quantities.table import QuantityRow

FIRST_SHARE = 0.6
"""Part of the time in which a plan for the newsvendor's quantities is looked for; the rest trades them against room."""
TRIAL_SHARE = 0.5
"""Part of the time for the quantities where there is a trial; then they are planned once more, with its pairs."""


@app.command()
def quantities(
    scenario: ScenarioArgument,
    out: Annotated[
        Path | None, typer.Option(help="Plan the weekend with the best quantities and write the plan to this folder.")
    ] = None,
    seconds: Annotated[float, seconds_option(1, DAY_S, "Longest search, with --out.")] = 60,
    seed: SeedOption = 0,
    skip_bad_rows: SkipOption = False,
    as_json: JsonOption = False,
) -> None:
    """How many pieces are worth cooking; with --out, traded against racks, hold, hands and fires in a plan."""
    from scheduler.books import read_scenario
    from scheduler.cli.result import staged, write_into
    from scheduler.forecast.demand import fit
    from scheduler.forecast.worth import wanted_pieces
    from scheduler.quantities.table import rows_of

    with sentences_on_stderr():
        read = read_scenario(scenario)
        model = fit(history_of(scenario, read, skip_bad_rows), read)
        days = sorted(read.weekend.days, key=lambda day: day.opens)
        wanted = [w for day, d in zip(days, model.weekend(), strict=True) for w in wanted_pieces(d, read, day, seed)]
        settled, files, rows = None, [], rows_of(wanted)
        if out is not None:
            with staged(out) as folder:
                settled = _planned(read, wanted, seconds, seed)
                for breach in settled.breaches:
                    typer.echo(f"{breach.code}: {breach.sentence}", err=True)
                if settled.breaches:
                    raise typer.Exit(BREACHES)
                rows = rows_of(wanted, settled)
                files = write_into(folder, out, settled.plan, settled.scenario, worth=rows)
    if as_json:
        told = [asdict(row) | {"day": f"{row.day}"} for row in rows]
        earned = None if settled is None else settled.earned_cents
        typer.echo(json.dumps({"rows": told, "expected_cents": earned, "files": [*map(str, files)]}, indent=1))
        return
    _print(rows, settled, read)
    for file in files:
        typer.echo(f"Wrote {file}")


def _planned(read: Scenario, wanted: Sequence[Wanted], seconds: float, seed: int) -> Settled:
    from scheduler.cli.search import search
    from scheduler.quantities import plan_quantities, with_trials
    from scheduler.solve.again import plan_again

    share = TRIAL_SHARE if read.weekend.trials else 1.0
    found = plan_quantities(
        read,
        wanted,
        lambda asked: search(asked, seconds=FIRST_SHARE * share * seconds, seed=seed, grid_min=15),
        lambda plan, asked: plan_again(plan, asked, seconds=(1 - FIRST_SHARE) * share * seconds, seed=seed),
    )
    return with_trials(found, lambda asked: search(asked, seconds=(1 - share) * seconds, seed=seed, grid_min=15))


def _print(rows: Sequence[QuantityRow], settled: Settled | None, read: Scenario) -> None:
    from scheduler.cli.tables import print_table, terminal
    from scheduler.report.words import money_text, short_day, wave_text

    out = terminal()
    heads = ["Day", "Pieces of", "In weekend.toml", "Worth their meat"] + (["Made"] if settled else [])
    heads += ["By wave", "The last earns", "One more", "What limits it"]
    told = []
    clock = read.weekend.clock
    for row in rows:
        waves = ", ".join(f"{wave_text(name, clock)[4:]} {n}" for name, n in row.waves)
        counts = [f"{row.planned}", f"{row.wanted}"] + ([f"{row.made}"] if settled else [])
        worth = money_text(row.last_cents), money_text(row.next_cents)
        told.append((short_day(row.day), row.cut, *counts, waves, *worth, row.limit))
    print_table(out, heads, told)
    out.print("Expected margins: what a piece is expected to bring, sold or left over, less its raw cost.")
    if settled is not None:
        earned = money_text(settled.earned_cents)
        out.print(f"Planned and audited, no breach. Expected to earn {earned} after wages, wood, hold and moves.")
