"""Checks a temperature record against all food-safety rules and says which minute breaks what.

A record is minutes and degrees F of the coldest spot of one piece (a surface probe will do for the come-up of an
intact piece, not for anything else). It is read in this order:

1. *Raw to cooked*: until the time-temperature integral of `lethality` reaches its target (fat: 170 F for 30 minutes).
2. *Cooked*: readings are hot (at or above the hot-holding minimum), cold (41 F or below) or between. A spell between
   is judged by what was before and after it: hot to cold is cooling, cold to hot is reheating, hot to hot is a lapse
   of hot holding, cold to cold a lapse of cold holding.

Clocks start at the last reading that was still good, because nobody knows when between two readings it changed. A
record says what a probe saw; it does not replace the local authority's judgment. Sources: see `food_safety.RULES`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import numpy as np
from numpy.typing import ArrayLike

from scheduler.trade.log_cooked import cooked_findings
from scheduler.trade.log_raw import cooked_index, raw_findings
from scheduler.trade.log_record import MOST_PER_RULE, Finding, LogSettings, Record, minute

__all__ = ["GAP_MIN", "Finding", "LogSettings", "check_log"]

GAP_MIN = 30.0
"""Longest time between two readings that goes without a note (common practice, no source)."""


def check_log(rows: ArrayLike, settings: LogSettings | None = None) -> list[Finding]:
    """All findings of a record, in order of time; empty if every rule is kept.

    `rows` is an array or list of (minute, temp_f), minutes rising. ValueError if it is not that, or empty.
    """
    array = np.asarray(rows, dtype=np.float64)
    if array.ndim != 2 or array.shape[1] != 2 or not len(array):
        raise ValueError("a record is a list of (minute, temp_f), with at least one reading")
    if not np.isfinite(array).all():
        raise ValueError("a record holds a reading that is not a number")
    if (np.diff(array[:, 0]) <= 0).any():
        raise ValueError("the minutes of a record must rise")
    record = Record(array[:, 0], array[:, 1], settings or LogSettings())
    cooked = cooked_index(record)
    findings = [*_gaps(record), *raw_findings(record, cooked)]
    if cooked is not None:
        findings += cooked_findings(record, cooked)
    return _capped(sorted(findings, key=lambda found: (found.from_min, found.code, found.to_min)))


def _gaps(record: Record) -> Iterator[Finding]:
    wide = np.flatnonzero(np.diff(record.at) > GAP_MIN)
    for i in wide[: MOST_PER_RULE + 1]:
        low, high = float(record.at[i]), float(record.at[i + 1])
        yield Finding("LOG-GAP", "note", low, high, f"no reading for {high - low:g} minutes after {minute(low)}")


def _capped(findings: list[Finding]) -> list[Finding]:
    kept: list[Finding] = []
    seen: Counter[str] = Counter()
    for found in findings:
        seen[found.code] += 1
        if seen[found.code] <= MOST_PER_RULE:
            kept.append(found)
        elif seen[found.code] == MOST_PER_RULE + 1:
            sentence = f"there are more than {MOST_PER_RULE} findings of this rule; the rest is not listed"
            kept.append(Finding(found.code, "note", found.from_min, found.to_min, sentence))
    return kept
