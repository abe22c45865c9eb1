"""The figures behind a rule that one sentence cannot hold, as lines to print under it."""

from __future__ import annotations

from scheduler.trade import food_safety as fs
from scheduler.trade.lethality import Species, least_seconds
from scheduler.trade.safety_tables import FAT_PCTS, ROAST_OVEN

SHOWN_F = (130, 135, 140, 145, 150, 155, 158, 160, 165)
"""Rows that are printed of the time-temperature tables; a log is checked against all of them."""


def figures(code: str) -> tuple[str, ...]:
    """Figures of a rule of `food_safety.RULES`, temperatures in F; empty where its sentence says all."""
    if code == "LETHALITY":
        fattest = FAT_PCTS[-1]
        head = f"At this heat: meat (6.5-log) | chicken, turkey of {fattest:g} % fat (7-log)"
        return (head, *(_row(temp_f, fattest) for temp_f in SHOWN_F))
    if code == "COOK":
        return tuple(
            f"{kind}: " + ", or ".join(f"{f:g} F for {s:g} s" if s else f"{f:g} F" for f, s in rows)
            for kind, rows in fs.COOK_MIN.items()
        )
    if code == "ROAST-OVEN":
        return tuple(
            f"{oven} oven: {sense} {small:g} F under 10 lb, {sense} {big:g} F from 10 lb on"
            for oven, (sense, small, big) in ROAST_OVEN.items()
        )
    return ()


def _row(temp_f: float, fat_pct: float) -> str:
    meat = _long(least_seconds("meat", temp_f))
    birds: tuple[Species, ...] = ("chicken", "turkey")
    times = [_long(least_seconds(bird, temp_f, fat_pct)) for bird in birds]
    return f"{temp_f:g} F: {meat} | {', '.join(times)}"


def _long(seconds: float | None) -> str:
    """How long, in words: "112 min", "54 s"."""
    if seconds is None:
        return "not enough"
    if seconds == 0:
        return "at once"
    return f"{seconds / 60:.1f} min" if seconds >= 120 else f"{seconds:g} s"
