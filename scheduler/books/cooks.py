"""cooks.csv to the model: one line a load, every line that cannot be read told with its number, none dropped.

Lines that start with "#" are remarks.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from datetime import datetime
from io import StringIO
from pathlib import Path

from scheduler.books.files import read_text
from scheduler.books.sentences import printable, suggest
from scheduler.errors import InputError, Problem
from scheduler.model.clock import elapsed_min, localize
from scheduler.model.cooks import Cook, Cooks
from scheduler.model.menu import Cut, Recipe
from scheduler.model.scenario import Scenario

COOKS = "cooks.csv"
NEEDED = ("cut", "start", "done")
KNOWN = (*NEEDED, "wrapped", "recipe", "wrap", "weight_lb", "smoker", "rack", "pit_f", "ending", "by", "readings")
ENDINGS = ("done", "pulled early", "failed")
LONGEST_MIN = 48 * 60
MOST_LB = 200

Row = Mapping[str, str]


class _BadCellError(Exception):
    """One cell that cannot be read: column, what is wrong, how to mend it."""

    def __init__(self, column: str, what: str, mend: str) -> None:
        self.said = column, what, mend


def read_cooks(folder: Path, scenario: Scenario) -> Cooks:
    """Earlier cooks with their bad lines; empty if there is no cooks.csv. InputError if a heading is missing."""
    path = folder / COOKS
    if not path.exists():
        return Cooks(notes=(f"There is no {COOKS}.",))
    text = read_text(path)
    first = next((line for line in text.splitlines() if line.strip() and not line.startswith("#")), "")
    try:
        lines = csv.reader(StringIO(text, newline=""), delimiter=max(",;\t", key=first.count))
        rows = [(lines.line_num, row) for row in lines if any(map(str.strip, row)) and not row[0].startswith("#")]
    except csv.Error as error:
        raise InputError([Problem(COOKS, "", "", f"it is not a CSV file ({error})", "save it as CSV")]) from None
    heads = [cell.strip().lower() for cell in rows[0][1]] if rows else list(NEEDED)
    missing = [
        Problem(COOKS, "line 1", name, "there is no such column", "add it") for name in NEEDED if name not in heads
    ]
    odd = [
        Problem(COOKS, "line 1", name, "no such column is known", suggest(name, KNOWN))
        for name in heads
        if name not in KNOWN
    ]
    if missing or odd:
        raise InputError(map(printable, [*missing, *odd]))
    found: list[Cook] = []
    bad: list[Problem] = []
    for number, cells in rows[1:]:
        row = {name: cells[i].strip() if i < len(cells) else "" for i, name in enumerate(heads)}
        try:
            found.append(_cook(row, scenario, f"{COOKS}, line {number}"))
        except _BadCellError as error:
            bad.append(Problem(COOKS, f"line {number}", *error.said))
    ordered = sorted(found, key=lambda cook: cook.at.timestamp())
    return Cooks(tuple(ordered), tuple(map(printable, bad)))


def _cook(row: Row, scenario: Scenario, said: str) -> Cook:
    cut = _cut(row, scenario)
    recipe = _recipe(row, cut)
    start = _moment(row["start"], "start", scenario)
    stage = start
    if recipe.wrapped:
        if not row.get("wrapped"):
            raise _BadCellError("wrapped", "it is empty", f"give the time of the wrap, since {recipe.name} is wrapped")
        stage = _moment(row["wrapped"], "wrapped", scenario)
    done = _moment(row["done"], "done", scenario)
    for column, early, late in (("wrapped", start, stage), ("done", stage, done)):
        if not 0 <= elapsed_min(early, late) <= LONGEST_MIN or (column == "done" and early == late):
            raise _BadCellError(column, "it is before the time it follows, or two days later", "correct one of the two")
    ending = row.get("ending", "").lower() or "done"
    if ending not in ENDINGS:
        raise _BadCellError("ending", f'"{ending}" is no ending', suggest(ending, ENDINGS))
    smoker, rack, offset = _spot(row, scenario)
    weight = _number(row, "weight_lb", MOST_LB) or scenario.weight_lb(cut)
    return Cook(
        cut=cut.name,
        recipe=recipe.name,
        minutes=float(elapsed_min(stage, done)),
        done=ending == "done",
        weight_lb=weight,
        smoker=smoker,
        rack=rack,
        offset_f=offset,
        at=stage,
        by=row.get("by", "")[:40],
        said=said,
    )


def _cut(row: Row, scenario: Scenario) -> Cut:
    known = {name.lower(): cut for cut in scenario.menu.cuts for name in (cut.name, cut.code)}
    found = known.get(row["cut"].lower())
    if found is None:
        raise _BadCellError("cut", f'no cut is called "{row["cut"]}"', suggest(row["cut"], known))
    return found


def _recipe(row: Row, cut: Cut) -> Recipe:
    """By its name, else the one recipe whose wrap and heat fit."""
    names = [recipe.name for recipe in cut.recipes]
    if row.get("recipe"):
        if row["recipe"] not in names:
            raise _BadCellError("recipe", f'{cut.name} has no recipe "{row["recipe"]}"', suggest(row["recipe"], names))
        return cut.recipe(row["recipe"])
    pit_f = _number(row, "pit_f", 500)
    wrap = row.get("wrap", "").lower()
    fits = [
        recipe
        for recipe in cut.recipes
        if (not wrap or recipe.wrap_kind == wrap) and (pit_f is None or recipe.low_f <= pit_f <= recipe.high_f)
    ]
    if len(fits) != 1:
        many = "more than one recipe fits" if fits else "no recipe fits"
        raise _BadCellError("recipe", f"{many} the wrap and pit_f of this line", f"name it: {', '.join(names)}")
    return fits[0]


def _spot(row: Row, scenario: Scenario) -> tuple[str, str, int]:
    """Smoker or oven, rack, and the rack's offset."""
    name, rack = row.get("smoker", ""), row.get("rack", "")
    if not name:
        return "", "", 0
    if any(oven.name == name for oven in scenario.site.ovens):
        return name, "", 0
    smokers = {smoker.name: smoker for smoker in scenario.site.smokers}
    if name not in smokers:
        known = [*smokers, *(oven.name for oven in scenario.site.ovens)]
        raise _BadCellError("smoker", f'no smoker or oven is called "{name}"', suggest(name, known))
    racks = {shelf.name: shelf for shelf in smokers[name].racks}
    if rack and rack not in racks:
        raise _BadCellError("rack", f'{name} has no rack "{rack}"', suggest(rack, racks))
    return name, rack, racks[rack].offset_f if rack else 0


def _moment(text: str, column: str, scenario: Scenario) -> datetime:
    try:
        naive = datetime.fromisoformat(text)
    except ValueError:
        what = f'"{text}" is not a date and time'
        raise _BadCellError(column, what, "write it such as 2026-06-13T11:15") from None
    if naive.tzinfo is not None:
        raise _BadCellError(column, f'"{text}" carries an offset', "give the local time without an offset")
    if not 2000 <= naive.year < 2100:
        raise _BadCellError(column, f'"{text}" is not in a year of any service', "correct the year")
    try:
        return localize(naive.replace(second=0, microsecond=0), scenario.weekend.zone)
    except ValueError as error:
        raise _BadCellError(column, str(error), "choose a time before or after the change") from None


def _number(row: Row, column: str, most: float) -> float | None:
    text = row.get(column, "")
    if not text:
        return None
    try:
        value = float(text)
    except ValueError:
        raise _BadCellError(column, f'"{text}" is not a number', "give a number") from None
    if not 0 < value <= most:  # also refuses "nan"
        raise _BadCellError(column, f"{text} is not above 0 and at most {most:g}", "correct it")
    return value
