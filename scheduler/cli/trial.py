"""Trials: blind tasting forms before, and what the scores say after."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.cli.commands import app, sentences_on_stderr
from scheduler.cli.forecast import JsonOption
from scheduler.cli.night import LogPath, log_of
from scheduler.cli.options import PlanPath

if TYPE_CHECKING:
    from scheduler.model.scenario import Scenario
    from scheduler.model.trial import Trial

MOST_TASTERS = 300
FORMS, KEY = "tasting-forms.html", "trial-key.html"

TrialName = Annotated[
    str | None, typer.Option("--trial", help="Name of the trial, if there is more than one.", show_default=False)
]


def _trial(scenario: Scenario, name: str | None) -> Trial:
    """The trial asked for. InputError if there is none of that name, or several and none is named."""
    from scheduler.books.sentences import suggest
    from scheduler.errors import InputError, Problem

    trials = {trial.name: trial for trial in scenario.weekend.trials}
    if name is None and len(trials) == 1:
        return next(iter(trials.values()))
    if name in trials:
        return trials[name]
    what = f'no trial is called "{name}"' if name is not None else f"the plan has {len(trials)} trials"
    raise InputError([Problem("plan.json", "", "--trial", what, suggest(name or "", trials))])


@app.command("trial-sheet")
def trial_sheet(
    plan_path: PlanPath,
    out: Annotated[Path, typer.Option(help="Folder for the forms, the key and an empty scores.csv.")],
    tasters: Annotated[int, typer.Option(min=1, max=MOST_TASTERS, help="How many forms.")] = 12,
    trial: TrialName = None,
) -> None:
    """Print blind tasting forms for a trial, the sealed key, and a file for the scores."""
    from scheduler.books import write_text
    from scheduler.books.scores import SCORES, empty_scores
    from scheduler.cli.result import read_pair
    from scheduler.report.trial_page import forms_html, key_html

    with sentences_on_stderr():
        plan, scenario = read_pair(plan_path)
        asked = _trial(scenario, trial)
        texts = {
            FORMS: forms_html(scenario, asked, tasters),
            KEY: key_html(plan, scenario, asked, tasters),
        }
        if not (out / SCORES).exists():  # scores that somebody wrote are never lost
            texts[SCORES] = empty_scores(tasters)
        for name, text in texts.items():
            write_text(out / name, text)
    for name in texts:
        typer.echo(f"Wrote {out / name}")
    typer.echo(f"Give {KEY} to the one who wraps and plates, and to nobody else before all forms are in.")


@app.command("trial-result")
def trial_result(
    plan_path: PlanPath,
    scores: Annotated[Path, typer.Option(help="The scores, in the form of the scores.csv of trial-sheet.")],
    log: LogPath = None,
    trial: TrialName = None,
    as_json: JsonOption = False,
) -> None:
    """Read the scores of a trial: what may and may not be concluded, and how many more pairs would settle it."""
    from scheduler.books import read_log
    from scheduler.books.scores import read_scores
    from scheduler.cli.result import read_pair
    from scheduler.learn.trial_result import trial_result as result_of
    from scheduler.report.trial_words import result_lines

    with sentences_on_stderr():
        _, scenario = read_pair(plan_path)
        asked = _trial(scenario, trial)
        events = read_log(log_of(plan_path, log), scenario.weekend.zone)
        found = result_of(asked, read_scores(scores), events)
    if as_json:
        data = asdict(found) | {"trial": asked.model_dump(mode="json", by_alias=True)}
        typer.echo(json.dumps(data, indent=1))
        return
    for line in (*result_lines(found), *events.notes):
        typer.echo(line)
