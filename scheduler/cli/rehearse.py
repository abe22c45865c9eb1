"""A plan played many times over."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.cli.commands import app, sentences_on_stderr
from scheduler.cli.options import PlanPath

if TYPE_CHECKING:
    from scheduler.model.plan import Plan
    from scheduler.rehearse import Rehearsal


@app.command()
def rehearse(
    plan_path: PlanPath,
    runs: Annotated[int, typer.Option(min=10, max=100_000, help="How many times it is played.")] = 1000,
    seed: Annotated[int, typer.Option(min=0, help="Where chance starts from.")] = 0,
    as_json: Annotated[bool, typer.Option("--json", help="Print the result as JSON instead of text.")] = False,
) -> None:
    """Play a plan many times: odds that each wave is ready, waits at the wrap table, hold overfull, dollars at risk."""
    from scheduler.cli.result import read_pair
    from scheduler.rehearse import rehearse as play

    with sentences_on_stderr():
        plan, scenario = read_pair(plan_path)
        found = play(plan, scenario, runs, seed)
    if as_json:
        typer.echo(json.dumps(asdict(found), indent=1))
        return
    _print(plan, found)


def _print(plan: Plan, found: Rehearsal) -> None:
    from scheduler.cli.tables import print_table, terminal
    from scheduler.report.sure_words import in_hundred, sure_words
    from scheduler.report.words import money_text, pieces_text, wave_text

    out = terminal()
    if not found.waves:
        out.print("The plan cooks nothing, so there is nothing to rehearse.")
        return
    for line in sure_words(found, plan.clock):
        out.print(line)
    heads = ("Wave", "Pieces", "All ready in time", "Nine in ten ready", "Last piece late, 1 weekend in 10", "At risk")
    rows = []
    for wave in sorted(found.waves, key=lambda wave: wave.ready):
        late = f"{wave.late_min:.0f} min" if wave.late_min >= 1 else "not late"
        name, pieces = wave_text(wave.wave, plan.clock), pieces_text(wave.pieces, wave.cut)
        odds = in_hundred(wave.ready), in_hundred(wave.most_ready)
        rows.append((name, pieces, *odds, late, money_text(round(wave.lost_cents))))
    out.print()
    print_table(out, heads, rows)
