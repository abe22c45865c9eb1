"""The sheet of how many pieces are worth cooking, where the plan came from that question."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from scheduler.report.words import ClockStyle, cut_text, day_text, money_text, wave_text

if TYPE_CHECKING:  # It brings the solver along, which no page waits for.
    from scheduler.quantities.table import QuantityRow


@dataclass(frozen=True, slots=True)
class WorthLine:
    """One cut of one day."""

    what: str
    planned: int
    wanted: int
    made: int
    waves: str
    last: str
    more: str
    limit: str


@dataclass(frozen=True, slots=True)
class WorthDay:
    """One day."""

    title: str
    lines: tuple[WorthLine, ...]


@dataclass(frozen=True, slots=True)
class WorthSheet:
    """Context of the sheet."""

    anchor: str
    title: str
    days: tuple[WorthDay, ...]


def _line(row: QuantityRow, clock: ClockStyle) -> WorthLine:
    return WorthLine(
        what=cut_text(row.cut, 2),
        planned=row.planned,
        wanted=row.wanted,
        made=row.made,
        waves=", ".join(f"{n} at {wave_text(name, clock)[4:]}" for name, n in row.waves if n) or "none",
        last=money_text(row.last_cents),
        more=money_text(row.next_cents),
        limit=row.limit.partition(": a further piece")[0],
    )


def worth_sheet(rows: Sequence[QuantityRow], clock: ClockStyle) -> WorthSheet | None:
    """Rows by day; None if there are none."""
    days = tuple(
        WorthDay(day_text(day), tuple(_line(row, clock) for row in own)) for day, own in groupby(rows, lambda x: x.day)
    )
    return WorthSheet("worth", "Worth cooking", days) if days else None
