"""The buying list and the prep of a plan."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.cli.commands import app, sentences_on_stderr
from scheduler.cli.options import PlanPath

if TYPE_CHECKING:
    from rich.console import Console

    from scheduler.report.prep_sheet import PrepSheet

PAPER_WIDTH = 80
"""Letters in a line where the list is not for a terminal: it is often printed, and taken to the cooler."""


@app.command()
def buy(
    plan_path: PlanPath,
    csv: Annotated[Path | None, typer.Option("--csv", help="Write the buying list to this CSV file as well.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the result as JSON instead of text.")] = False,
) -> None:
    """What to buy for a plan, by the case, and what to thaw and trim on which day before; wood too."""
    from scheduler.books import write_text
    from scheduler.cli.result import read_pair
    from scheduler.report.buying_csv import buying_csv, orders_data
    from scheduler.report.desk import Desk
    from scheduler.report.prep_sheet import prep_sheet
    from scheduler.trade.orders import orders_of

    with sentences_on_stderr():
        plan, scenario = read_pair(plan_path)
        orders = orders_of(plan, scenario)
        if csv is not None:
            write_text(csv, buying_csv(orders))
    if as_json:
        typer.echo(json.dumps(orders_data(orders), indent=1))
        return
    sheet = prep_sheet(Desk(plan, scenario))
    if sheet is None:
        typer.echo("The plan cooks nothing, so there is nothing to buy.")
    else:
        print_sheet(sheet)
    if csv is not None:
        typer.echo(f"Wrote {csv}")


def print_sheet(sheet: PrepSheet) -> None:
    """Print the sheet."""
    from scheduler.cli.tables import terminal

    out = terminal(PAPER_WIDTH)
    out.print("Buy", style="bold")
    _table(out, sheet)
    for line in (*sheet.notes, *sheet.wood):
        out.print(line)
    for day in sheet.days:
        out.print()
        out.print(day.title, style="bold")
        for name, text in (("Hands", day.hands), ("In the cooler", day.cooler)):
            if text:
                out.print(f"{name}: {text}.")
        for job in day.jobs:
            out.print(f"[ ] {job.what} {job.detail}".rstrip())
    if sheet.yields:
        out.print()
        out.print("What it gives (raw, trimmed and cooked in lb)", style="bold")
        _yields(out, sheet)
    out.print()
    out.print("Cautions", style="bold")
    for line in (sheet.hands, *sheet.cautions):
        if line:
            out.print(line)


def _table(out: Console, sheet: PrepSheet) -> None:
    from scheduler.cli.tables import print_table

    rows = [(r.what, r.imps, r.band, r.cases, r.pieces, r.weight, r.cost, r.by) for r in sheet.rows]
    heads = ("What", "IMPS", "Weight", "Cases", "Pieces", "In all", "Cost", "In by")
    total = ("Together", "", "", "", "", sheet.weight, sheet.total, "")
    print_table(out, heads, [*rows, total], {"Pieces", "In all", "Cost"}, gap=1)


def _yields(out: Console, sheet: PrepSheet) -> None:
    from scheduler.cli.tables import print_table

    rows = [(r.what, r.raw, r.trimmed, r.cooked, r.portions, r.menu) for r in sheet.yields]
    print_table(out, ("What", "Raw", "Trimmed", "Cooked", "Portions", "Menu"), rows, {"Raw", "Menu"}, gap=1)
