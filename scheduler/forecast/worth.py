"""How many pieces are worth cooking: the expected margin of each further piece of a cut, wave by wave.

This is the newsvendor's question asked of several waves at once. A piece that is sold brings the price of its portions;
one that is left brings what leftovers bring, or nothing if its hold limit is over; either way it cost what it cost.
The value of so many pieces in each wave is the mean over draws of what would be bought while they are served, leftovers
of a wave being sold in the next as long as they may be held. Pieces are added one by one where the next is worth most,
and of waves that are worth the same to the latest, which is held for the shortest time.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

import numpy as np

from scheduler.forecast.days import BIN_MIN
from scheduler.forecast.demand import DayDemand
from scheduler.forecast.special import Floats
from scheduler.model.menu import Cut
from scheduler.model.scenario import Scenario
from scheduler.model.weekend import ServiceDay, Wave

DRAWS = 4000
MOST_PIECES = 400
AS_GOOD = 0.98
"""A later wave is taken if a piece is worth at least this share of what it is worth in the best one."""
STEP_SHARES = (0.5, 0.2)
"""The solver is given the worth of a wave's pieces in steps: those above 50 % of the first, those above 20 %, the rest.
Each step is one more demand for it.
"""
CARRIED_SHARE = 0.5
"""What a wave leaves counts for the next if it may be held for at least half of that."""


@dataclass(frozen=True)
class WaveDraws:
    """What would be bought of one cut while each of its waves of a day is served."""

    cut: Cut
    waves: tuple[Wave, ...]
    wanted: Floats
    """Portions (draw, wave)."""
    carries: tuple[bool, ...]
    """True if what a wave leaves may still be sold in the next."""

    def value_cents(self, pieces: Sequence[float]) -> float:
        """Expected margin of so many pieces in each wave, cents."""
        return float(self._worth(np.asarray(pieces, dtype=np.float64)))

    def _worth(self, pieces: Floats) -> float:
        cut = self.cut
        over = np.zeros(len(self.wanted))
        sold = left = 0.0
        for i, carries in enumerate(self.carries):
            stock = pieces[i] * cut.portions + over
            taken = np.minimum(stock, self.wanted[:, i])
            sold += float(taken.mean())
            over = stock - taken
            if not carries:
                left += float(over.mean()) if i == len(self.carries) - 1 else 0.0
                over = np.zeros(len(self.wanted))
        return sold * cut.price_cents + left * cut.leftover_cents - float(pieces.sum()) * cut.cost_cents

    def curve(self) -> tuple[tuple[int, float], ...]:
        """Wave and expected margin of each further piece, the best first, as long as it is above 0."""
        pieces = np.zeros(len(self.waves))
        found: list[tuple[int, float]] = []
        value, least = 0.0, float("inf")
        while len(found) < MOST_PIECES:
            gains = []
            for i in range(len(pieces)):
                pieces[i] += 1
                gains.append(self._worth(pieces) - value)
                pieces[i] -= 1
            most = max(gains)
            if most <= 0:
                break
            best = max(i for i, gain in enumerate(gains) if gain >= AS_GOOD * most)
            least = min(least, gains[best])
            found.append((best, least))
            pieces[best] += 1
            value += gains[best]
        return tuple(found)


def wave_draws(demand: DayDemand, scenario: Scenario, day: ServiceDay, seed: int = 0) -> tuple[WaveDraws, ...]:
    """Draws for each cut of a service day that has waves while it is open."""
    weekend = scenario.weekend
    found = []
    for column, name in enumerate(demand.cuts):
        cut = scenario.menu.cut(name)
        mine = (w for w in weekend.waves if w.cut == name and weekend.day_of(w.at) == day)
        waves = sorted((w for w in mine if weekend.wave_until(w) > day.opens), key=lambda w: w.at)
        if not waves:
            continue
        starts = [day.opens, *(max(wave.at, day.opens) for wave in waves[1:]), day.closes]
        edges = np.array([_quarter(day, at) for at in starts])
        # The same luck for every cut and every call, so that quantities are compared on the same days.
        wanted = demand.portions_between(edges, DRAWS, np.random.default_rng([seed, 3]))[:, :, column]
        ends = [max(weekend.wave_until(wave), held_until(cut, wave)) for wave in waves]
        spans = list(pairwise(starts))
        served = [_share(start, end, until) for (start, end), until in zip(spans, ends, strict=True)]
        carries = [_share(*spans[i + 1], ends[i]) >= CARRIED_SHARE for i in range(len(waves) - 1)]
        found.append(WaveDraws(cut, tuple(waves), np.rint(wanted * np.array(served)), (*carries, False)))
    return tuple(found)


def held_until(cut: Cut, wave: Wave) -> datetime:
    """Until when the pieces of a wave may be sold, if the early ones were done as early as their range allows."""
    finish = cut.recipes[0].finish
    return wave.at + timedelta(minutes=max(0, cut.hold_max_min - (finish.late_min - finish.early_min)))


def _quarter(day: ServiceDay, at: datetime) -> float:
    midnight = datetime.combine(day.opens.date(), datetime.min.time())
    return (at - midnight) / timedelta(minutes=BIN_MIN)


def _share(start: datetime, end: datetime, until: datetime) -> float:
    """Share of a span that is over by a time."""
    return min(1.0, max(0.0, (until - start) / (end - start))) if end > start else 0.0


def stepped(curve: Sequence[float]) -> tuple[int, ...]:
    """A wave's diminishing worth in a few steps, whole cents: as good as sold, likely sold, perhaps sold."""
    if not curve:
        return ()
    shares = np.asarray(curve) / curve[0]
    found: list[int] = []
    for high, low in pairwise((np.inf, *STEP_SHARES, -np.inf)):
        run = np.asarray(curve)[(shares < high) & (shares >= low)]
        found += [int(run.mean())] * len(run) if len(run) else []
    return tuple(found)


@dataclass(frozen=True)
class Wanted:
    """How many pieces of a cut are worth cooking on a day if nothing in the kitchen stood in the way."""

    draws: WaveDraws
    curve: tuple[tuple[int, float], ...]

    @property
    def pieces(self) -> int:
        """Pieces in all."""
        return len(self.curve)

    def by_wave(self, wave: int) -> tuple[float, ...]:
        """Expected margin of each further piece of one wave, cents."""
        return tuple(worth for place, worth in self.curve if place == wave)


def wanted_pieces(demand: DayDemand, scenario: Scenario, day: ServiceDay, seed: int = 0) -> tuple[Wanted, ...]:
    """The newsvendor's answer for all cuts of a day."""
    return tuple(Wanted(draws, draws.curve()) for draws in wave_draws(demand, scenario, day, seed))


def with_waves(scenario: Scenario, wanted: Iterable[Wanted], diminishing: bool) -> Scenario:
    """The scenario with these quantities in its waves: each piece at its worth, or all at their whole margin."""
    waves = {(w.draws.cut.name, wave.at): (w, i) for w in wanted for i, wave in enumerate(w.draws.waves)}

    def asked(wave: Wave) -> Wave:
        found = waves.get((wave.cut, wave.at))
        if found is None:
            return wave
        curve = found[0].by_wave(found[1])
        worth = stepped(curve) if diminishing else ()
        return wave.model_copy(update={"pieces": len(curve), "worth_cents": worth})

    asks = tuple(asked(wave) for wave in scenario.weekend.waves)
    return scenario.model_copy(update={"weekend": scenario.weekend.model_copy(update={"waves": asks})})
