"""sales.csv and service-days.csv to the model: every row that cannot be read is told with its line, none is dropped.

Lines that start with "#" are remarks.

Only sales.csv is needed. Days that service-days.csv does not have are taken from the sales, and the history says so.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from io import StringIO
from pathlib import Path

from scheduler.books.files import read_text
from scheduler.books.sentences import printable, suggest
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


@dataclass(slots=True)
class _Table:
    """A CSV file with its headings found."""

    file: str
    rows: list[tuple[int, list[str]]]
    places: Mapping[str, int]

    def cell(self, row: list[str], column: SalesColumn) -> str:
        """What stands in a column, without blanks around it; empty if the column or the cell is not there."""
        place = self.places.get(column, -1)
        return row[place].strip() if 0 <= place < len(row) else ""


_NEEDED: dict[str, tuple[SalesColumn, ...]] = {SALES: ("time", "item", "amount"), DAYS: ("opened", "closed")}
_OPTIONAL: dict[str, tuple[str, ...]] = {SALES: ("price", "ticket"), DAYS: ("sold_out", "weather", "event", "note")}


def _table(path: Path, till: Till) -> _Table:
    text = read_text(path)
    first = next((line for line in text.splitlines() if line.strip() and not line.startswith("#")), "")
    separator = max(",;\t", key=first.count)
    try:
        lines = csv.reader(StringIO(text, newline=""), delimiter=separator)
        rows = [(lines.line_num, row) for row in lines if row and not row[0].startswith("#")]
    except csv.Error as error:
        raise InputError([Problem(path.name, "", "", f"it is not a CSV file ({error})", "save it as CSV")]) from None
    if not rows:
        return _Table(path.name, [], {})
    heads = [cell.strip().lower() for cell in rows[0][1]]
    wanted = {name: till.columns.get(name, name) for name in _NEEDED[path.name]}
    missing = [
        Problem(
            path.name,
            "line 1",
            name,
            f'there is no column "{head}"',
            f'add it, or name yours in weekend.toml: sales = {{ columns = {{ {name} = "..." }} }}',
        )
        for name, head in wanted.items()
        if head.lower() not in heads
    ]
    if missing:
        raise InputError(map(printable, missing))
    names: dict[str, str] = {name: name for name in _OPTIONAL[path.name]} | {**till.columns} | {**wanted}
    places = {name: heads.index(head.lower()) for name, head in names.items() if head.lower() in heads}
    return _Table(path.name, [(n, row) for n, row in rows[1:] if any(cell.strip() for cell in row)], places)


class _BadCellError(Exception):
    """One cell that cannot be read: column, what is wrong, how to mend it."""

    def __init__(self, column: str, what: str, mend: str) -> None:
        self.said = column, what, mend


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
            raise _BadCellError(column, f'no cut is called "{word}"', mend)
        return found


def _moment(text: str, till: Till, column: str) -> datetime:
    try:
        found = datetime.strptime(text, till.time_format) if till.time_format else datetime.fromisoformat(text)
    except ValueError:
        form = till.time_format or "2026-06-13T11:15"
        raise _BadCellError(
            column, f'"{text}" is not a date and time', f"write it such as {form}, or set time_format"
        ) from None
    if found.tzinfo is not None:
        raise _BadCellError(column, f'"{text}" carries an offset', "give the local time without an offset")
    if not 2000 <= found.year < 2100:
        raise _BadCellError(column, f'"{text}" is not in a year of any service', "correct the year")
    return found


def _number(text: str, column: str, most: float) -> float:
    plain = text.replace("$", "").replace(" ", "").replace("lb", "")
    if "," in plain:
        raise _BadCellError(
            column, f'"{text}" has a comma in a number', "write decimals with a point, thousands without a mark"
        )
    try:
        value = float(plain)
    except ValueError:
        raise _BadCellError(column, f'"{text}" is not a number', "give a number") from None
    if not math.isfinite(value) or not 0 <= value <= most:
        raise _BadCellError(column, f'"{text}" is not from 0 to {most:,.0f}', "correct it, and leave refunds out")
    return value


def _portions(amount: float, cut: Cut, till: Till) -> float:
    if till.unit == "pieces":
        return amount * cut.portions
    return amount / till.portion_lb.get(cut.name, PORTION_LB) if till.unit == "lb" else amount


def _each_row(table: _Table, bad: list[Problem], read: Callable[[list[str]], None]) -> None:
    for line, row in table.rows:
        try:
            read(row)
        except _BadCellError as error:
            bad.append(Problem(table.file, f"line {line}", *error.said))


def _sales(table: _Table, till: Till, menu: Menu, bad: list[Problem]) -> list[Sale]:
    names = _Names(menu, till)
    found: list[Sale] = []

    def read(row: list[str]) -> None:
        at = _moment(table.cell(row, "time"), till, "time")
        name = names.cut(table.cell(row, "item"), "item")
        amount = _number(table.cell(row, "amount"), "amount", MOST_PORTIONS)
        price = table.cell(row, "price")
        cents = round(100 * _number(price, "price", 1_000_000)) if price else None
        if name and amount:
            portions = _portions(amount, menu.cut(name), till)
            found.append(Sale(at, name, portions, cents, table.cell(row, "ticket")))

    _each_row(table, bad, read)
    return found


def _days(table: _Table, till: Till, menu: Menu, bad: list[Problem]) -> list[DayRecord]:
    names = _Names(menu, till)
    found: list[DayRecord] = []

    def read(row: list[str]) -> None:
        opened = _moment(table.cell(row, "opened"), till, "opened")
        closed = _moment(table.cell(row, "closed"), till, "closed")
        if not timedelta(0) < closed - opened <= timedelta(hours=24):
            raise _BadCellError("closed", "it closes before it opens, or a day later", "correct one of the two times")
        if any(day.date == opened.date() for day in found):
            raise _BadCellError("opened", f"{opened.date()} is there twice", "put both into one line")
        sold_out = dict(_sold_out(table.cell(row, "sold_out"), names, opened, closed))
        words = (table.cell(row, "weather").lower()[:40], table.cell(row, "event").lower()[:40])
        note = table.cell(row, "note")
        found.append(DayRecord(opened, closed, sold_out, *words, note))

    _each_row(table, bad, read)
    return found


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
        raise _BadCellError("sold_out", f'"{clock}" is not a time of day', "write it such as 14:40") from None
    at = at if at >= opened else at + timedelta(days=1)
    if at > closed:
        raise _BadCellError("sold_out", f"{clock} is not between opening and closing", "correct the time")
    return at


def _from_sales(sales: tuple[Sale, ...]) -> Iterator[DayRecord]:
    """Days as the sales show them: from the first quarter of an hour with a sale to the last."""
    import pandas as pd  # here, as it loads slowly and most commands ask for no sales

    at = pd.Series([sale.at for sale in sales], dtype="datetime64[us]")
    evenings = (at - pd.Timedelta(hours=NEXT_DAY_HOUR)).dt.date
    for _, mine in at.dt.floor("15min").groupby(evenings):
        yield DayRecord(mine.min().to_pydatetime(), mine.max().to_pydatetime() + QUARTER)
