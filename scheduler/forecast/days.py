"""A history as arrays: what was sold of each cut in each quarter of an hour, and for how long it could be sold.

The last is what lets a sold-out day count right. What is sold before a cut runs out is demand like any other; after it
there was nothing to sell, so that time does not count at all. Once any cut has run out, customers take another, so the
other cuts do not count either from the quarter of an hour in which that happened.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from scheduler.forecast.special import Floats
from scheduler.model.history import DayRecord, History

BIN_MIN = 15
BINS = 128
"""Quarters of an hour from midnight before opening: a day may close at 8 am of the next."""
LAST_BIN = 28 * 60 // BIN_MIN
"""What is sold before 4 am belongs to the evening before; later it belongs to no day that is written down."""

Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Days:
    """Service days by cut: (day, quarter, cut) or (day, cut)."""

    cuts: tuple[str, ...]
    records: tuple[DayRecord, ...]
    sold: Floats
    """Portions sold while all cuts were there."""
    risk: Floats
    """Share of each quarter in which that was so."""
    total: Floats
    """Portions sold all day long, whatever was out."""
    sold_out: Flags
    untimed: Flags
    """Sold out, and nobody wrote down when."""
    offered: Flags

    @property
    def weekday(self) -> NDArray[np.int64]:
        """0 is Monday."""
        return np.array([record.date.weekday() for record in self.records], dtype=np.int64)


def share_open(opened: datetime, until: datetime, record: DayRecord) -> Floats:
    """Share of each quarter that lies between two times."""
    midnight = datetime.combine(record.date, datetime.min.time())
    first, last = ((moment - midnight) / timedelta(minutes=BIN_MIN) for moment in (opened, until))
    edges = np.arange(BINS, dtype=np.float64)
    return np.asarray(np.clip(np.minimum(edges + 1, last) - np.maximum(edges, first), 0.0, 1.0))


def sales_table(history: History, cuts: Sequence[str]) -> pd.DataFrame:
    """Sales of some cuts in order of time, one row each: `at`, `cut` (its place among them), `portions`, `ticket`."""
    rows = [(sale.at, cuts.index(sale.cut), sale.portions, sale.ticket) for sale in history.sales if sale.cut in cuts]
    table = pd.DataFrame(rows, columns=["at", "cut", "portions", "ticket"])
    return table.astype({"at": "datetime64[us]", "cut": int, "portions": float})  # also where there is no row


def days_of(history: History, cuts: Sequence[str]) -> Days:
    """The history of some cuts as arrays; without a cut there is no day to speak of."""
    records = history.days if cuts else ()
    midnight = pd.Series([record.date for record in records], dtype="datetime64[us]")
    days = pd.DataFrame({"day": range(len(records)), "midnight": midnight})
    sales = pd.merge_asof(sales_table(history, cuts), days, left_on="at", right_on="midnight")
    sales["quarter"] = (sales["at"] - sales["midnight"]).dt.total_seconds() // (60 * BIN_MIN)
    sales = sales[sales["quarter"] < LAST_BIN].astype({"day": int, "quarter": int})
    raw = np.zeros((len(records), BINS, len(cuts)))
    np.add.at(raw, (sales["day"], sales["quarter"], sales["cut"]), sales["portions"])
    risk = np.stack([_risk(record, cuts) for record in records]) if records else np.zeros_like(raw)
    total = raw.sum(axis=1)
    sold_out = _marked(records, cuts, lambda record: record.sold_out)
    untimed = _marked(records, cuts, lambda r: [cut for cut, at in r.sold_out.items() if at is None])
    return Days(
        cuts=tuple(cuts),
        records=records,
        sold=np.where(risk > 0, raw, 0.0),
        risk=risk,
        total=total,
        sold_out=sold_out,
        untimed=untimed,
        offered=(total > 0) | sold_out,
    )


def _risk(record: DayRecord, cuts: Sequence[str]) -> Floats:
    times = {cut: at for cut, at in record.sold_out.items() if at is not None}
    first = min(times.values(), default=record.closed)
    clean = first.replace(minute=first.minute // BIN_MIN * BIN_MIN, second=0, microsecond=0)
    columns = []
    for cut in cuts:
        until = first if times.get(cut) == first else (clean if times else record.closed)
        columns.append(share_open(record.opened, until, record))
    return np.stack(columns, axis=1)


def _marked(records: Iterable[DayRecord], cuts: Sequence[str], pick: Callable[[DayRecord], Iterable[str]]) -> Flags:
    rows = [[cut in set(pick(record)) for cut in cuts] for record in records]
    return np.array(rows, dtype=np.bool_).reshape(len(rows), len(cuts))
