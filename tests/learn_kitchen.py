"""Invented cooks whose true ranges are known, and a kitchen to learn in."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
from books.mistakes import SCENARIOS

from scheduler.books import read_scenario
from scheduler.learn.normal import TENTH_Z, Bools, Floats
from scheduler.learn.posterior import Side
from scheduler.model.cooks import Cook

MENU = (285, 465, 645)
TRUTH = (310, 520, 760)
"""A kitchen that is some 12 % slower than its menu, and wider on its late side."""
CUT_OFF_MEAN_MIN = 5200.0
"""Mean time to a failure; cuts off about one cook in ten of these."""

CORNER = read_scenario(SCENARIOS / "corner-saturday")


def side(menu: tuple[int, int, int] = MENU) -> Side:
    """What was believed before."""
    early, likely, late = menu
    return Side(likely, (likely - early) / TENTH_Z, (late - likely) / TENTH_Z)


def drawn(rng: np.random.Generator, count: int, truth: tuple[int, int, int] = TRUTH) -> tuple[Floats, Bools]:
    """Times of cooks and whether they came to their end; about one in ten is cut off by a failure."""
    early, likely, late = truth
    z = rng.standard_normal(count)
    times = likely + z / TENTH_Z * np.where(z < 0, likely - early, late - likely)
    fails = rng.exponential(CUT_OFF_MEAN_MIN, count)
    return np.minimum(times, fails), fails > times


def cook(minutes: float, number: int = 0, **changes: object) -> Cook:
    """One cook of a brisket in paper at its reference."""
    start = datetime(2026, 2, 6, 18, tzinfo=UTC) + timedelta(days=7 * number)
    plain = Cook(
        cut="packer brisket",
        recipe="250 paper",
        minutes=minutes,
        done=True,
        weight_lb=11.5,
        smoker="long",
        rack="cool end",
        offset_f=0,
        at=start,
        said=f"line {number}",
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def written(folder: Path, lines: str) -> Path:
    """A cooks.csv with the usual heading."""
    head = "cut,recipe,weight_lb,smoker,rack,start,wrapped,done,ending,by\n"
    (folder / "cooks.csv").write_text(head + lines, encoding="utf-8")
    return folder
