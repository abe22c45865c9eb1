"""Uploaded files, read with limits: CSV as text, XLSX as a zip that may not blow up. No name from outside is a path."""

from __future__ import annotations

import csv
import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time
from io import BytesIO, StringIO
from typing import Any

from openpyxl import load_workbook

from scheduler.errors import InputError, Problem

MOST_BYTES = 5_000_000
MOST_UNPACKED_BYTES = 60_000_000
MOST_MEMBERS = 500
MOST_ROWS, MOST_COLUMNS = 200_000, 60
ZIP_START = b"PK\x03\x04"


def refused(name: str, what: str, mend: str) -> InputError:
    """A file that cannot be used."""
    return InputError([Problem(name[:80] or "the file", "", "", what, mend)])


def csv_text(name: str, body: bytes) -> str:
    """The rows of an uploaded file as CSV text. InputError if it is neither CSV nor XLSX, or too large."""
    if len(body) > MOST_BYTES:
        raise refused(name, f"it is larger than {MOST_BYTES // 1_000_000} MB", "leave out the oldest sales")
    if body.startswith(ZIP_START):
        return _from_workbook(name, body)
    try:
        text = body.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise refused(name, "it is neither UTF-8 text nor an XLSX workbook", "save it as CSV in UTF-8") from None
    if "\x00" in text:
        raise refused(name, "it is not text", "save it as CSV in UTF-8")
    return text


def _from_workbook(name: str, body: bytes) -> str:
    try:
        with zipfile.ZipFile(BytesIO(body)) as packed:
            members = packed.infolist()
            unpacked = sum(member.file_size for member in members)
            if len(members) > MOST_MEMBERS or unpacked > MOST_UNPACKED_BYTES:
                raise refused(name, "it unpacks to far more than a workbook of sales", "save the sales alone as CSV")
            _really_so_small(packed, members)
        book = load_workbook(BytesIO(body), read_only=True, data_only=True)
        out = StringIO()
        writer = csv.writer(out, lineterminator="\n")
        writer.writerows(_rows(name, book.worksheets[0]))
        book.close()
    except InputError:
        raise
    except Exception as error:  # whatever is wrong inside a file from outside, it is the file
        raise refused(
            name, f"it is not a workbook that can be read ({type(error).__name__})", "save it as CSV"
        ) from None
    return out.getvalue()


def _really_so_small(packed: zipfile.ZipFile, members: list[zipfile.ZipInfo]) -> None:
    """Unpack without keeping anything: what a zip says of its sizes need not be true."""
    left = MOST_UNPACKED_BYTES
    for member in members:
        with packed.open(member) as part:
            while chunk := part.read(1 << 16):
                left -= len(chunk)
                if left < 0:
                    raise refused("the file", "it unpacks to far more than it says", "save the sales alone as CSV")


def _rows(name: str, sheet: Any) -> Iterator[list[str]]:
    for number, row in enumerate(sheet.iter_rows(values_only=True), 1):
        if number > MOST_ROWS or len(row) > MOST_COLUMNS:
            raise refused(
                name, f"it has more than {MOST_ROWS:,} rows or {MOST_COLUMNS} columns", "leave out the oldest"
            )
        yield [_cell(value) for value in row]


def _cell(value: Any) -> str:
    """What stands in a cell; of a formula the value that it had when the workbook was saved."""
    if value is None:
        return ""
    if isinstance(value, datetime):
        return value.isoformat(sep=" ", timespec="minutes")
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value)
