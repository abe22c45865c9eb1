"""Small values that steer a search and that it tells: when to stop, and how it stands. The search itself never
prints.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from threading import Event

from scheduler.model.plan import Certificate, StoppedBy


@dataclass(frozen=True, slots=True)
class Progress:
    """How a search stands."""

    seconds: float
    cost_cents: int | None
    bound_cents: int | None
    gap: float | None
    pieces_short: int | None
    note: str


Listener = Callable[[Progress], None]


@dataclass(slots=True)
class StopRule:
    """Ends a search: after some seconds, after some moves (repeatable), when the gap is closed, or when a person says
    so.
    """

    seconds: float
    moves: int | None = None
    gap: float = 1e-4
    person: Event = field(default_factory=Event)
    started: float = field(default_factory=time.monotonic)

    @property
    def elapsed(self) -> float:
        """Seconds since the start."""
        return time.monotonic() - self.started

    def reason(self, moves: int, gap: float | None) -> StoppedBy | None:
        """Why to stop now; None to go on."""
        if self.person.is_set():
            return "person"
        if gap is not None and gap <= self.gap:
            return "proven"
        if self.moves is not None:
            return "work" if moves >= self.moves else None
        return "time" if self.elapsed >= self.seconds else None


def known_bound(cost_cents: int, bound_cents: int | None) -> int | None:
    """A bound of a plan; None where it says no more than that nothing costs less than nothing."""
    return None if bound_cents is None or (cost_cents and not bound_cents) else min(bound_cents, cost_cents)


def gap_of(cost_cents: int, bound_cents: int | None) -> float | None:
    """(cost - bound) / cost, 0 where the cost is 0; None where no bound is known."""
    bound = known_bound(cost_cents, bound_cents)
    if bound is None:
        return None
    return (cost_cents - bound) / cost_cents if cost_cents else 0.0


def certificate(
    cost_cents: int, bound_cents: int | None, grid_min: int, seconds: float, stopped_by: StoppedBy, seed: int
) -> Certificate:
    """The certificate of a finished plan."""
    bound = known_bound(cost_cents, bound_cents)
    return Certificate(
        bound_cents=bound,
        gap=gap_of(cost_cents, bound),
        grid_min=grid_min,
        seconds=round(seconds, 1),
        stopped_by=stopped_by,
        seed=seed,
    )
