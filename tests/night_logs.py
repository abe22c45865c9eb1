"""Random logs of a night for a plan: failures, delays, absences, readings. Seeded, so that they repeat."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from random import Random

from scheduler.model.clock import add_min, elapsed_min
from scheduler.model.log import (
    AnyEvent,
    Arrived,
    Delivered,
    Discarded,
    Done,
    Down,
    Held,
    Lit,
    Loaded,
    Log,
    Missing,
    Moved,
    Ordered,
    Probe,
    Pulled,
    Sold,
    Up,
    Weather,
    WoodLeft,
    Wrapped,
)
from scheduler.model.plan import Load, Plan
from scheduler.model.scenario import Scenario


class Night:
    """Makes events of one night, up to a moment."""

    def __init__(self, plan: Plan, scenario: Scenario, rng: Random) -> None:
        self.plan = plan
        self.scenario = scenario
        self.rng = rng
        first = min(fire.lit_at for fire in plan.fires)
        last = max(load.served_until_at for load in plan.loads)
        self.at = add_min(first, rng.randint(0, elapsed_min(first, last)))

    def before(self, most_min: int = 240) -> datetime:
        """Some time up to the moment."""
        return add_min(self.at, -self.rng.randint(0, most_min))

    def later(self) -> datetime | None:
        """When something is over, if anybody knows."""
        return add_min(self.at, self.rng.randint(1, 600)) if self.rng.random() < 0.5 else None

    def load(self) -> Load:
        """A load, mostly one that is on."""
        on = [load for load in self.plan.loads if load.load_at < self.at < load.late_done_at]
        return self.rng.choice(on if on and self.rng.random() < 0.8 else list(self.plan.loads))

    def place(self) -> str:
        """Anything that can fail."""
        site = self.scenario.site
        kinds = (site.fireboxes, site.smokers, site.ovens, site.rest_shelves, site.hold_cabinets)
        return self.rng.choice([place.name for kind in kinds for place in kind])

    def person(self) -> str:
        """Somebody, mostly somebody on shift."""
        on = [s.person for s in self.plan.shifts if s.starts_at <= self.at < s.ends_at]
        people = [person.name for person in self.scenario.crew.people]
        return self.rng.choice(on if on and self.rng.random() < 0.7 else people)

    def cut(self) -> str:
        """A cut of the menu."""
        return self.rng.choice(self.plan.loads).cut

    def near(self, moment: datetime) -> datetime:
        """About a planned time, not after the moment."""
        return min(self.at, add_min(moment, self.rng.randint(-45, 90)))

    def moved(self) -> Moved:
        """A load on a rack somewhere else."""
        smoker = self.rng.choice(self.scenario.site.smokers)
        rack = self.rng.choice(smoker.racks).name
        return Moved(at=self.before(120), load=self.load().code, place=smoker.name, rack=rack)

    def ordered(self, number: int) -> Ordered:
        """A new order within service."""
        wave = self.rng.choice(self.scenario.weekend.waves)
        pickup = self.scenario.weekend.local(wave.at) + timedelta(minutes=self.rng.choice((0, 30)))
        pieces = self.rng.randint(1, 4)
        return Ordered(at=self.before(), name=f"late table {number}", cut=wave.cut, pieces=pieces, pickup=pickup)

    def event(self, number: int) -> AnyEvent:
        """One event of any kind."""
        rng, load = self.rng, self.load()
        wrap = load.wrap_at or load.load_at
        makers: list[tuple[int, Callable[[], AnyEvent]]] = [
            (6, lambda: Down(at=self.before(90), place=self.place(), until=self.later())),
            (1, lambda: Up(at=self.before(60), place=self.place())),
            (5, lambda: Missing(at=self.before(120), person=self.person(), until=self.later())),
            (2, lambda: Arrived(at=self.before(120), person=self.person())),
            (3, lambda: Probe(at=self.before(30), load=load.code, temp_f=rng.randint(45, 210))),
            (1, lambda: Probe(at=self.before(30), load=load.code, temp_f=rng.randint(45, 210), position="edge")),
            (2, lambda: Done(at=self.near(load.likely_done_at), load=load.code)),
            (1, lambda: Pulled(at=self.near(load.early_done_at), load=load.code)),
            (3, lambda: Loaded(at=self.near(load.load_at), load=load.code)),
            (2, lambda: Wrapped(at=self.near(wrap), load=load.code)),
            (1, self.moved),
            (1, lambda: Held(at=self.before(60), load=load.code)),
            (1, lambda: Discarded(at=self.before(60), load=load.code, pieces=rng.randint(1, 3), why="dropped")),
            (2, lambda: Delivered(at=self.before(), cut=self.cut(), missing=rng.randint(1, 5))),
            (2, lambda: self.ordered(number)),
            (1, lambda: Lit(at=self.near(self.plan.fires[0].lit_at), place=self.plan.fires[0].firebox)),
            (1, lambda: WoodLeft(at=self.before(), lb=rng.randint(50, 900))),
            (1, lambda: Weather(at=self.before(), night=rng.choice(("mild", "cold", "cold and windy")))),
            (1, lambda: Sold(at=self.before(), cut=self.cut(), portions=rng.randint(0, 200))),
        ]
        return rng.choices([make for _, make in makers], [weight for weight, _ in makers])[0]()


def random_log(plan: Plan, scenario: Scenario, seed: int) -> tuple[Log, datetime]:
    """A log of one to five events, and the moment at which it is read."""
    rng = Random(seed)
    night = Night(plan, scenario, rng)
    events = [night.event(number) for number in range(rng.randint(1, 5))]
    return Log(tuple(sorted(events, key=lambda event: event.at.timestamp()))), night.at
