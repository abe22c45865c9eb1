"""The rule of thumb of a kitchen without this tool: likely hours and a fixed buffer, counted back from each wave.

A yardstick, not a planner. `loading_list` counts back. Fires are lit a warm-up before a day's first load and kept until
its last; people are called in hour by hour, by the crew list (`call_in`).

Such a plan takes likely hours for a promise, so the audit finds breaches in it. The strict variant counts back with the
slow end of each range instead, and leaves out whatever would break a rule: its cost can be compared.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from scheduler.audit import audit
from scheduler.model.plan import Certificate, Cost, Plan
from scheduler.model.scenario import Scenario
from scheduler.solve.assemble import assemble
from scheduler.solve.board import Board, Placed
from scheduler.solve.call_in import call_in
from scheduler.solve.frame import Frame, Ints
from scheduler.solve.grid import Grid, build_grid
from scheduler.solve.hands import people_with
from scheduler.solve.loading_list import BUFFER_MIN, all_day, house_setpoints, loads_by_late, loads_by_likely


@dataclass(frozen=True, slots=True)
class Side:
    """One plan of a comparison."""

    name: str
    cost: Cost
    pieces_made: int
    pieces_short: int
    breaches: dict[str, int]
    """How often each rule is broken, by the code of the rule."""
    pieces_at_risk: int
    """Pieces in loads that a breach names."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """A plan beside the rule of thumb, as it is and made to keep the rules."""

    plan: Side
    by_thumb: Side
    by_thumb_kept: Side

    @property
    def saved_cents(self) -> int:
        """What the plan costs less than counting back does under the same rules."""
        return self.by_thumb_kept.cost.total - self.plan.cost.total


def count_back(scenario: Scenario, grid_min: int = 15, *, strict: bool = False, buffer_min: int = BUFFER_MIN) -> Plan:
    """The weekend by the rule of thumb, on a grid of `grid_min` minutes.

    As it is, it may break rules: audit it. With `strict` it counts back with late hours in place of likely ones and
    `buffer_min`, and leaves out what breaks a rule; the audit then passes, unless the counter can't be manned.
    """
    grid = build_grid(scenario, grid_min)
    certificate = Certificate(
        bound_cents=None, gap=None, grid_min=grid_min, seconds=0.0, stopped_by="rule of thumb", seed=0
    )
    if strict:
        # Nobody's rule says in which order to call people in, so the yardstick gets the better of two.
        plans = [_kept(grid, certificate, narrow_first=narrow_first) for narrow_first in (True, False)]
        return min(plans, key=lambda plan: (len(audit(plan, scenario)), plan.cost.total))
    board = loads_by_likely(grid, buffer_min)
    return assemble(_put_all(grid, _manned(grid, board), board.placed), certificate).plan


def compare(plan: Plan, scenario: Scenario) -> Comparison:
    """A plan of a scenario beside counting back, on the plan's own grid: cost by part, shorts, breaches by rule."""
    grid_min = plan.certificate.grid_min
    return Comparison(
        plan=side("the plan", plan, scenario),
        by_thumb=side("counting back", count_back(scenario, grid_min), scenario),
        by_thumb_kept=side("counting back, rules kept", count_back(scenario, grid_min, strict=True), scenario),
    )


def side(name: str, plan: Plan, scenario: Scenario) -> Side:
    """A plan's figures; breaches by the audit."""
    breaches = audit(plan, scenario)
    named = {code for breach in breaches for code in breach.loads}
    return Side(
        name=name,
        cost=plan.cost,
        pieces_made=sum(load.pieces for load in plan.loads),
        pieces_short=sum(short.pieces for short in plan.shorts),
        breaches=dict(sorted(Counter(breach.code for breach in breaches).items())),
        pieces_at_risk=sum(load.pieces for load in plan.loads if load.code in named),
    )


# fires and people --------------------------------------------------------------------------------------------------


def _manned(grid: Grid, board: Board, *, narrow_first: bool = True) -> Frame:
    """Fires for the loads of a board, and people called in for both, rules or no rules."""
    levels = _fires_for(board)
    asked = _put_all(grid, Frame(levels, ()), board.placed)
    return Frame(levels, call_in(asked, narrow_first=narrow_first))


def _put_all(grid: Grid, frame: Frame, loads: Iterable[Placed]) -> Board:
    board = Board.empty(grid, frame)
    for load in loads:
        board.put(load)
    return board


