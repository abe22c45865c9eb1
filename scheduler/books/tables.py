"""CSV files: rows by heading with their lines, and what is wrong with a cell as one sentence; no row is dropped.

The separator is that of comma, semicolon and tab which the heading has most of. Lines that start with "#" are remarks.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from io import StringIO
from itertools import chain, repeat
from pathlib import Path
from typing import TypeVar

from scheduler.books.files import read_text, refuse
from scheduler.errors import Problem

Row = Mapping[str, str]
"""Cells of a row by heading, without blanks around them; a cell that the row lacks is empty."""

_T = TypeVar("_T")


class BadCellError(Exception):
    """One cell that cannot be read: column, what is wrong, how to mend it."""

    def __init__(self, column: str, what: str, mend: str) -> None:
        self.said = column, what, mend


@dataclass(frozen=True, slots=True)
class Table:
    """A CSV file; headings are in small letters. An empty file has no headings either."""

    file: str
    heads: tuple[str, ...]
    rows: tuple[tuple[int, Row], ...]
    """Rows with their lines."""

    def each(self, read: Callable[[Row, int], _T], bad: list[Problem]) -> Iterator[_T]:
        """What is read of each row and its line; a row with a `BadCellError` goes to `bad`."""
        for line, row in self.rows:
            try:
                yield read(row, line)
            except BadCellError as error:
                bad.append(Problem(self.file, f"line {line}", *error.said))


def read_table(path: Path) -> Table:
    """The table in a file. InputError if it is not a CSV file."""
    text = read_text(path)
    first = next((line for line in text.splitlines() if line.strip() and not line.startswith("#")), "")
    try:
        lines = csv.reader(StringIO(text, newline=""), delimiter=max(",;\t", key=first.count))
        rows = [(lines.line_num, row) for row in lines if any(map(str.strip, row)) and not row[0].startswith("#")]
    except csv.Error as error:
        raise refuse(path.name, f"it is not a CSV file ({error})", "save it as CSV") from None
    heads = tuple(cell.strip().lower() for cell in rows[0][1]) if rows else ()
    return Table(path.name, heads, tuple((line, _cells(heads, row)) for line, row in rows[1:]))


def _cells(heads: tuple[str, ...], row: list[str]) -> Row:
    """Of headings that are there twice the first counts."""
    found: dict[str, str] = {}
    for head, cell in zip(heads, chain(row, repeat("")), strict=False):
        found.setdefault(head, cell.strip())
    return found


def local_time(text: str, column: str, mend: str, form: str = "") -> datetime:
    """A local time in ISO 8601, or in a form such as "%m/%d/%Y %H:%M". `mend` is for one that cannot be read."""
    try:
        found = datetime.strptime(text, form) if form else datetime.fromisoformat(text)
    except ValueError:
        raise BadCellError(column, f'"{text}" is not a date and time', mend) from None
    if found.tzinfo is not None:
        raise BadCellError(column, f'"{text}" carries an offset', "give the local time without an offset")
    if not 2000 <= found.year < 2100:
        raise BadCellError(column, f'"{text}" is not in a year of any service', "correct the year")
    return found
