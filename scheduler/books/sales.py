"""sales.csv and service-days.csv to the model: every row that cannot be read is told with its line, none is dropped.

Only sales.csv is needed. Days that service-days.csv does not have are taken from the sales, and the history says so.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import get_args

from scheduler.books.sentences import printable, suggest
from scheduler.books.tables import BadCellError, Row, Table, local_time, read_table
from scheduler.errors import InputError, Problem
from scheduler.model.history import DayRecord, History, Sale
from scheduler.model.menu import Cut, Menu
from scheduler.model.scenario import Scenario
from scheduler.model.service import SalesColumn, Till

SALES, DAYS = "sales.csv", "service-days.csv"
PORTION_LB = 1 / 3
"""Cooked meat of a portion, lb. Common practice, no source."""
MOST_PORTIONS = 100_000
QUARTER = timedelta(minutes=15)
NEXT_DAY_HOUR = 4
"""Sales before this hour belong to the evening before."""


def read_history(folder: Path, scenario: Scenario) -> History:
    """What was sold before, with its bad rows. Empty if there is no sales.csv. InputError if a heading is missing."""
    if not (folder / SALES).exists():
        return History(notes=(f"There is no {SALES}, so the forecast rests on the waves of weekend.toml alone.",))
    till, bad = scenario.weekend.sales, [Problem("weekend.toml", *said) for said in _till_problems(scenario)]
    if bad:
        raise InputError(bad)
    sales = tuple(sorted(_sales(_table(folder / SALES, till), till, scenario.menu, bad), key=lambda s: s.at))
    days: tuple[DayRecord, ...] = ()
    if (folder / DAYS).exists():
        days = tuple(_days(_table(folder / DAYS, till), till, scenario.menu, bad))
    known = {day.date for day in days}
    guessed = [day for day in _from_sales(sales) if day.date not in known]
    notes = []
    if not sales:
        notes.append(f"{SALES} has no rows, so the forecast rests on the waves of weekend.toml alone.")
    if guessed:
        first, count = guessed[0].date, len(guessed)
        notes.append(
            f"{DAYS} lacks {count} day{'s' if count > 1 else ''} with sales (the first is {first}): opening and "
            "closing are taken from the sales, and nothing is taken as sold out."
        )
    ordered = tuple(sorted((*days, *guessed), key=lambda day: day.opened))
    return History(ordered, sales, tuple(map(printable, bad)), tuple(notes))


def _till_problems(scenario: Scenario) -> Iterator[tuple[str, str, str, str]]:
    names = {cut.name for cut in scenario.menu.cuts}
    for item, cut in scenario.weekend.sales.items.items():
        if cut and cut not in names:
            yield "sales", f'items."{item}"', f'no cut is called "{cut}"', suggest(cut, names)
    for cut in scenario.weekend.sales.portion_lb:
        if cut not in names:
            yield "sales", f'portion_lb."{cut}"', f'no cut is called "{cut}"', suggest(cut, names)


_NEEDED: dict[str, tuple[SalesColumn, ...]] = {SALES: ("time", "item", "amount"), DAYS: ("opened", "closed")}


def _table(path: Path, till: Till) -> Table:
    """The table in a file, with the program's own names for the columns; those that the file lacks are empty."""
    table = read_table(path)
    names: dict[str, str] = {name: name for name in get_args(SalesColumn)} | {**till.columns}
    missing = [
        Problem(
            table.file,
            "line 1",
            name,
            f'there is no column "{names[name]}"',
            f'add it, or name yours in weekend.toml: sales = {{ columns = {{ {name} = "..." }} }}',
        )
        for name in _NEEDED[table.file]
        if table.heads and names[name].lower() not in table.heads
    ]
    if missing:
        raise InputError(map(printable, missing))
    rows = ((line, {name: row.get(head.lower(), "") for name, head in names.items()}) for line, row in table.rows)
    return replace(table, rows=tuple(rows))


@dataclass(slots=True)
class _Names:
    """Which cut a word of the till is."""

    menu: Menu
    till: Till
    known: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for cut in self.menu.cuts:
            self.known |= {cut.name.lower(): cut.name, cut.code.lower(): cut.name}
        self.known |= {item.strip().lower(): cut for item, cut in self.till.items.items()}

    def cut(self, word: str, column: str) -> str:
        """The cut's name; empty if the till's settings leave it out."""
        found = self.known.get(word.lower())
        if found is None:
            mend = suggest(word, self.known) + ', or give it under items in weekend.toml ("" leaves it out)'
            raise BadCellError(column, f'no cut is called "{word}"', mend)
        return found


