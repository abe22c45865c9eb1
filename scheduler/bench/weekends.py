"""Seeded weekends of the benchmark: the same family, variant and seed are always the same weekend. All invented."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from pathlib import Path
from random import Random

from scheduler.bench.kitchens import crew_of, site_of
from scheduler.bench.sizes import DAY_SHARE, FAMILIES, VARIANTS, Family, Variant
from scheduler.books import read_scenario
from scheduler.errors import InputError, Problem
from scheduler.model.menu import Menu
from scheduler.model.scenario import Scenario
from scheduler.model.weekend import Away, Order, ServiceDay, Wave, Weekend

MENU_FOLDER = Path(__file__).parents[2] / "scenarios" / "harvest-weekend"
"""The menu is that of the real size among the invented scenarios, so that it is kept in one place."""
FRIDAY = datetime(2026, 6, 12)
GRID_MIN = 15


@dataclass(frozen=True, slots=True)
class CutWaves:
    """How a cut is sold: waves so far apart, each served so long (to the next one if None), with a share of pieces."""

    share: float
    every_min: int
    serve_min: int | None
    friday: bool = False


SOLD = {
    "packer brisket": CutWaves(0.15, 180, None),
    "pork butt": CutWaves(0.09, 180, None),
    "beef plate ribs": CutWaves(0.08, 180, 150),
    "spare ribs": CutWaves(0.24, 120, 90, friday=True),
    "turkey breast": CutWaves(0.11, 120, 75, friday=True),
    "half chicken": CutWaves(0.31, 75, 45, friday=True),
    "fat trim pan": CutWaves(0.02, 0, 60),
}
"""Shares as in the real size, about; the fat trim is one wave before the opening."""
SAUSAGE = CutWaves(1.0, 90, 90, friday=True)
SMALL = ("packer brisket", "pork butt", "spare ribs", "half chicken")
"""Cuts of a one-day weekend, beside the sausages."""


@dataclass(frozen=True, slots=True)
class Case:
    """One weekend of the benchmark, by name."""

    family: str
    variant: str
    seed: int

    @property
    def name(self) -> str:
        """Such as "M, tight hold, 2"."""
        return f"{self.family}, {self.variant}, {self.seed}"

    def scenario(self) -> Scenario:
        """The weekend itself."""
        return weekend_of(FAMILIES[self.family], VARIANTS[self.variant], self.seed)


@cache
def menu() -> Menu:
    """The menu. InputError where the scenarios do not lie beside the program."""
    if not MENU_FOLDER.is_dir():
        what = "the benchmark takes its menu from it, and it does not lie beside the program"
        raise InputError([Problem(MENU_FOLDER.name, "", "", what, "run the benchmark from the program's own folder")])
    return read_scenario(MENU_FOLDER).menu


def weekend_of(family: Family, variant: Variant, seed: int) -> Scenario:
    """The weekend of a family, a variant and a seed: variants of a seed want the same pieces at the same times."""
    wants = Random(f"{family.name} {seed}")
    has = Random(f"{family.name} {variant.name} {seed}")
    waves = tuple(_waves(family, wants))
    cuts = {wave.cut for wave in waves}
    kitchen = site_of(family, variant, has, cuts)
    return Scenario(
        site=kitchen,
        menu=Menu(cuts=tuple(cut for cut in menu().cuts if cut.name in cuts)),
        crew=crew_of(family, variant, has),
        weekend=Weekend(
            name=f"Bench {family.name} {variant.name} {seed}",
            invented=True,
            timezone="America/Chicago",
            plan_from=FRIDAY + timedelta(hours=16 if family.days == 1 else 8),
            days=tuple(day for _, day in _days(family)),
            waves=waves,
            orders=tuple(_orders(family, wants)),
            away=() if family.days == 1 else (_away(),),
        ),
    )


def _days(family: Family) -> Iterator[tuple[str, ServiceDay]]:
    counter = max(1, round(family.scale))
    if family.days == 1:
        yield "sat", ServiceDay(opens=_at(1, 11), closes=_at(1, 16), counter_hands=1)
        return
    yield "fri", ServiceDay(opens=_at(0, 17), closes=_at(0, 20), counter_hands=counter)
    yield "sat", ServiceDay(opens=_at(1, 11), closes=_at(1, 17), counter_hands=max(2, round(1.5 * family.scale)))
    yield "sun", ServiceDay(opens=_at(2, 11), closes=_at(2, 16), counter_hands=counter)


def _at(day: int, hour: float) -> datetime:
    return FRIDAY + timedelta(days=day, hours=hour)


def _away() -> Away:
    """One who is at another work until Friday evening."""
    return Away(person="hand 6", from_at=_at(0, 6), until_at=_at(0, 18))


def _waves(family: Family, rng: Random) -> Iterator[Wave]:
    """Waves of all cuts; pieces add up to those of the family."""
    sold = {cut: how for cut, how in SOLD.items() if family.days > 1 or cut in SMALL}
    slots: list[tuple[Wave, float]] = []
    for cut, how in sold.items():
        for wave, weight in _cut_waves(family, cut, how, rng):
            slots.append((wave, weight))
    yield from _filled(slots, family.pieces)
    yield from _filled(list(_cut_waves(family, "sausage", SAUSAGE, rng)), family.sausages)


def _cut_waves(family: Family, cut: str, how: CutWaves, rng: Random) -> Iterator[tuple[Wave, float]]:
    days = [(name, day) for name, day in _days(family) if how.friday or name != "fri"]
    whole = sum(DAY_SHARE[name] for name, _ in days)
    level = how.share * rng.uniform(0.9, 1.1)
    for name, day in days:
        times = list(_times(family, how, day, rng))
        weights = [rng.uniform(0.8, 1.2) * (1 - 0.12 * i) for i in range(len(times))]
        share = level * DAY_SHARE[name] / whole
        for (at, until), weight in zip(times, weights, strict=True):
            yield Wave(cut=cut, at=at, pieces=0, until=until), share * weight / sum(weights)


def _times(family: Family, how: CutWaves, day: ServiceDay, rng: Random) -> Iterator[tuple[datetime, datetime | None]]:
    """From and to of the waves of a day; the last one is served an hour at least."""
    if not how.every_min:
        yield day.opens - timedelta(hours=2), day.opens - timedelta(hours=1)
        return
    every = timedelta(minutes=_on_grid(how.every_min * family.waves_every))
    at = day.opens
    served = None if how.serve_min is None else timedelta(minutes=how.serve_min)
    while at + (served or timedelta(hours=1)) <= day.closes:
        yield at, None if served is None else at + served
        at += every + timedelta(minutes=rng.choice((0, 0, 15)))


def _on_grid(minutes: float) -> int:
    return max(2, round(minutes / GRID_MIN)) * GRID_MIN


def _filled(slots: list[tuple[Wave, float]], pieces: int) -> Iterator[Wave]:
    """The waves with their pieces, by largest remainder, one at least in each."""
    whole = sum(weight for _, weight in slots)
    exact = [pieces * weight / whole for _, weight in slots]
    given = [max(1, int(share)) for share in exact]
    order = sorted(range(len(slots)), key=lambda i: given[i] - exact[i])
    for turn in range(abs(pieces - sum(given))):
        more = pieces > sum(given)
        i = order[turn % len(order)] if more else max(range(len(slots)), key=lambda j: given[j])
        given[i] += 1 if more else -1
    for (wave, _), count in zip(slots, given, strict=True):
        yield wave.model_copy(update={"pieces": count})


def _orders(family: Family, rng: Random) -> Iterator[Order]:
    """Pieces promised for pick-up, a few at M and in proportion elsewhere."""
    days = [day for name, day in _days(family) if name != "fri"]
    for number in range(max(1, round(3 * family.scale))):
        day = days[number % len(days)]
        at = day.opens + timedelta(minutes=GRID_MIN * rng.randrange(-2, 12))
        cut = rng.choice(("pork butt", "packer brisket", "spare ribs"))
        promise = rng.choice((2000, 3000, 5000))
        yield Order(name=f"order {number + 1}", cut=cut, at=at, pieces=rng.randint(1, 4), broken_promise_cents=promise)
