"""What a smoker, a rack or a person adds to cooking times: small shares, shrunk to nothing while cooks are few."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from scheduler.learn.normal import Floats
from scheduler.model.cooks import Cook

EFFECT_SD = 0.05
"""Kitchens differ from place to place by about this share of the time, beyond the offsets they know of (common
practice, no source)."""
TOLD_SHARE, TOLD_COOKS = 0.02, 5
"""Less than this, or fewer cooks, is not worth a line."""
TURNS = 4

Key = Callable[[Cook], str]

FACTORS: dict[str, Key] = {
    "smoker": lambda cook: cook.smoker,
    "rack": lambda cook: f"{cook.smoker}, {cook.rack}" if cook.rack else "",
    "person": lambda cook: cook.by,
}


@dataclass(frozen=True, slots=True)
class Effect:
    """How much longer cooks take there or with that person, as a share; and how many cooks say so."""

    kind: str
    name: str
    share: float
    cooks: int


def effects_of(cooks: Sequence[Cook], residual: Floats, spread: Floats) -> tuple[Effect, ...]:
    """Effects from what is left unexplained: `residual` as shares of the likely time, each with its own `spread`.

    Each is a shrunk mean: n cooks of a spread s count n / (n + s^2 / EFFECT_SD^2) of what they say. The effects of one
    kind are even on the whole, so that they never take from the range what is common to all.
    """
    left = residual.copy()
    found: dict[tuple[str, str], float] = {}
    columns = {kind: np.array([key(cook) for cook in cooks], dtype=object) for kind, key in FACTORS.items()}
    for _ in range(TURNS):
        for kind, names in columns.items():
            known = sorted({name for name in names if name})
            if len(known) < 2:
                continue
            for name in known:
                left[names == name] += found.get((kind, name), 0.0)
            shares = {name: _shrunk(left[names == name], spread[names == name]) for name in known}
            even = sum(shares[name] * int((names == name).sum()) for name in known) / int((names != "").sum())
            for name in known:
                found[kind, name] = shares[name] - even
                left[names == name] -= found[kind, name]
    counts = {(kind, name): int((columns[kind] == name).sum()) for kind, name in found}
    return tuple(Effect(kind, name, share, counts[kind, name]) for (kind, name), share in found.items())


def _shrunk(residual: Floats, spread: Floats) -> float:
    weights = 1 / spread**2
    return float((residual * weights).sum() / (weights.sum() + 1 / EFFECT_SD**2))


def factor_of(cook: Cook, effects: Sequence[Effect]) -> float:
    """Factor on the time of a cook by where it was and who had it."""
    names = {(kind, key(cook)) for kind, key in FACTORS.items()}
    return 1 + sum(effect.share for effect in effects if (effect.kind, effect.name) in names)


def told(effects: Sequence[Effect]) -> tuple[Effect, ...]:
    """Those worth telling, the biggest first."""
    found = [effect for effect in effects if abs(effect.share) >= TOLD_SHARE and effect.cooks >= TOLD_COOKS]
    return tuple(sorted(found, key=lambda effect: -abs(effect.share)))