def _moment(row: Row, column: SalesColumn, till: Till) -> datetime:
    mend = f"write it such as {till.time_format or '2026-06-13T11:15'}, or set time_format"
    return local_time(row[column], column, mend, till.time_format)


def _number(text: str, column: str, most: float) -> float:
    plain = text.replace("$", "").replace(" ", "").replace("lb", "")
    if "," in plain:
        raise BadCellError(
            column, f'"{text}" has a comma in a number', "write decimals with a point, thousands without a mark"
        )
    try:
        value = float(plain)
    except ValueError:
        raise BadCellError(column, f'"{text}" is not a number', "give a number") from None
    if not math.isfinite(value) or not 0 <= value <= most:
        raise BadCellError(column, f'"{text}" is not from 0 to {most:,.0f}', "correct it, and leave refunds out")
    return value


def _portions(amount: float, cut: Cut, till: Till) -> float:
    if till.unit == "pieces":
        return amount * cut.portions
    return amount / till.portion_lb.get(cut.name, PORTION_LB) if till.unit == "lb" else amount


def _sales(table: Table, till: Till, menu: Menu, bad: list[Problem]) -> Iterator[Sale]:
    names = _Names(menu, till)

    def read(row: Row, _: int) -> Sale | None:
        at = _moment(row, "time", till)
        name = names.cut(row["item"], "item")
        amount = _number(row["amount"], "amount", MOST_PORTIONS)
        cents = round(100 * _number(row["price"], "price", 1_000_000)) if row["price"] else None
        if not name or not amount:
            return None
        return Sale(at, name, _portions(amount, menu.cut(name), till), cents, row["ticket"])

    return filter(None, table.each(read, bad))


def _days(table: Table, till: Till, menu: Menu, bad: list[Problem]) -> Iterator[DayRecord]:
    names = _Names(menu, till)
    seen: set[date] = set()

    def read(row: Row, _: int) -> DayRecord:
        opened, closed = _moment(row, "opened", till), _moment(row, "closed", till)
        if not timedelta(0) < closed - opened <= timedelta(hours=24):
            raise BadCellError("closed", "it closes before it opens, or a day later", "correct one of the two times")
        if opened.date() in seen:
            raise BadCellError("opened", f"{opened.date()} is there twice", "put both into one line")
        sold_out = dict(_sold_out(row["sold_out"], names, opened, closed))
        seen.add(opened.date())
        return DayRecord(opened, closed, sold_out, row["weather"].lower()[:40], row["event"].lower()[:40], row["note"])

    return table.each(read, bad)


def _sold_out(text: str, names: _Names, opened: datetime, closed: datetime) -> Iterator[tuple[str, datetime | None]]:
    """Cuts with the time at which they ran out: "packer brisket 14:40; spare ribs"."""
    for part in (part.strip() for part in text.split(";")):
        if not part:
            continue
        word, _, clock = part.rpartition(" ")
        if ":" not in clock:
            word, clock = part, ""
        cut = names.cut(word.strip(), "sold_out")
        if cut:
            yield cut, _at_clock(clock, opened, closed) if clock else None


def _at_clock(clock: str, opened: datetime, closed: datetime) -> datetime:
    try:
        at = datetime.combine(opened.date(), datetime.strptime(clock, "%H:%M").time())
    except ValueError:
        raise BadCellError("sold_out", f'"{clock}" is not a time of day', "write it such as 14:40") from None
    at = at if at >= opened else at + timedelta(days=1)
    if at > closed:
        raise BadCellError("sold_out", f"{clock} is not between opening and closing", "correct the time")
    return at


def _from_sales(sales: tuple[Sale, ...]) -> Iterator[DayRecord]:
    """Days as the sales show them: from the first quarter of an hour with a sale to the last."""
    import pandas as pd  # here, as it loads slowly and most commands ask for no sales

    at = pd.Series([sale.at for sale in sales], dtype="datetime64[us]")
    evenings = (at - pd.Timedelta(hours=NEXT_DAY_HOUR)).dt.date
    for _, mine in at.dt.floor("15min").groupby(evenings):
        yield DayRecord(mine.min().to_pydatetime(), mine.max().to_pydatetime() + QUARTER)
