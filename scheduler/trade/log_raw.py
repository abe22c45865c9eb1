"""What a temperature record breaks on the way from raw to cooked."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from scheduler.trade import food_safety as fs
from scheduler.trade.lethality import TARGET_LOG, Floats, Species, lethality_share
from scheduler.trade.log_record import COLD, MOST_PER_RULE, Finding, Record, band_min, between, minute, runs, steady_min

HEATED_F = 70.0
"""Raw meat above this was heated and did not just warm up (a choice of this module)."""
AWAY = 1


def _share(record: Record, species: Species) -> Floats:
    settings = record.settings
    return lethality_share(species, record.at, record.temp, settings.fat_pct, settings.target_log)


def cooked_index(record: Record) -> int | None:
    """First reading at which the meat has had its time at temperature (fat: its 30 minutes), or None."""
    species = record.settings.species
    if record.settings.cooked_at_start:
        return 0
    if species == "tallow":
        reached = np.flatnonzero(steady_min(record, fs.TALLOW_F) >= fs.TALLOW_MIN)
    else:
        reached = np.flatnonzero(_share(record, species) >= 1 - 1e-12)
    return int(reached[0]) if len(reached) else None


def raw_findings(record: Record, cooked: int | None) -> list[Finding]:
    """Come-up, breaks in cooking, lethality, the Food Code's cooking line, tallow; none if it starts cooked."""
    species = record.settings.species
    if record.settings.cooked_at_start:
        return []
    if species == "tallow":
        return [] if cooked is not None else [_not_rendered(record)]
    raw = record if cooked is None else record.part(0, cooked + 1)
    findings = [*_come_up(raw), *_slow_start(raw), *_breaks(raw)]
    findings += [_not_lethal(record, species)] if cooked is None else _cook_line(record, species)
    return findings


def _not_rendered(record: Record) -> Finding:
    best = float(steady_min(record, fs.TALLOW_F).max())
    sentence = f"the fat was at 170 F or above for {best:g} minutes at most, not 30"
    return Finding("TALLOW", "breach", record.start, record.end, sentence)


def _not_lethal(record: Record, species: Species) -> Finding:
    share = float(_share(record, species)[-1])
    target = record.settings.target_log or TARGET_LOG[species]
    sentence = f"by the end the record shows {share:.0%} of the time at temperature for {target:g}-log"
    return Finding("LETHALITY", "breach", record.start, record.end, sentence)


def _cook_line(record: Record, species: Species) -> list[Finding]:
    kind: fs.CookKind = record.settings.kind or ("intact meat" if species == "meat" else "poultry")
    for least_f, least_s in fs.COOK_MIN[kind]:
        reached = record.temp >= least_f if least_s == 0 else steady_min(record, least_f) * 60 >= least_s
        if reached.any():
            return []
    peak = int(np.argmax(record.temp))
    ways = " or ".join(f"{f:g} F for {s:g} s" if s else f"{f:g} F" for f, s in fs.COOK_MIN[kind])
    sentence = f"the time-temperature table is met, but {kind} shows no {ways}: ask the local authority"
    return [Finding("COOK", "breach", float(record.at[peak]), record.end, sentence)]


def _come_up(raw: Record) -> Iterator[Finding]:
    first_f = float(raw.temp[0])
    if first_f > fs.COME_UP_LOW_F:
        sentence = f"the record starts at {first_f:g} F: the time before it, above 50 F, is not known"
        yield Finding("COME-UP", "note", raw.start, raw.start, sentence)
    spent = band_min(raw, fs.COME_UP_LOW_F, fs.COME_UP_HIGH_F)
    over = np.flatnonzero(spent > fs.COME_UP_MAX_MIN)
    if len(over):
        at = float(raw.at[over[0]])
        hours = spent[-1] / 60
        sentence = f"by {minute(at)} it had spent more than 6 hours between 50 F and 130 F ({hours:.1f} in all)"
        yield Finding("COME-UP", "breach", at, raw.end, sentence)


def _slow_start(raw: Record) -> Iterator[Finding]:
    spent = band_min(raw, fs.COLD_HOLD_MAX_F, fs.COME_UP_LOW_F)
    over = np.flatnonzero(spent > fs.THAW_ABOVE_41_MAX_MIN)
    if len(over):
        at = float(raw.at[over[0]])
        sentence = f"raw meat had been between 41 F and 50 F for more than 4 hours by {minute(at)}"
        yield Finding("COLD-HOLD", "breach", at, raw.end, sentence)


def _breaks(raw: Record) -> Iterator[Finding]:
    """Heated, chilled to 41 F, and heated again before it was cooked."""
    kinds, starts, ends = runs(np.where(raw.temp <= fs.COLD_HOLD_MAX_F, COLD, AWAY).astype(np.int64))
    for place in between(kinds, AWAY, COLD, COLD)[:MOST_PER_RULE]:
        low, high = int(starts[place]), int(ends[place])
        peak = low + int(np.argmax(raw.temp[low:high]))
        if raw.temp[peak] < HEATED_F:
            continue
        begin = float(raw.at[low - 1])
        sentence = fs.non_continuous_breach(float(raw.at[peak]) - begin)
        if sentence:
            yield Finding("NON-CONT", "breach", begin + fs.FIRST_HEATING_MAX_MIN, float(raw.at[high]), sentence)
        at_70 = peak + int(np.argmax(raw.temp[peak : high + 1] <= fs.COOL_MID_F))
        times = (float(raw.at[i] - raw.at[peak]) for i in (at_70, high))
        for sentence in fs.cooling_breaches(*times):
            code = "COOL-2H" if "2 hours" in sentence else "COOL-6H"
            text = f"after the first heating, from {minute(float(raw.at[peak]))}: {sentence}"
            yield Finding(code, "breach", float(raw.at[peak]), float(raw.at[high]), text)
