"""The search for a plan: first plans at once, then neighbourhood search, with the bound rising beside it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain
from math import inf
from random import Random
from threading import Event

import numpy as np

from scheduler.errors import InputError, Problem
from scheduler.model.plan import Plan, StoppedBy
from scheduler.model.scenario import Scenario
from scheduler.solve.assemble import merged
from scheduler.solve.board import Board
from scheduler.solve.bound import Bound
from scheduler.solve.checked import repaired
from scheduler.solve.crew_plan import cheaper_plans, crew_plan
from scheduler.solve.exact import TINY_CELLS, cells, prove, small
from scheduler.solve.frame import Frame
from scheduler.solve.grid import Grid, build_grid
from scheduler.solve.highs import Effort
from scheduler.solve.improve import Found, first_plans, found
from scheduler.solve.lines import REFIT_NODES, Lines
from scheduler.solve.progress import Listener, Progress, StopRule, certificate, gap_of, known_bound
from scheduler.solve.relief import explain
from scheduler.solve.roster import roster
from scheduler.solve.scout import scouted_plans
from scheduler.solve.second_search import SecondSearch, swap
from scheduler.solve.tidy import tidied
from scheduler.solve.why import overlooked

CHECK_GAIN, CHECK_LEAST_S = 0.01, 1.0
"""A board so much cheaper is made into an audited plan at once, if the last check is so many seconds ago."""
MUCH_BETTER = 0.9
"""A first plan that costs so much of the last one checked is checked at once."""
CHECK_EVERY_S = 6.0
"""Any cheaper board is, after so long."""
CHECK_EVERY_MOVES = 100
"""The same where the search counts moves."""
REPAIRS = 6
"""Times that hands are spared at steps whose work could not be shared out."""
NODES_PER_MOVE = 0.1
LOAD_LESS_CENTS = 40.0
"""A plan may cost so much more for each load less: a minute of somebody's time. Not so where it is proven cheapest."""
PROOF_SHARE, PROOF_LEAST_S = 0.25, 2.0
"""Share of the search's time, and least seconds, given to the proof of a small weekend."""
PROOF_GAP = 1e-5
"""Finer than what counts as proven, as the bound gives some cents away to rounding."""
PROOF_WORTH_S = 10.0
"""Seconds in which the proof of a weekend that is not tiny may come to something."""
CREW_SHARE = 0.5
"""Share of the search's time in which the cheapest crew of a small weekend is waited for."""
CREW_LEAST_S, SMALL_GAP = 0.5, 5e-4
"""Seconds left that are worth beginning another round with that crew, and the gap at which a round ends."""
MOVES_A_ROUND = 20
"""Such a round takes as long as so many moves."""
SECOND_SETUP_S = 1.5
"""What the second search takes to start, about: it should be done when the first one is."""
EXPLAIN_SHARE, EXPLAIN_LEAST_S = 0.1, 2.0
"""The same for finding out why pieces are short."""


@dataclass(frozen=True, slots=True)
class Kept:
    """A plan that passed the audit."""

    plan: Plan
    found: Found