def _fires_for(board: Board) -> tuple[Ints, ...]:
    """Each fire from the first load of a service day until its last, and through pauses too short to start anew."""
    grid, weekend = board.grid, board.grid.scenario.weekend
    closes = sorted(grid.minute(weekend.local(day.closes)) for day in weekend.days)
    spans: dict[tuple[int, int], tuple[int, int]] = {}
    for load in board.placed:
        firebox = grid.places[board.spots[load.smoke_spot].place].firebox
        assert firebox is not None, "an oven is no rack of a smoker"
        day = sum(close < grid.ready_min[load.demand] for close in closes)
        late = grid.up(load.finish_step * grid.step_min + board.took(load).late_min)
        first, last = spans.get((firebox, day), (load.load_step, late))
        spans[firebox, day] = min(first, load.load_step), max(last, late)
    found = []
    for firebox, box in enumerate(grid.fireboxes):
        held = board.frame.levels[firebox]
        levels = np.zeros_like(held)
        pause = grid.up(box.warm_up_min) + max(1, grid.up(box.clean_out_min))
        before: int | None = None
        for first, last in sorted(span for (box_index, _), span in spans.items() if box_index == firebox):
            start = first if before is None or first - before > pause else min(before, first)
            levels[start:last] = held[start:last]
            before = last if before is None else max(before, last)
        found.append(levels)
    return tuple(found)


# the rules kept ----------------------------------------------------------------------------------------------------


def _kept(grid: Grid, certificate: Certificate, *, narrow_first: bool) -> Plan:
    """Counting back by late hours; loads that break a rule are left out until none does."""
    everyone = loads_by_late(grid, Frame(all_day(grid, house_setpoints(grid)), grid.shifts))
    # Now with the people who would be called in for that.
    frame = _manned(grid, everyone, narrow_first=narrow_first)
    loads = loads_by_late(grid, frame).placed
    while True:
        levels = _fires_for(_put_all(grid, frame, loads))
        board = _put_all(grid, frame.with_levels(levels), loads)
        bad = _unworkable(board)
        if not bad:
            made = assemble(board, certificate)
            bad = _handled_at(board, made.overfull) or _named(board, made.plan)
            if not bad:
                return made.plan
        loads = [load for load in loads if load not in bad]


def _unworkable(board: Board) -> list[Placed]:
    """Loads for which the people called in are not enough, or whose fire nobody can tend."""
    grid = board.grid
    anew = Board.empty(grid, board.frame)
    bad = [load for load in board.placed if not anew.try_put(load)]
    if bad:
        return bad
    able = people_with(grid, board.frame.shifts, frozenset({"fire"})) * grid.scenario.crew.fires_per_person
    fires = np.zeros(grid.steps, dtype=np.int64)
    for burn in board.frame.burns(grid):
        fires[max(0, burn.lit) : burn.out] += 1
    short = (fires > able) | (anew.hands.least("fire") < -1e-6)
    for burn in sorted(board.frame.burns(grid), key=lambda burn: (-burn.lit, -burn.firebox)):
        clean = grid.up(grid.fireboxes[burn.firebox].clean_out_min)
        if short[max(0, burn.lit - clean) : burn.out].any():
            # The fire lit last gives way, with the last of its loads.
            mine = [load for load in board.placed if _on(board, load, burn.firebox, burn.lit, burn.out)]
            return [max(mine, key=lambda load: (load.finish_step, load.load_step))] if mine else []
    return []


def _on(board: Board, load: Placed, firebox: int, first: int, last: int) -> bool:
    place = board.grid.places[board.spots[load.smoke_spot].place]
    return place.firebox == firebox and first <= load.load_step < last


def _handled_at(board: Board, steps: tuple[int, ...]) -> list[Placed]:
    """The cheapest load that takes hands at the first of the steps."""
    for step in steps:
        busy = [load for load in board.placed if _handled(board, load, step)]
        if busy:
            return [min(busy, key=lambda load: (load.pieces * board.grid.short_cents(load.demand), load.load_step))]
    return []


def _handled(board: Board, load: Placed, step: int) -> bool:
    grid = board.grid
    served = grid.touched(grid.ready_min[load.demand], grid.served_min[load.demand])
    return step in (load.load_step, load.wrap_step) or step in board.pull_steps(load) or step in served


def _named(board: Board, plan: Plan) -> list[Placed]:
    """The load that stands first in a breach of the audit, as it is on the board."""
    for breach in audit(plan, board.grid.scenario):
        for code in breach.loads:
            said = plan.load(code)
            for load in board.placed:
                demand = board.grid.demands[load.demand]
                at = board.grid.minute(said.load_at) == load.load_step * board.grid.step_min
                if (demand.cut, demand.wave) == (said.cut, said.wave) and at:
                    return [load]
    return []
