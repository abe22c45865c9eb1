"""A plan played many times over."""

from __future__ import annotations

import json
import sys
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.cli.commands import app, sentences_on_stderr

if TYPE_CHECKING:
    from scheduler.model.plan import Plan
    from scheduler.rehearse import Rehearsal

PIPE_WIDTH = 120


@app.command()
def rehearse(
    plan_path: Annotated[
        Path, typer.Argument(metavar="PLAN", help="plan.json, or the folder that holds it.", show_default=False)
    ],
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
    from rich import box
    from rich.console import Console
    from rich.table import Table

    from scheduler.report.sure_words import in_hundred, sure_words
    from scheduler.report.words import money_text, pieces_text, wave_text

    width = None if sys.stdout.isatty() else PIPE_WIDTH
    out = Console(markup=False, highlight=False, emoji=False, width=width)
    if not found.waves:
        out.print("The plan cooks nothing, so there is nothing to rehearse.")
        return
    for line in sure_words(found, plan.clock):
        out.print(line)
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False, padding=(0, 2, 0, 0))
    heads = ("Wave", "Pieces", "All ready in time", "Nine in ten ready", "Last piece late, 1 weekend in 10", "At risk")
    for head in heads:
        table.add_column(head)
    for wave in sorted(found.waves, key=lambda wave: wave.ready):
        late = f"{wave.late_min:.0f} min" if wave.late_min >= 1 else "not late"
        name, pieces = wave_text(wave.wave, plan.clock), pieces_text(wave.pieces, wave.cut)
        odds = in_hundred(wave.ready), in_hundred(wave.most_ready)
        table.add_row(name, pieces, *odds, late, money_text(round(wave.lost_cents)))
    out.print()
    out.print(table)
