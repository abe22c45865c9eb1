"""cooks.csv to the model: one line a load, every line that cannot be read told with its number, none dropped."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from scheduler.books.sentences import printable, suggest
from scheduler.books.tables import BadCellError, Row, local_time, read_table
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


def read_cooks(folder: Path, scenario: Scenario) -> Cooks:
    """Earlier cooks with their bad lines; empty if there is no cooks.csv. InputError if a heading is missing."""
    path = folder / COOKS
    if not path.exists():
        return Cooks(notes=(f"There is no {COOKS}.",))
    table = read_table(path)
    heads = table.heads or NEEDED
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
    bad: list[Problem] = []
    found = table.each(lambda row, line: _cook(row, scenario, f"{COOKS}, line {line}"), bad)
    ordered = sorted(found, key=lambda cook: cook.at.timestamp())
    return Cooks(tuple(ordered), tuple(map(printable, bad)))


def _cook(row: Row, scenario: Scenario, said: str) -> Cook:
    cut = _cut(row, scenario)
    recipe = _recipe(row, cut)
    start = _moment(row["start"], "start", scenario)
    stage = start
    if recipe.wrapped:
        if not row.get("wrapped"):
            raise BadCellError("wrapped", "it is empty", f"give the time of the wrap, since {recipe.name} is wrapped")
        stage = _moment(row["wrapped"], "wrapped", scenario)
    done = _moment(row["done"], "done", scenario)
    for column, early, late in (("wrapped", start, stage), ("done", stage, done)):
        if not 0 <= elapsed_min(early, late) <= LONGEST_MIN or (column == "done" and early == late):
            raise BadCellError(column, "it is before the time it follows, or two days later", "correct one of the two")
    ending = row.get("ending", "").lower() or "done"
    if ending not in ENDINGS:
        raise BadCellError("ending", f'"{ending}" is no ending', suggest(ending, ENDINGS))
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
        raise BadCellError("cut", f'no cut is called "{row["cut"]}"', suggest(row["cut"], known))
    return found


def _recipe(row: Row, cut: Cut) -> Recipe:
    """By its name, else the one recipe whose wrap and heat fit."""
    names = [recipe.name for recipe in cut.recipes]
    if row.get("recipe"):
        if row["recipe"] not in names:
            raise BadCellError("recipe", f'{cut.name} has no recipe "{row["recipe"]}"', suggest(row["recipe"], names))
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
        raise BadCellError("recipe", f"{many} the wrap and pit_f of this line", f"name it: {', '.join(names)}")
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
        raise BadCellError("smoker", f'no smoker or oven is called "{name}"', suggest(name, known))
    racks = {shelf.name: shelf for shelf in smokers[name].racks}
    if rack and rack not in racks:
        raise BadCellError("rack", f'{name} has no rack "{rack}"', suggest(rack, racks))
    return name, rack, racks[rack].offset_f if rack else 0


def _moment(text: str, column: str, scenario: Scenario) -> datetime:
    naive = local_time(text, column, "write it such as 2026-06-13T11:15")
    try:
        return localize(naive.replace(second=0, microsecond=0), scenario.weekend.zone)
    except ValueError as error:
        raise BadCellError(column, str(error), "choose a time before or after the change") from None


def _number(row: Row, column: str, most: float) -> float | None:
    text = row.get(column, "")
    if not text:
        return None
    try:
        value = float(text)
    except ValueError:
        raise BadCellError(column, f'"{text}" is not a number', "give a number") from None
    if not 0 < value <= most:  # also refuses "nan"
        raise BadCellError(column, f"{text} is not above 0 and at most {most:g}", "correct it")
    return value
