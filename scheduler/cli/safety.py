"""The food-safety rules, explained, and a temperature log checked against them."""

from __future__ import annotations

import json
import sys
from dataclasses import asdict
from enum import StrEnum
from pathlib import Path
from shutil import get_terminal_size
from textwrap import fill
from typing import TYPE_CHECKING, Annotated, Any

import typer

from scheduler.cli.commands import BREACHES, app, sentences_on_stderr
from scheduler.cli.options import finite
from scheduler.errors import InputError, Problem

if TYPE_CHECKING:
    from scheduler.trade.log_record import Finding, LogSettings


class Meat(StrEnum):
    """What a temperature log is of."""

    meat = "meat"
    chicken = "chicken"
    turkey = "turkey"
    poultry = "poultry"
    mixed = "mixed"
    tallow = "tallow"


@app.command()
def safety(
    rule: Annotated[
        str | None, typer.Argument(metavar="[RULE]", help="A rule to explain; all are listed without.")
    ] = None,
    log: Annotated[
        Path | None, typer.Option(help="CSV file with columns minute (or time) and temp_f, checked against all rules.")
    ] = None,
    of: Annotated[Meat, typer.Option("--of", help="What the log is of.")] = Meat.meat,
    not_intact: Annotated[bool, typer.Option("--not-intact", help="The meat is ground, injected or needled.")] = False,
    cooked: Annotated[bool, typer.Option("--cooked", help="The meat was cooked before the log starts.")] = False,
    time_from: Annotated[
        float | None,
        typer.Option(
            metavar="MINUTE", callback=finite, help="From here on it stands under written 4-hour time control."
        ),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the result as JSON instead of text.")] = False,
) -> None:
    """Explain the food-safety rules, or check a temperature log against them."""
    with sentences_on_stderr():
        if log is None:
            text = _explained(rule, as_json)
            typer.echo(text if as_json else fitted(text))
            return
        if rule is not None:
            what = "a log is checked against all rules, so no rule is named with --log"
            raise InputError([Problem("safety", "", rule, what, "give one of the two")])
        from scheduler.trade.log_record import LogSettings

        settings = LogSettings(
            species=of.value,
            kind="comminuted" if not_intact and of is Meat.meat else None,  # birds need 165 F either way
            cooked_at_start=cooked,
            time_control_from_min=time_from,
        )
        breaches = _check(log, settings, as_json)
    if breaches:
        raise typer.Exit(BREACHES)


def _explained(code: str | None, as_json: bool) -> str:
    """All rules, a line each, or one in full. InputError if there is no such rule."""
    from scheduler.books.sentences import suggest
    from scheduler.report.words import degrees_text
    from scheduler.trade.food_safety import DEFERS, RULES, explain
    from scheduler.trade.safety_figures import figures

    if code is None:
        if as_json:
            return json.dumps([asdict(rule) for rule in RULES.values()], indent=1)
        wide = max(map(len, RULES))
        lines = [f"{name:<{wide}}  {rule.title}" for name, rule in RULES.items()]
        return "\n".join([*lines, "", "safety RULE explains one. " + DEFERS])
    name = code.upper()
    if name not in RULES:
        raise InputError([Problem("safety", "", code, "there is no such rule", suggest(name, RULES, str))])
    if as_json:
        return json.dumps(asdict(RULES[name]) | {"figures": figures(name), "defers": DEFERS}, indent=1)
    title, sentence, *rest = explain(name).splitlines()
    return degrees_text("\n".join([title, sentence, *(f"  {line}" for line in figures(name)), *rest]))


def _check(file: Path, settings: LogSettings, as_json: bool) -> int:
    """Prints what a log breaks and returns how many breaches there are."""
    from scheduler.trade.food_safety import DEFERS
    from scheduler.trade.log_file import read_log
    from scheduler.trade.temperature_log import check_log

    rows = read_log(file)
    findings = check_log(rows, settings)
    breaches = sum(found.severity == "breach" for found in findings)
    if as_json:
        data = {"file": str(file), "readings": len(rows), "breaches": breaches, "findings": [*map(asdict, findings)]}
        typer.echo(json.dumps(data, indent=1))
    else:
        typer.echo(fitted("\n".join([*_told(findings, len(rows), breaches), DEFERS])))
    return breaches


def fitted(text: str) -> str:
    """Lines broken between words where they go to a terminal; as they are where they go to a file or a program."""
    if not sys.stdout.isatty():
        return text
    width = get_terminal_size().columns
    return "\n".join(fill(line, width, subsequent_indent="  ") for line in text.splitlines())


def _told(findings: list[Finding], readings: int, breaches: int) -> list[str]:
    from scheduler.report.words import count_text, degrees_text, sentence

    def line(found: Any) -> str:
        note = "note: " if found.severity == "note" else ""
        return degrees_text(sentence(f"{note}{found.line()}"))

    told = count_text(breaches, "breach") if breaches else "No breach"
    return [f"{told} in {count_text(readings, 'reading')}.", *map(line, findings)]
