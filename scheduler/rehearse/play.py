"""Plays a whole plan many times: cooks early or late, fires that run cool, people who are slow.

Each piece's finish is drawn from its range; pieces of one burn share a part of their luck (`scheduler.forecast.cooks`).
What is put on or wrapped late is done late. A piece that is not ready in time loses its margin by the share of its
serving time that it misses.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from scheduler.forecast.cooks import done_after, mixed_luck
from scheduler.forecast.special import Floats
from scheduler.forecast.supply import burn_of
from scheduler.model.clock import elapsed_min
from scheduler.model.plan import Load, Plan
from scheduler.model.scenario import Scenario
from scheduler.model.weekend import Demand
from scheduler.rehearse.hands import Delays, played_tasks

RUNS = 1000
STEP_MIN = 5
GRACE_MIN = 0.5
"""Less than this is not late."""


@dataclass(frozen=True)
class WaveOdds:
    """One wave or order."""

    cut: str
    wave: str
    pieces: int
    ready: float
    """Odds that all of its pieces are ready by its time."""
    most_ready: float
    """Odds that at least nine pieces in ten are."""
    late_min: float
    """How late the last piece is in the worst of ten weekends; 0 or below if it is not."""
    lost_cents: float
    """Margin lost by being late, on average."""


@dataclass(frozen=True)
class HoldOdds:
    """One holding cabinet."""

    name: str
    overfull: float
    """Odds that it has to take more than it holds at some time."""
    fullest: float
    """Share that is taken at the fullest moment, in the worst of ten weekends."""


@dataclass(frozen=True)
class Rehearsal:
    """What came of all runs."""

    runs: int
    waves: tuple[WaveOdds, ...]
    holds: tuple[HoldOdds, ...]
    all_ready: float
    """Odds that every wave and order is ready in time."""
    wrap_wait_min: tuple[float, float, float]
    """Longest wait at the wrap table: 10th, 50th and 90th percentile."""
    risk_cents: float
    """Margin lost by being late, on average."""
    bad_risk_cents: float
    """The same in the worst of ten weekends."""


def rehearse(plan: Plan, scenario: Scenario, runs: int = RUNS, seed: int = 0) -> Rehearsal:
    """Play a plan so many times. KeyError if it names what the scenario does not know."""
    rng = np.random.default_rng(seed)
    delays = played_tasks(plan, scenario, runs, rng)
    ready = _ready(plan, scenario, delays, runs, rng)
    demands = {(d.cut, d.wave): d for d in scenario.weekend.demands()}
    waves, late, lost = [], np.zeros(runs, dtype=np.bool_), np.zeros(runs)
    for key, demand in demands.items():
        loads = [load for load in plan.loads if (load.cut, load.wave) == key]
        if not loads:
            continue
        after = np.concatenate([ready[load.code] for load in loads]) - _minute(scenario, demand)
        mine = _lost_cents(scenario, demand, after)
        waves.append(_wave(demand, after, mine))
        late |= (after > GRACE_MIN).any(axis=0)
        lost += mine
    wait = np.percentile(delays.worst_wrap_wait, (10, 50, 90)) if runs else np.zeros(3)
    return Rehearsal(
        runs=runs,
        waves=tuple(waves),
        holds=_holds(plan, scenario, ready, runs),
        all_ready=float(1 - late.mean()),
        wrap_wait_min=(float(wait[0]), float(wait[1]), float(wait[2])),
        risk_cents=float(lost.mean()),
        bad_risk_cents=float(np.percentile(lost, 90)),
    )


def _minute(scenario: Scenario, demand: Demand) -> int:
    return scenario.weekend.timeline.minute(demand.ready_by_at)


def _ready(plan: Plan, scenario: Scenario, delays: Delays, runs: int, rng: np.random.Generator) -> dict[str, Floats]:
    """Minute at which each piece (piece, run) of each load is rested."""
    clock = scenario.weekend.timeline
    burns: dict[int, Floats] = defaultdict(lambda: rng.standard_normal(runs))
    found = {}
    for load in plan.loads:
        early, likely, late = (
            elapsed_min(load.finish_from_at, at) for at in (load.early_done_at, load.likely_done_at, load.late_done_at)
        )
        common = burns[burn_of(plan, scenario, load)]
        own = rng.standard_normal((load.pieces + 1, runs))
        luck = mixed_luck(common[None, :], own[:1], own[1:])
        start = clock.minute(load.finish_from_at) + _delay(load, delays)
        done = start + np.maximum(done_after(early, likely, late, luck), 1.0)
        found[load.code] = done + scenario.menu.cut(load.cut).rest_min
    return found


def _delay(load: Load, delays: Delays) -> Floats:
    return delays.loaded[load.code] if load.wrap_at is None else delays.wrapped[load.code]


def _lost_cents(scenario: Scenario, demand: Demand, after: Floats) -> Floats:
    """Margin lost in each run: a piece loses the share of its serving time that it misses."""
    served = max(1, elapsed_min(demand.ready_by_at, demand.served_until_at))
    worth = demand.short_cents(scenario.menu.cut(demand.cut).margin_cents)
    return np.asarray(worth * np.clip(after / served, 0.0, 1.0).sum(axis=0))


def _wave(demand: Demand, after: Floats, lost: Floats) -> WaveOdds:
    in_time = after <= GRACE_MIN
    most = np.ceil(0.9 * len(after))
    return WaveOdds(
        cut=demand.cut,
        wave=demand.wave,
        pieces=len(after),
        ready=float(in_time.all(axis=0).mean()),
        most_ready=float((in_time.sum(axis=0) >= most).mean()),
        late_min=float(np.percentile(after.max(axis=0), 90)),
        lost_cents=float(lost.mean()),
    )


def _holds(plan: Plan, scenario: Scenario, ready: dict[str, Floats], runs: int) -> tuple[HoldOdds, ...]:
    clock = scenario.weekend.timeline
    last = max((clock.minute(load.served_until_at) for load in plan.loads), default=0)
    steps = last // STEP_MIN + 2
    found = []
    for cabinet in scenario.site.hold_cabinets:
        change = np.zeros(runs * steps)
        row = np.arange(runs) * steps
        mine = [load for load in plan.loads if load.hold_place == cabinet.name]
        for load in mine:
            size, until = scenario.menu.cut(load.cut).hold_spaces, clock.minute(load.served_until_at)
            for piece in ready[load.code]:
                came = np.clip(piece, 0, until)
                # Up to the next step, as a piece that goes makes room for one that comes within the same minutes.
                change[row + np.ceil(came / STEP_MIN).astype(np.int64)] += size
                change[row + -(-until // STEP_MIN)] -= size
        if mine:
            fullest = np.cumsum(change.reshape(runs, steps), axis=1).max(axis=1)
            share = fullest / cabinet.spaces
            over = float((fullest > cabinet.spaces + 1e-9).mean())
            found.append(HoldOdds(cabinet.name, over, float(np.percentile(share, 90))))
    return tuple(found)