class Search:
    """One search. Boards are compared by cost; only audited plans are kept."""

    def __init__(self, grid: Grid, stop: StopRule, seed: int, listener: Listener | None) -> None:
        self.grid = grid
        self.stop = stop
        self.seed = seed
        self.listener = listener
        self.rng = Random(seed)
        self.bound = Bound(grid)
        self.second: SecondSearch | None = None
        self.moves = 0
        self.best: Kept | None = None
        self._checked_s = 0.0
        self._checked_moves = 0
        self._checked_cents = inf

    def run(self) -> Plan:
        """The best audited plan when the stop rule says so."""
        if self.stop.moves is None:
            self.bound.start(self._search_s() - self.stop.elapsed)
            if not small(self.grid) and self.bound.crews is not None:
                seconds = self._search_s() - SECOND_SETUP_S
                self.second = SecondSearch(self.grid, self.seed + 1, seconds, self.bound.crews)
        try:
            reason = self._search()
        finally:
            self.bound.stop()
            if self.second is not None:
                self.second.stop()
        if self.stop.moves is not None:
            self.bound.work(max(1, int(self.stop.moves * NODES_PER_MOVE)))
        if self.best is not None and self._to_be_proven() and reason not in ("person", "proven"):
            reason = self._prove(self.best.found, reason)
        if self.best is None:
            self._check(self._idle())
        if reason not in ("person", "proven"):
            self._last_look()
        self._tidy(0.0 if reason == "proven" else LOAD_LESS_CENTS)
        return self._explained(self._signed(reason))

    def _to_be_proven(self) -> bool:
        """True for a small weekend, if the time that is left may do, or its crews were not looked at one by one."""
        enough = self.stop.moves is not None or self.stop.seconds * PROOF_SHARE >= PROOF_WORTH_S
        return small(self.grid) and (enough or cells(self.grid) <= TINY_CELLS or not self.bound.by_crew)

    def _prove(self, start: Found, reason: StoppedBy) -> StoppedBy:
        """A small weekend is solved to the end, where the time that is left allows."""
        if self.stop.moves is not None:
            effort = Effort(nodes=self.stop.moves, gap=PROOF_GAP)
        else:
            effort = Effort(seconds=max(PROOF_LEAST_S, self.stop.seconds * PROOF_SHARE), gap=PROOF_GAP)
        proof = prove(self.grid, start.board, effort, progress=lambda _: self.stop.person.is_set())
        self.bound.rise(proof.bound)
        if proof.cents < start.cents - 1e-6:
            self._check(Found(proof.board, proof.cents))
        gap = self._gap()
        return "proven" if gap is not None and gap <= self.stop.gap else reason

    def _explained(self, plan: Plan) -> Plan:
        """With the reason of each short, and what would help."""
        if self.best is None:
            return plan
        board = self.best.found.board
        if self.stop.moves is not None:
            return explain(plan, board, seed=self.seed, work=max(1, self.stop.moves // 10), stop=self.stop.person)
        seconds = max(EXPLAIN_LEAST_S, self.stop.seconds * EXPLAIN_SHARE)
        return explain(plan, board, seconds=seconds, seed=self.seed, stop=self.stop.person)

    def _search_s(self) -> float:
        """Seconds for the search itself: some are kept for what is done after it."""
        return self.stop.seconds * (1 - EXPLAIN_SHARE)

    def _time_is_up(self) -> StoppedBy | None:
        """As the stop rule says, but early enough for what is done after the search."""
        if self.stop.moves is None and self.stop.elapsed >= self._search_s():
            return "time"
        return self.stop.reason(self.moves, self._gap())

    def _search(self) -> StoppedBy:
        lines = Lines([*self._first(), *self._scouted()], self.rng)
        while True:
            reason = self._time_is_up()
            if reason is not None:
                break
            self.moves += 1
            left_s = self._search_s() - self.stop.elapsed if self.stop.moves is None else None
            lines.move(self._done(), left_s, lambda _: self.stop.person.is_set())
            if self.second is not None:
                swap(lines, self.second.exchange)
            if self._time_to_check(lines.best):
                self._check(lines.best)
        if lines.best.cents < self._checked_cents - 1e-6:
            self._check(lines.best)
        theirs = self.second.last() if self.second is not None and reason == "time" else None
        if theirs is not None and (self.best is None or theirs.cents < self.best.found.cents - 1e-6):
            self._check(theirs)
        return reason

    def _idle(self) -> Found:
        """A weekend on which nothing is cooked: what is left where nothing that can be cooked passes the audit."""
        cold = tuple(np.zeros(self.grid.steps, dtype=np.int64) for _ in self.grid.fireboxes)
        bare = Board.empty(self.grid, Frame(cold, ()))
        return found(Board.empty(self.grid, Frame(cold, roster(bare))))

    def _last_look(self) -> None:
        """All that is short once more together, with everyone and every fire."""
        better = None if self.best is None else overlooked(self.best.found.board)
        if better is not None:
            self._check(found(better))

    def _tidy(self, load_less_cents: float) -> None:
        """About the same in fewer loads."""
        if self.best is None:
            return
        board = self.best.found.board
        tidy = tidied(board, load_less_cents)
        passed = repaired(tidy, 0)
        fewer = len(merged(board.placed)) - len(tidy.placed)
        if passed is not None and passed[0].cost.total <= self.best.plan.cost.total + fewer * load_less_cents:
            self.best = Kept(passed[0], found(passed[1]))

    def _first(self) -> list[Found]:
        """Plans from nothing; the first is checked at once, so that there is a plan from the start, and much better
        ones as they come."""
        plans: list[Found] = []
        for plan in first_plans(self.grid):
            if plan.cents < self._checked_cents * MUCH_BETTER:
                self._check(plan)
            plans.append(plan)
            if self.stop.reason(0, None) is not None:
                return plans
        return plans

    def _scouted(self) -> list[Found]:
        """Plans with a cheap crew."""
        if self.stop.reason(0, None) is not None:
            return []
        seconds = self.stop.seconds if self.stop.moves is None else None
        if self.bound.by_crew:
            return self._with_crew(seconds)
        return list(scouted_plans(self.grid, seconds, self.stop.person))

    def _with_crew(self, seconds: float | None) -> list[Found]:
        """Plans of a small weekend with the crew that costs least by its bound; the first is checked at once."""
        first = crew_plan(self.grid, self.bound.crew(None if seconds is None else seconds * CREW_SHARE))

        def effort() -> Effort | None:
            if self.stop.moves is not None:
                self.moves += MOVES_A_ROUND
                return Effort(gap=SMALL_GAP, nodes=REFIT_NODES) if self.moves <= self.stop.moves else None
            left_s = self._search_s() - self.stop.elapsed
            return None if left_s < CREW_LEAST_S or self._enough(0.0) else Effort(gap=SMALL_GAP, seconds=left_s)

        plans = []
        for plan in chain([first], cheaper_plans(first, effort, self._enough)):
            plans.append(plan)
            if self.best is None or plan.cents < self.best.found.cents:
                self._check(plan)
        return plans

    def _enough(self, _: float) -> bool:
        """Asked by HiGHS now and then: True if a person or the bound ends the search."""
        return self.stop.person.is_set() or self.stop.reason(0, self._gap()) == "proven"

    def _done(self) -> float:
        """Share of the search that is over."""
        if self.stop.moves is not None:
            return min(1.0, self.moves / max(1, self.stop.moves))
        return min(1.0, self.stop.elapsed / max(0.1, self.stop.seconds))

    def _time_to_check(self, best: Found) -> bool:
        if best.cents >= self._checked_cents - 1e-6:
            return False
        much = best.cents < self._checked_cents * (1 - CHECK_GAIN)
        if self.stop.moves is not None:
            return much or self.moves - self._checked_moves >= CHECK_EVERY_MOVES
        since = self.stop.elapsed - self._checked_s
        return since >= CHECK_EVERY_S or (much and since >= CHECK_LEAST_S)

    def _check(self, candidate: Found) -> None:
        """Make a plan of a board and audit it; keep it if it is the cheapest.

        Where its work can't be shared out, hands are spared there in a copy and loads placed anew; the search itself
        goes on from the board as it was.
        """
        self._checked_s, self._checked_moves, self._checked_cents = self.stop.elapsed, self.moves, candidate.cents
        passed = repaired(candidate.board, REPAIRS)
        if passed is not None and (self.best is None or passed[0].cost.total < self.best.plan.cost.total):
            self.best = Kept(passed[0], found(passed[1]))
            self._tell("")

    def _gap(self) -> float | None:
        if self.best is None:
            return None
        return gap_of(self.best.plan.cost.total, self.bound.cents)

    def _tell(self, note: str) -> None:
        if self.listener is None or self.best is None:
            return
        plan = self.best.plan
        short = sum(s.pieces for s in plan.shorts)
        bound = known_bound(plan.cost.total, self.bound.cents)
        self.listener(Progress(self.stop.elapsed, plan.cost.total, bound, self._gap(), short, note))

    def _signed(self, reason: StoppedBy) -> Plan:
        if self.best is None:
            raise InputError([_unmanned(self.grid.scenario)])
        plan = self.best.plan
        seconds = 0.0 if self.stop.moves is not None else self.stop.elapsed
        signed = certificate(plan.cost.total, self.bound.cents, self.grid.step_min, seconds, reason, self.seed)
        return plan.model_copy(update={"certificate": signed})


def _unmanned(scenario: Scenario) -> Problem:
    days = ", ".join(f"{day.opens:%a}" for day in scenario.weekend.days if day.counter_hands)
    return Problem(
        "crew.toml",
        "the crew",
        "person",
        f"no shifts can be called in that man the counter from opening to closing ({days})",
        "give more people the counter skill, add shift patterns that cover the service hours, or lower counter_hands",
    )


def plan_weekend(
    scenario: Scenario,
    *,
    seconds: float = 60.0,
    seed: int = 0,
    grid_min: int = 15,
    work: int | None = None,
    listener: Listener | None = None,
    stop: Event | None = None,
) -> Plan:
    """Plan a weekend.

    Stops after `seconds`, or, repeatably, after `work` moves; earlier when the gap is closed or `stop` is set.
    `listener` hears of each better plan. The plan has passed the audit. InputError if the counter can't be manned at
    all.
    """
    rule = StopRule(seconds=seconds, moves=work, person=stop or Event())
    return Search(build_grid(scenario, grid_min), rule, seed, listener).run()
