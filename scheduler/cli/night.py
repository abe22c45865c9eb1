"""Commands for the night itself: write down what happens, and see where everything is."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, get_args, get_origin

import typer
from pydantic import AwareDatetime

from scheduler.cli.commands import app, sentences_on_stderr
from scheduler.cli.moments import moment_of
from scheduler.cli.options import PlanPath

if TYPE_CHECKING:
    from scheduler.model.scenario import Scenario
    from scheduler.model.weekend import Weekend

LOG = "log.jsonl"

LogPath = Annotated[
    Path | None, typer.Option("--log", help="The log; log.jsonl beside the plan if left out.", show_default=False)
]
At = Annotated[
    str | None, typer.Option("--at", help='When, such as "sat 3:00" or 2026-06-13T03:00.', show_default=False)
]


def log_of(plan_path: Path, log: Path | None) -> Path:
    """Where the log of a plan lies."""
    if log is not None:
        return log
    return (plan_path if plan_path.is_dir() else plan_path.parent) / LOG


@app.command("log")
def log_entry(
    plan_path: PlanPath,
    action: Annotated[str, typer.Argument(metavar="ADD", help='The word "add".', show_default=False)],
    kind: Annotated[str, typer.Argument(metavar="KIND", help="What happened, such as probe.", show_default=False)],
    words: Annotated[
        list[str] | None,
        typer.Argument(metavar="FIELD=VALUE", help="Such as load=BR03 temp_f=165.", show_default=False),
    ] = None,
    log: LogPath = None,
    at: At = None,
    by: Annotated[str, typer.Option(help="Who writes it down.")] = "",
) -> None:
    """Write down what happened: one line at the end of the log, on the disk before the command ends."""
    from scheduler.books import append_event, event_of
    from scheduler.cli.result import read_pair
    from scheduler.errors import InputError, Problem

    with sentences_on_stderr():
        _, scenario = read_pair(plan_path)
        if action != "add":
            raise InputError([Problem("log", "", action, "is not a thing to do with a log", 'write "add"')])
        file = log_of(plan_path, log)
        event = event_of(_data(kind, words or [], at, by, scenario), "log")
        append_event(file, event)
    typer.echo(f"Wrote {event.kind} {event.at:%a %H:%M} to {file}")


def _data(kind: str, words: list[str], at: str | None, by: str, scenario: Scenario) -> dict[str, Any]:
    """The event as it stands in the log; times in words become times. InputError where a word has no value."""
    from scheduler.errors import InputError, Problem

    weekend = scenario.weekend
    moment = datetime.now(weekend.zone) if at is None else moment_of(at, weekend)
    data: dict[str, Any] = {"kind": kind, "at": moment.isoformat(), "by": by}
    for word in words:
        name, equals, value = word.partition("=")
        if not equals or not name:
            raise InputError([Problem("log", "", word, "gives no value", "write it as field=value, such as load=BR03")])
        data[name] = _value(value, _types_of(kind, name), weekend)
    return data


def _types_of(kind: str, name: str) -> set[type]:
    """The plain types of a field of an event: a code of three figures is a text, though it looks like a number."""
    from scheduler.model.log import KINDS

    field = KINDS[kind].model_fields.get(name) if kind in KINDS else None
    return set() if field is None else set(_plain(field.annotation))


def _plain(annotation: Any) -> Iterator[type]:
    """The types that an annotation is made of, such as float and None of `Annotated[float, ...] | None`."""
    inner = get_args(annotation)
    if not inner:
        yield annotation
    for part in inner[:1] if get_origin(annotation) is Annotated else inner:
        yield from _plain(part)


def _value(text: str, types: set[type], weekend: Weekend) -> str | int | float:
    """A word as its field wants it; what does not fit stays a text, so that the log's own check can say why."""
    if AwareDatetime in types:
        return moment_of(text, weekend).isoformat()
    for read in (int, float) if types & {int, float} else ():
        with suppress(ValueError):
            return read(text)
    return text


@app.command()
def status(plan_path: PlanPath, log: LogPath = None, at: At = None) -> None:
    """Where everything is at a moment: what is on and since when, when it is done, who does what."""
    from scheduler.cli.reading import state_of
    from scheduler.cli.result import past_of, read_pair
    from scheduler.report.status import status_text

    with sentences_on_stderr():
        plan, scenario = read_pair(plan_path)
        state = state_of(plan, scenario, past_of(plan_path), log_of(plan_path, log), at)
    typer.echo(status_text(state))
