"""What there is to sell through a service day, portion by portion, in many draws at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from scheduler.forecast.cooks import done_after, mixed_luck
from scheduler.forecast.special import Floats
from scheduler.model.clock import elapsed_min
from scheduler.model.menu import Cut
from scheduler.model.plan import Load, Plan
from scheduler.model.scenario import Scenario
from scheduler.model.weekend import ServiceDay, order_of

STEP_MIN = 5
AFTER_MIN = 120
"""The line at closing is still served for so long."""
MOST_GROUPS = 12
"""Pieces of a large load are drawn in so many groups."""


@dataclass(frozen=True)
class Lot:
    """Portions of one cut that become ready together; minutes from opening."""

    cut: str
    portions: int
    early_min: float
    likely_min: float
    late_min: float
    until_min: float
    """From here on it is not sold: its hold limit, or closing."""
    burn: int = -1
    """Lots of one burn share a part of their luck; -1 for a lot that is ready at its time for sure."""
    load: str = ""
    """Lots of one load share more of it."""


@dataclass(frozen=True)
class DaySupply:
    """All lots of a service day."""

    lots: tuple[Lot, ...]

    def portions(self, cut: str) -> int:
        """Portions of a cut in all."""
        return sum(lot.portions for lot in self.lots if lot.cut == cut)

    def more(self, cut: Cut, pieces: int) -> DaySupply:
        """The same with so many more pieces of a cut, spread over its lots as they are."""
        mine = [lot for lot in self.lots if lot.cut == cut.name]
        whole = sum(lot.portions for lot in mine)
        if not whole:
            return self
        factor = 1 + pieces * cut.portions / whole
        lots = tuple(replace(x, portions=round(x.portions * factor)) if x.cut == cut.name else x for x in self.lots)
        return DaySupply(lots)

    def earlier(self, minutes: float) -> DaySupply:
        """The same counted from an opening so many minutes earlier, with the same meat at the same times."""
        times = ("early_min", "likely_min", "late_min", "until_min")
        return DaySupply(tuple(replace(x, **{t: getattr(x, t) + minutes for t in times}) for x in self.lots))

    def draw(self, cuts: Sequence[str], steps: int, count: int, rng: np.random.Generator) -> tuple[Floats, Floats]:
        """Portions made by the end of each step (cut, draw, step), and portions past their time (cut, step)."""
        made = np.zeros((len(cuts), count * steps))
        gone = np.zeros((len(cuts), steps))
        burns = {burn: rng.standard_normal(count) for burn in sorted({lot.burn for lot in self.lots})}
        loads = {load: rng.standard_normal(count) for load in sorted({lot.load for lot in self.lots})}
        row = np.arange(count) * steps
        for lot in self.lots:
            if lot.cut not in cuts:
                continue
            cut = cuts.index(lot.cut)
            luck = np.zeros(count)
            if lot.burn >= 0:
                luck = mixed_luck(burns[lot.burn], loads[lot.load], rng.standard_normal(count))
            ready = done_after(lot.early_min, lot.likely_min, lot.late_min, luck)
            step = np.clip(np.ceil(ready / STEP_MIN), 0, steps).astype(np.int64)
            there = step < steps
            made[cut, (row + np.minimum(step, steps - 1))[there]] += lot.portions
            until = int(lot.until_min // STEP_MIN)
            if 0 <= until < steps:
                gone[cut, until] += lot.portions
        return np.cumsum(made.reshape(len(cuts), count, steps), axis=2), np.cumsum(gone, axis=1)


def from_waves(scenario: Scenario, day: ServiceDay) -> DaySupply:
    """Every wave of the day ready at its time, as weekend.toml has it. Orders are not for the line."""
    lots = []
    closes = _minutes(day.opens, day.closes)
    for wave in scenario.weekend.waves:
        if scenario.weekend.day_of(wave.at) is not day or scenario.weekend.wave_until(wave) <= day.opens:
            continue
        cut = scenario.menu.cut(wave.cut)
        at, until = _minutes(day.opens, wave.at), _minutes(day.opens, scenario.weekend.wave_until(wave))
        finish = cut.recipes[0].finish
        held = at + max(0, cut.hold_max_min - (finish.late_min - finish.early_min))
        portions = round(wave.pieces * cut.portions)
        lots.append(Lot(cut.name, portions, at, at, at, min(max(until, held), closes + AFTER_MIN)))
    return DaySupply(tuple(lots))


def from_plan(plan: Plan, scenario: Scenario, day: ServiceDay) -> DaySupply:
    """Every load of a plan for the day's waves, ready when it is done and rested."""
    opens, closes = scenario.weekend.local(day.opens), scenario.weekend.local(day.closes)
    lots: list[Lot] = []
    for load in plan.loads:
        served, ready = elapsed_min(opens, load.served_until_at), elapsed_min(opens, load.ready_by_at)
        if order_of(load.wave) or served <= 0 or ready >= elapsed_min(opens, closes):
            continue
        lots += _lots(plan, scenario, load, opens)
    return DaySupply(tuple(lots))


def burn_of(plan: Plan, scenario: Scenario, load: Load) -> int:
    """Which burn decides when a load is done: that of its finish place; for an oven, that of its smoker."""
    smokers = {smoker.name: smoker.firebox for smoker in scenario.site.smokers}
    firebox = smokers.get(load.finish_place, smokers.get(load.smoker))
    for number, fire in enumerate(plan.fires):
        burns_min = elapsed_min(fire.lit_at, fire.out_at)
        if fire.firebox == firebox and 0 <= elapsed_min(fire.lit_at, load.load_at) <= burns_min:
            return number
    return len(plan.fires)


def _lots(plan: Plan, scenario: Scenario, load: Load, opens: datetime) -> list[Lot]:
    cut = scenario.menu.cut(load.cut)
    early, likely, late = (
        elapsed_min(opens, at) + cut.rest_min for at in (load.early_done_at, load.likely_done_at, load.late_done_at)
    )
    held = elapsed_min(opens, load.hold_from_at) + cut.hold_max_min
    until = max(elapsed_min(opens, load.served_until_at), held)
    burn = burn_of(plan, scenario, load)
    groups = min(load.pieces, MOST_GROUPS)
    sizes = [load.pieces // groups + (i < load.pieces % groups) for i in range(groups)]
    return [Lot(load.cut, round(n * cut.portions), early, likely, late, until, burn, load.code) for n in sizes]


def _minutes(start: datetime, end: datetime) -> float:
    return (end - start) / timedelta(minutes=1)
