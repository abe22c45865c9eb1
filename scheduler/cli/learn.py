"""Learn the kitchen's own ranges from its cooks."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.cli.commands import app, sentences_on_stderr
from scheduler.cli.forecast import JsonOption, ScenarioArgument, SkipOption

if TYPE_CHECKING:
    from scheduler.learn.calibration import Kept, Ratio
    from scheduler.learn.ranges import Lessons
    from scheduler.model.cooks import Cook
    from scheduler.model.scenario import Scenario

PAGE = "learned.html"


@dataclass(frozen=True, slots=True)
class _Read:
    """All that was written down."""

    cooks: tuple[Cook, ...]
    ratios: tuple[Ratio, ...]
    notes: tuple[str, ...]


@app.command()
def learn(
    scenario: ScenarioArgument,
    past: Annotated[
        list[Path] | None,
        typer.Option(help="Folder of a plan that was cooked, with its log; may be given again.", show_default=False),
    ] = None,
    write: Annotated[bool, typer.Option("--write", help="Put what was learned into menu.toml.")] = False,
    out: Annotated[
        Path | None, typer.Option(help="Folder for learned.html, with pictures.", show_default=False)
    ] = None,
    skip_bad_rows: SkipOption = False,
    as_json: JsonOption = False,
) -> None:
    """Planned range, learned range and why it moved, for each recipe; and whether plans kept their promise."""
    from scheduler.books import read_scenario, write_text
    from scheduler.learn.calibration import calibrate
    from scheduler.learn.ranges import learn as learn_ranges
    from scheduler.report.learned_page import learned_html

    with sentences_on_stderr():
        read = read_scenario(scenario)
        found = _read(scenario, read, past or [], skip_bad_rows)
        lessons = learn_ranges(read.menu, found.cooks)
        kept = calibrate(read.menu, found.cooks)
        written = _write(scenario, read, lessons, found.cooks) if write else []
        if out is not None:
            write_text(out / PAGE, learned_html(read, found.cooks, lessons, kept, found.ratios))
    if as_json:
        data = {
            "lessons": asdict(lessons),
            "kept": [asdict(k) for k in kept],
            "ratios": [asdict(r) for r in found.ratios],
        }
        typer.echo(json.dumps(data | {"written": written}, indent=1, default=str))
        return
    for note in found.notes:
        typer.echo(note)
    _print(lessons, kept, found.ratios)
    if write:
        for name in written:
            typer.echo(f"Wrote {name} to {scenario / 'menu.toml'}")
        if not written:
            typer.echo("Nothing to write: menu.toml has what was learned already.")
    elif any(one.moved for one in lessons.ranges):
        typer.echo("Nothing was changed. Use --write to put the learned ranges into menu.toml.")
    if out is not None:
        typer.echo(f"Wrote {out / PAGE}")


def _read(folder: Path, scenario: Scenario, past: Sequence[Path], skip_bad_rows: bool) -> _Read:
    """All cooks that were written down. InputError with every bad row, unless they are to be left out."""
    from scheduler.books import read_cooks, read_log
    from scheduler.cli.night import LOG
    from scheduler.cli.result import read_pair
    from scheduler.errors import InputError, Problem
    from scheduler.learn.calibration import ratios
    from scheduler.learn.from_log import cooks_of
    from scheduler.learn.usage import hands_rows, wood_rows

    known = {(cut.name, recipe.name) for cut in scenario.menu.cuts for recipe in cut.recipes}
    read = read_cooks(folder, scenario)
    if read.bad and not skip_bad_rows:
        mend = "correct the rows above, or leave them out with --skip-bad-rows"
        raise InputError([*read.bad, Problem("cooks.csv", "", "", f"{len(read.bad)} rows cannot be read", mend)])
    for problem in read.bad:
        typer.echo(f"Left out: {problem.sentence()}", err=True)
    cooks, notes, rows = list(read.cooks), list(read.notes), []
    for path in past:
        plan, then = read_pair(path)
        file = (path if path.is_dir() else path.parent) / LOG
        log = read_log(file, then.weekend.zone)
        notes += log.notes
        logged = cooks_of(plan, then, log, str(file))
        strange = [cook for cook in logged if (cook.cut, cook.recipe) not in known]
        cooks += [cook for cook in logged if (cook.cut, cook.recipe) in known]
        notes += [f"{cook.said}: the menu has no {cook.cut} by {cook.recipe} any more; left out." for cook in strange]
        rows += [*hands_rows(then, log), *wood_rows(plan, then, log)]
        if not logged:
            notes.append(f"{file} does not say when any load was done.")
    return _Read(tuple(cooks), tuple(ratios(rows)), tuple(notes))


def _write(folder: Path, scenario: Scenario, lessons: Lessons, cooks: Sequence[Cook]) -> list[str]:
    """Put into menu.toml what is not there yet; names of the recipes written."""
    from scheduler.books import write_ranges
    from scheduler.learn.ranges import LEAST_COOKS

    changes = {}
    for one in lessons.ranges:
        had = scenario.menu.cut(one.cut).recipe(one.recipe).learned
        if one.ended >= LEAST_COOKS and (one.moved or (had is not None and had.cooks != one.cooks)):
            changes[one.cut, one.recipe] = one.found, one.before, one.cooks
    if changes:
        write_ranges(folder, changes, max(cook.at for cook in cooks).date())
    return [f"{cut}, {recipe}" for cut, recipe in changes]


def _print(lessons: Lessons, kept: tuple[Kept, ...], used: tuple[Ratio, ...]) -> None:
    from scheduler.cli.tables import print_table, terminal
    from scheduler.learn.calibration import warnings
    from scheduler.report.learned_words import effect_lines, kept_rows, odd_lines, range_row, ratio_lines

    out = terminal()
    if not lessons.ranges:
        out.print("Nothing is learned: no cook with its end was written down. Use cooks.csv or a log.")
    else:
        out.print("From the wrap (or from loading) to done, early / likely / late, hours", style="bold")
        rows = [(r.what, r.planned, r.learned, r.cooks, r.interval, r.why) for r in map(range_row, lessons.ranges)]
        print_table(out, ("Recipe", "Planned", "Learned", "Cooks", "19 in 20 that each lies", "Why"), rows)
    sections = (
        ("What places and people add", effect_lines(lessons)),
        ("Odd cooks", odd_lines(lessons)),
    )
    for title, lines in sections:
        if lines:
            out.print(title, style="bold")
            for line in lines:
                out.print(line)
    if kept:
        out.print("Is the promise kept? One in ten before early, one in ten after late", style="bold")
        told = [(r.what, r.cooks, r.early, r.late) for r in kept_rows(kept)]
        print_table(out, ("Of", "Cooks", "Before early", "After late"), told)
        for line in warnings(kept):
            out.print(f"WARNING. {line}")
    for line in ratio_lines(used):
        out.print(line)
