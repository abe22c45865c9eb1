"""What a mishap costs, in money: against the old plan, and against doing nothing."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.model.plan import Plan
from scheduler.reshuffle.baseline import Baseline, nothing_done
from scheduler.reshuffle.basis import Basis
from scheduler.reshuffle.candidate import Candidate, meat_cents, plain_cents


@dataclass(frozen=True, slots=True)
class Money:
    """Cents."""

    old: int
    """Cost of the old plan, as it was to be."""
    new: int
    """Cost of the new one."""
    late: int
    """Margin lost because loads are ready only after their wave has begun."""
    meat: int
    """Raw cost of what was thrown away or left since the old plan."""
    nothing: int
    """What doing nothing would cost more than the new plan."""

    @property
    def lost(self) -> int:
        """Lost against the old plan."""
        return self.new - self.old + self.late + self.meat


def money(basis: Basis, new: Plan, candidate: Candidate, idle: Baseline | None = None) -> Money:
    """The sums for a new plan."""
    state = basis.state
    menu = state.scenario.menu
    known = sum(loss.pieces * menu.cut(loss.cut).cost_cents for loss in state.plan.losses)
    meat = sum(loss.pieces * menu.cut(loss.cut).cost_cents for loss in new.losses) - known
    late = round(sum(way.late_cents for way in candidate.chosen.ways))
    # Both on the board, so that what is over and the same in both cancels out.
    mine = plain_cents(basis, candidate.board) + late + meat_cents(basis, candidate.chosen)
    idle = idle or nothing_done(basis)
    return Money(state.plan.cost.total, new.cost.total, late, meat, round(idle.cents - mine))
