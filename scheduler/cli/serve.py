"""The web: pages for the laptop, the phone at the pit and the wall. `web` is imported when the command runs."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from scheduler.cli.commands import app, sentences_on_stderr


@app.command()
def serve(
    scenario: Annotated[Path, typer.Argument(help="Folder of the scenario; the data lie in it.", show_default=False)],
    host: Annotated[str, typer.Option(help="Address to be reached at; 0.0.0.0 for phones on the same network.")] = (
        "127.0.0.1"
    ),
    port: Annotated[int, typer.Option(min=1, max=65535, help="Port to be reached at.")] = 8765,
    name: Annotated[
        list[str] | None, typer.Option("--name", help="Another name by which phones call this machine.")
    ] = None,
    database: Annotated[
        str, typer.Option(help="SQLAlchemy address of another database; the file in the folder if left out.")
    ] = "",
    practice: Annotated[
        str | None, typer.Option(help='Let the clock start there, such as "sat 3:00", to practise.')
    ] = None,
) -> None:
    """Serve the pages: plan on a laptop, run the night from phones, print. Ctrl-C ends it."""
    from scheduler.books import read_scenario
    from scheduler.cli.moments import moment_of

    with sentences_on_stderr():
        from web.serve import serve as run
        from web.settings import Settings, practice_clock, utc_now

        read = read_scenario(scenario)
        now = utc_now if practice is None else practice_clock(moment_of(practice, read.weekend))
        settings = Settings(
            folder=scenario,
            database=database,
            host=host,
            port=port,
            names=tuple(name or ()),
            now=now,
            practice=practice is not None,
        )
        run(settings, typer.echo)


@app.command()
def copy(
    scenario: Annotated[Path, typer.Argument(help="Folder of the scenario; the data lie in it.", show_default=False)],
    file: Annotated[Path, typer.Argument(help="The copy, one file.", show_default=False)],
    back: Annotated[
        bool, typer.Option("--back", help="Go back to the copy instead. End the program that serves it first.")
    ] = False,
) -> None:
    """Copy all data of a kitchen to a file, also while it is served; with --back, go back to such a copy."""
    from datetime import datetime

    with sentences_on_stderr():
        from web.settings import DATABASE
        from web.store.copies import go_back, take_copy

        data = scenario / DATABASE
        if not back:
            take_copy(data, file)
            typer.echo(f"Wrote {file}")
            return
        before = go_back(data, file, datetime.now())
        typer.echo(f"The data are those of {file} again. Wrote {before}, what was there until now.")
