"""loads.csv: one row for each load (RFC 4180), for a spreadsheet."""

from __future__ import annotations

import csv
from collections.abc import Callable
from datetime import datetime
from io import StringIO

from scheduler.learn.layout import KEYED
from scheduler.model.plan import Load
from scheduler.report.desk import Desk

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")


def safe_cell(text: str) -> str:
    """A cell that no spreadsheet takes for a formula: a leading apostrophe where it would be one."""
    return f"'{text}" if text.startswith(FORMULA_STARTS) else text


def _iso(desk: Desk, moment: datetime | None) -> str:
    return "" if moment is None else desk.local(moment).isoformat()


def _wrap_kind(desk: Desk, load: Load) -> str:
    return KEYED if desk.wrap_words(load) == KEYED else load.wrap_kind


COLUMNS: dict[str, Callable[[Desk, Load], str]] = {
    "code": lambda desk, load: load.code,
    "cut": lambda desk, load: load.cut,
    "recipe": lambda desk, load: load.recipe,
    "pieces": lambda desk, load: str(load.pieces),
    "wave": lambda desk, load: load.wave,
    "smoker": lambda desk, load: load.smoker,
    "rack": lambda desk, load: load.rack,
    "load_at": lambda desk, load: _iso(desk, load.load_at),
    "wrap_kind": _wrap_kind,
    "wrap_from": lambda desk, load: _iso(desk, (desk.wrap_window(load) or (None, None))[0]),
    "wrap_at": lambda desk, load: _iso(desk, load.wrap_at),
    "wrap_to": lambda desk, load: _iso(desk, (desk.wrap_window(load) or (None, None))[1]),
    "finish_place": lambda desk, load: load.finish_place,
    "finish_rack": lambda desk, load: load.finish_rack or "",
    "done_f": lambda desk, load: str(desk.cut(load).done_f),
    "early_done_at": lambda desk, load: _iso(desk, load.early_done_at),
    "likely_done_at": lambda desk, load: _iso(desk, load.likely_done_at),
    "late_done_at": lambda desk, load: _iso(desk, load.late_done_at),
    "rest_place": lambda desk, load: load.rest_place or "",
    "hold_place": lambda desk, load: load.hold_place or "",
    "hold_from_at": lambda desk, load: _iso(desk, load.hold_from_at),
    "ready_by_at": lambda desk, load: _iso(desk, load.ready_by_at),
    "served_until_at": lambda desk, load: _iso(desk, load.served_until_at),
}
"""The columns in order. Times are ISO 8601 in the kitchen's zone, with offset."""


def loads_csv(desk: Desk) -> str:
    """The file's text, by time of loading. Lines end with CR LF, as RFC 4180 asks."""
    out = StringIO()
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    for load in sorted(desk.plan.loads, key=lambda x: (x.load_at, x.code)):
        writer.writerow([safe_cell(say(desk, load)) for say in COLUMNS.values()])
    return out.getvalue()
