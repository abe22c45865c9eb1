"""How many pieces of each cut to cook: demand, racks, hold, hands and fires traded in one search."""

from __future__ import annotations

from scheduler.quantities.settled import (
    Settled,
    expected_cents,
    newsvendor_then_plan,
    plan_quantities,
    settle,
    with_trials,
)

__all__ = ["Settled", "expected_cents", "newsvendor_then_plan", "plan_quantities", "settle", "with_trials"]
