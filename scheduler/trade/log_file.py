"""Reads a temperature record from a CSV file: a column `minute` or `time`, and a column `temp_f`.

`minute` is a number; `time` is an ISO date and time such as 2026-04-18T03:15 (all with an offset, or all without).
Other columns are left alone.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from scheduler.errors import InputError, Problem
from scheduler.trade.lethality import Floats

MOST_PROBLEMS = 20
"""So many mistakes are told at once; after that the file is likely of another kind."""
COLDEST_F, HOTTEST_F = -60.0, 800.0
"""Readings beyond these come from a broken probe or are not in degrees F."""


class _Mistakes:
    """Collects problems of one file and gives up at `MOST_PROBLEMS`."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.found: list[Problem] = []

    def add(self, item: str, field: str, what: str, mend: str) -> None:
        self.found.append(Problem(self.file, item, field, what, mend))
        if len(self.found) >= MOST_PROBLEMS:
            raise InputError(self.found)

    def raise_if_any(self) -> None:
        if self.found:
            raise InputError(self.found)


def read_log(path: Path) -> Floats:
    """Rows of (minute, temp_f) of a record, from minute 0 where times are dates.

    InputError, with one problem for each mistake (file, line, column), if it cannot be read or the minutes do not rise.
    """
    mistakes = _Mistakes(path.name)
    try:
        with path.open(encoding="utf-8-sig", newline="") as stream:
            rows = _rows(csv.reader(stream), mistakes)
    except OSError as error:
        reason = error.strerror or "it cannot be opened"
        raise InputError(
            [Problem(path.name, "", "", reason, "give the name of a CSV file that can be read")]
        ) from error
    except (UnicodeDecodeError, csv.Error) as error:
        raise InputError(
            [Problem(path.name, "", "", "it is not a CSV text file", "save it as CSV in UTF-8")]
        ) from error
    mistakes.raise_if_any()
    if not rows:
        raise InputError([Problem(path.name, "", "", "it holds no readings", "add a line for each reading")])
    return np.asarray(rows, dtype=np.float64)


def _rows(lines: Iterator[list[str]], mistakes: _Mistakes) -> list[tuple[float, float]]:
    header = [cell.strip().lower() for cell in next(lines, [])]
    when = next((name for name in ("minute", "time") if name in header), None)
    if when is None:
        mistakes.add("line 1", "minute", "there is no column minute or time", "name the columns minute,temp_f")
    if "temp_f" not in header:
        mistakes.add("line 1", "temp_f", "there is no column temp_f", "name the columns minute,temp_f")
    mistakes.raise_if_any()
    assert when is not None
    columns = header.index(when), header.index("temp_f")
    clock = _Clock(when, mistakes)
    rows: list[tuple[float, float]] = []
    last = float("-inf")
    for number, cells in enumerate(lines, start=2):
        if not any(cell.strip() for cell in cells):
            continue
        item = f"line {number}"
        if len(cells) <= max(columns):
            mistakes.add(item, "", "it has too few columns", f"give {when} and temp_f")
            continue
        minute = clock.minute(cells[columns[0]].strip(), item)
        temp_f = _temperature(cells[columns[1]].strip(), item, mistakes)
        if minute is None or temp_f is None:
            continue
        if minute <= last:
            mistakes.add(item, when, "it is not later than the line before", "put the readings in order of time")
        last = minute
        rows.append((minute, temp_f))
    return rows


def _temperature(text: str, item: str, mistakes: _Mistakes) -> float | None:
    value = _number(text)
    if value is None:
        mistakes.add(item, "temp_f", f"{text!r} is not a number", "write degrees F as a number, such as 165")
    elif not COLDEST_F <= value <= HOTTEST_F:
        mistakes.add(item, "temp_f", f"{value:g} F cannot be", "strike readings of a broken probe; use degrees F")
    else:
        return value
    return None


def _number(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if np.isfinite(value) else None


class _Clock:
    """Turns the time column into minutes."""

    def __init__(self, kind: str, mistakes: _Mistakes) -> None:
        self.kind = kind
        self.mistakes = mistakes
        self.first: datetime | None = None

    def minute(self, text: str, item: str) -> float | None:
        if self.kind == "minute":
            value = _number(text)
            if value is None:
                self.mistakes.add(item, "minute", f"{text!r} is not a number", "write minutes as a number")
            return value
        try:
            moment = datetime.fromisoformat(text)
        except ValueError:
            self.mistakes.add(item, "time", f"{text!r} is not a date and time", "write it as 2026-04-18T03:15")
            return None
        if self.first is None:
            self.first = moment
        if (moment.tzinfo is None) != (self.first.tzinfo is None):
            mend = "give all times an offset, or none"
            self.mistakes.add(item, "time", "only some times have an offset", mend)
            return None
        if moment.tzinfo is not None:
            return (moment.astimezone(UTC) - self.first.astimezone(UTC)).total_seconds() / 60
        return (moment - self.first).total_seconds() / 60
