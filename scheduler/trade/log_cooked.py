"""What a temperature record breaks once the meat is cooked: holding, time control, cooling, reheating, dating."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from scheduler.trade import food_safety as fs
from scheduler.trade.log_record import (
    BETWEEN,
    COLD,
    HOT,
    MOST_PER_RULE,
    Finding,
    Ints,
    Record,
    between,
    minute,
    spells,
)

SPELL_GAP_MIN = 15.0
"""Lapses no further apart than this are told as one."""
DAY_MIN = 24 * 60.0


def cooked_findings(record: Record, cooked: int) -> list[Finding]:
    """All findings from the reading at which the meat was cooked."""
    kept = record.part(_kept_from(record, cooked), len(record.at))
    findings: list[Finding] = []
    control = record.settings.time_control_from_min
    if control is not None:
        findings += _time_control(record, control)
        kept = kept.part(0, int(np.searchsorted(kept.at, control, side="right")))
    if not len(kept.at):
        return findings
    kinds, starts, ends = spells(kept)
    findings += _lapses(kept, starts, ends, between(kinds, BETWEEN, HOT, HOT), HOT)
    findings += _lapses(kept, starts, ends, between(kinds, BETWEEN, COLD, COLD), COLD)
    findings += _first_spell(kept, kinds, ends)
    findings += _changes(kept, kinds, ends)
    findings += _date_mark(kept)
    return findings


def _kept_from(record: Record, cooked: int) -> int:
    """Where holding starts: a piece that is lethal at 131 F and still on its way up is not yet held."""
    if record.settings.cooked_at_start:
        return 0
    hot = np.flatnonzero(record.temp[cooked:] >= record.settings.hold_min_f)
    first_hot = cooked + int(hot[0]) if len(hot) else cooked
    on_the_way_up = (record.temp[cooked:first_hot] >= fs.COME_UP_HIGH_F).all()
    return first_hot if on_the_way_up else cooked


def _time_control(record: Record, start_min: float) -> Iterator[Finding]:
    first = int(np.clip(np.searchsorted(record.at, start_min, side="right") - 1, 0, None))
    wrong_start = fs.time_control_breach(float(record.temp[first]), 0)
    if wrong_start:
        yield Finding("TIME-4H", "breach", start_min, start_min, wrong_start)
    until = start_min + fs.TIME_CONTROL_MAX_MIN
    if record.end > until:
        yield Finding("TIME-4H", "breach", until, record.end, f"from {minute(until)} it is older than 4 hours: discard")


def _lapses(record: Record, starts: Ints, ends: Ints, picked: Ints, kind: int) -> Iterator[Finding]:
    """Hot or cold holding that lapsed and came back; lapses close together are told as one."""
    if not len(picked):
        return
    low, high = record.at[starts[picked]], record.at[ends[picked]]
    breaks = np.flatnonzero(low[1:] - high[:-1] > SPELL_GAP_MIN) + 1
    for group in np.split(np.arange(len(picked)), breaks)[: MOST_PER_RULE + 1]:
        first, last = int(starts[picked[group[0]]]), int(ends[picked[group[-1]]])
        begin, end = float(record.at[first]), float(record.at[last])
        inside = record.temp[first:last]
        if kind == HOT:
            side, worst, code = f"below {record.settings.hold_min_f:g} F", f"lowest {inside.min():g} F", "HOT-HOLD"
        else:
            side, worst, code = "above 41 F", f"highest {inside.max():g} F", "COLD-HOLD"
        length = float((high[group] - low[group]).sum())
        sentence = f"{side} from {minute(begin)} to {minute(end)}, {length:g} min in all, {worst}"
        yield Finding(code, "breach", begin, end, sentence)


def _first_spell(record: Record, kinds: Ints, ends: Ints) -> Iterator[Finding]:
    """A cooked piece whose record starts neither hot nor cold."""
    if kinds[0] != BETWEEN:
        return
    if len(kinds) > 1 and kinds[1] == HOT:
        end = float(record.at[ends[0]])
        sentence = f"below {record.settings.hold_min_f:g} F from the start to {minute(end)}"
        yield Finding("HOT-HOLD", "breach", record.start, end, sentence)
    else:
        yield from _cooling(record, 0, to_the_end=len(kinds) == 1)


def _changes(record: Record, kinds: Ints, ends: Ints) -> Iterator[Finding]:
    """Cooling, reheating, and what was still under way when the record ended."""
    steady = np.flatnonzero(kinds != BETWEEN)
    following = np.append(kinds[steady[1:]], BETWEEN)
    changed = (following != kinds[steady]) & (ends[steady] < len(record.at))
    for here, after in zip(steady[changed], following[changed], strict=True):
        last_good = int(ends[here]) - 1
        if kinds[here] == HOT:
            yield from _cooling(record, last_good, to_the_end=after == BETWEEN)
        else:
            yield from _reheating(record, last_good, to_the_end=after == BETWEEN)


def _late(record: Record, after: int, due: float, goal_f: float, rising: bool) -> bool:
    """True if the record goes beyond `due` and none of its readings from `after` up to then is at the goal."""
    upto = record.temp[after : int(np.searchsorted(record.at, due, side="right"))]
    reached = (upto >= goal_f if rising else upto <= goal_f).any()
    return record.end > due and not bool(reached)


def _cooling(record: Record, last_hot: int, to_the_end: bool) -> Iterator[Finding]:
    start = float(record.at[last_hot])
    if to_the_end:
        sentence = (
            f"below {record.settings.hold_min_f:g} F after {minute(start)}: that is safe only if it is being cooled "
            "or stands under a written 4-hour time control"
        )
        yield Finding("HOT-HOLD", "breach", start, record.end, sentence)
    for code, goal_f, most in (
        ("COOL-2H", fs.COOL_MID_F, fs.COOL_MID_MAX_MIN),
        ("COOL-6H", fs.COOL_END_F, fs.COOL_END_MAX_MIN),
    ):
        due = start + most
        if _late(record, last_hot, due, goal_f, rising=False):
            sentence = f"last hot at {minute(start)}, it was not down to {goal_f:g} F {most // 60} hours later"
            yield Finding(code, "breach", due, record.end, sentence)


def _reheating(record: Record, last_cold: int, to_the_end: bool) -> Iterator[Finding]:
    start = float(record.at[last_cold])
    due = start + fs.REHEAT_MAX_MIN
    if _late(record, last_cold, due, fs.REHEAT_F, rising=True):
        sentence = f"it left 41 F after {minute(start)} and had not reached 165 F by {minute(due)}"
        yield Finding("REHEAT", "breach", due, record.end, sentence)
    elif to_the_end:
        sentence = f"above 41 F after {minute(start)}: that is safe only while it is being reheated"
        yield Finding("COLD-HOLD", "breach", start, record.end, sentence)


def _date_mark(record: Record) -> Iterator[Finding]:
    cold = np.flatnonzero(record.temp <= fs.COLD_HOLD_MAX_F)
    if not len(cold):
        return
    first, last = float(record.at[cold[0]]), float(record.at[cold[-1]])
    if last - first > fs.DATE_MARK_AFTER_H * 60:
        sentence = f"kept cold for more than 24 hours from {minute(first)}: it must carry its date"
        yield Finding("DATE-MARK", "note", first + fs.DATE_MARK_AFTER_H * 60, last, sentence)
    midnight = record.settings.midnight_min
    rest_of_day_1 = 0.0 if midnight is None else (midnight - record.start) % DAY_MIN
    limit = record.start + rest_of_day_1 + (fs.DATE_MARK_MAX_DAYS - 1) * DAY_MIN
    if last > limit:
        sentence = f"its 7 days were over at {minute(limit)}: discard"
        yield Finding("DATE-MARK", "breach", limit, last, sentence)
