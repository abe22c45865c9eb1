"""Whether plans keep their promise: how many cooks were done before early, how many only after late.

A plan promises that one cook in ten is done before early and one in ten after late. Cooks that were cut off before they
were done are not left out: they count as long as they lasted.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import exp, log, sqrt

import numpy as np

from scheduler.learn.survival import Share, share_over_by
from scheduler.learn.tails import student_quantile
from scheduler.model.cooks import Cook
from scheduler.model.menu import Menu
from scheduler.trade.stage import finish_range

PROMISE = 0.10
FEW = 5


@dataclass(frozen=True, slots=True)
class Kept:
    """The promise for some cooks."""

    kind: str
    """"all", "cut", "smoker" or "cut and smoker"."""
    name: str
    cooks: int
    cut_off: int
    before_early: Share
    after_late: Share
    places: tuple[float, ...]
    """Where each cook ended that was done: -1 early, 0 likely, 1 late, in between and beyond in proportion."""

    @property
    def warning(self) -> str:
        """What is not kept, in a sentence; empty where that cannot be said."""
        late, early = self.after_late, self.before_early
        who = "Cooks" if self.kind == "all" else self.name[0].upper() + self.name[1:]
        if late.low > PROMISE:
            return (
                f"{who}: {late.share:.0%} were done after late, where the plan promises one in ten "
                f"({late.low:.0%} to {late.high:.0%}, {self.cooks} cooks)."
            )
        if early.low > PROMISE:
            return (
                f"{who}: {early.share:.0%} were done before early, where the plan promises one in ten "
                f"({early.low:.0%} to {early.high:.0%}, {self.cooks} cooks)."
            )
        return ""


def calibrate(menu: Menu, cooks: Sequence[Cook]) -> tuple[Kept, ...]:
    """All cooks together, then by cut, by smoker, and by cut and smoker; those without any cook are not there."""
    keys: tuple[tuple[str, Callable[[Cook], str]], ...] = (
        ("all", lambda cook: "all cooks"),
        ("cut", lambda cook: cook.cut),
        ("smoker", lambda cook: cook.smoker),
        ("cut and smoker", lambda cook: f"{cook.cut} on {cook.smoker}" if cook.smoker else ""),
    )
    found = []
    for kind, key in keys:
        groups: dict[str, list[Cook]] = defaultdict(list)
        for cook in cooks:
            if key(cook):
                groups[key(cook)].append(cook)
        found += [_kept(kind, name, groups[name], menu) for name in sorted(groups)]
    return tuple(found)


def warnings(found: Sequence[Kept]) -> tuple[str, ...]:
    """What is not kept; a cut on a smoker only where neither is told already."""
    told = {kept.name for kept in found if kept.warning and kept.kind in ("cut", "smoker")}
    return tuple(
        kept.warning
        for kept in found
        if kept.warning and (kept.kind != "cut and smoker" or not told & set(kept.name.split(" on ", 1)))
    )


def place_in_range(minutes: float, planned: tuple[int, int, int]) -> float:
    """-1 at early, 0 at likely, 1 at late; a side without width takes all beyond it as far out."""
    early, likely, late = planned
    side = likely - early if minutes < likely else late - likely
    return (minutes - likely) / max(side, 1)


def planned_of(menu: Menu, cook: Cook) -> tuple[int, int, int]:
    """The cook's planned range: that of its plan, else by the menu for its weight and rack."""
    if cook.planned is not None:
        return cook.planned
    found = finish_range(menu.cut(cook.cut).recipe(cook.recipe), cook.weight_lb, cook.offset_f)
    return found.early_min, found.likely_min, found.late_min


def _kept(kind: str, name: str, cooks: list[Cook], menu: Menu) -> Kept:
    places = np.array([place_in_range(cook.minutes, planned_of(menu, cook)) for cook in cooks])
    done = np.array([cook.done for cook in cooks], dtype=np.bool_)
    early = share_over_by(places, done, np.nextafter(-1.0, -2.0))
    by_late = share_over_by(places, done, 1.0)
    late = Share(1 - by_late.share, 1 - by_late.high, 1 - by_late.low, by_late.count)
    shown = tuple(float(place) for place, ended in zip(places, done, strict=True) if ended)
    return Kept(kind, name, len(cooks), int((~done).sum()), early, late, shown)


@dataclass(frozen=True, slots=True)
class Ratio:
    """How much of something was used against plan: 1 as planned."""

    name: str
    ratio: float
    low: float
    high: float
    count: int

    @property
    def off(self) -> bool:
        """True if the interval leaves 1 out."""
        return not self.low <= 1 <= self.high


def ratio_of(name: str, used: Sequence[float], planned: Sequence[float]) -> Ratio | None:
    """Geometric mean of used against planned with its 90 % interval (Student's t on logarithms); None below 2 pairs."""
    logs = [log(u / p) for u, p in zip(used, planned, strict=True) if u > 0 and p > 0]
    if len(logs) < 2:
        return None
    mean = sum(logs) / len(logs)
    sd = sqrt(sum((value - mean) ** 2 for value in logs) / (len(logs) - 1))
    half = student_quantile(0.95, len(logs) - 1) * sd / sqrt(len(logs))
    return Ratio(name, exp(mean), exp(mean - half), exp(mean + half), len(logs))


def ratios(rows: Sequence[tuple[str, float, float]]) -> Iterator[Ratio]:
    """Ratios of rows (name, used, planned) by name."""
    groups: dict[str, list[tuple[float, float]]] = defaultdict(list)
    for name, used, planned in rows:
        groups[name].append((used, planned))
    for name in sorted(groups):
        found = ratio_of(name, [u for u, _ in groups[name]], [p for _, p in groups[name]])
        if found is not None:
            yield found
