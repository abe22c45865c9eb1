"""What one method made of one weekend, as a value that goes to JSON and back."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import Any

from scheduler.model.plan import Plan

Point = tuple[float, int | None, int | None]
"""Seconds since the start, best audited cost, bound; cents."""

GAPS = (0.05, 0.02, 0.01, 0.001)
"""Gaps of which the benchmark says when they were reached."""

WORTH_TELLING = 0.0005


@dataclass(frozen=True, slots=True)
class Made:
    """What a method answers: its best plan, when it had which cost, and a bound if it proves one."""

    plan: Plan | None
    found: tuple[tuple[float, int], ...] = ()
    """Seconds and cost of each better solution, where the method tells; cents."""
    bound_cents: int | None = None
    note: str = ""
    history: tuple[Point, ...] = ()
    more: dict[str, float | None] = field(default_factory=dict)
    """Further figures by name, such as those of the reshuffle."""


@dataclass(frozen=True, slots=True)
class Record:
    """One run: who, on what, and what came of it."""

    family: str
    variant: str
    seed: int
    method: str
    part: bool
    """True where the weekend is the part of it that a peer can express."""
    scenario_hash: str
    grid_min: int
    seconds: float
    """That the method was given."""
    took_s: float
    """Until its answer was there, its own setting up included."""
    first_s: float | None
    first_cents: int | None
    cents: int | None
    """Of its audited plan; None if it has none."""
    bound_cents: int | None
    gap: float | None
    """(cost - bound) / cost, both its own."""
    gap_s: dict[str, float | None]
    """Seconds until a gap was reached, by the gap in percent."""
    found: tuple[tuple[float, int], ...]
    """When it first had which cost."""
    memory_mb: int
    """Peak of its process, and of those that it started, together."""
    note: str
    more: dict[str, float | None]

    @property
    def case(self) -> str:
        """The weekend by name; the part of it is another one."""
        return f"{self.family}, {self.variant}, {self.seed}" + (" (part)" if self.part else "")

    def data(self) -> dict[str, Any]:
        """For JSON."""
        return asdict(self)

    @staticmethod
    def of(data: dict[str, Any]) -> Record:
        """From JSON; KeyError or TypeError if it is not one."""
        found = tuple((float(seconds), int(cents)) for seconds, cents in data["found"])
        return Record(**{**data, "found": found})


def percent(gap: float) -> str:
    """A gap as a key: "5", "0.1"."""
    return f"{gap * 100:g}"


def reached(history: tuple[Point, ...]) -> dict[str, float | None]:
    """When each gap was first known to be closed, by the plan and the bound of that moment."""
    found: dict[str, float | None] = {percent(gap): None for gap in GAPS}
    for seconds, cost, bound in history:
        if cost is None or bound is None:
            continue
        now = (cost - bound) / cost if cost else 0.0
        for gap in GAPS:
            if now <= gap and found[percent(gap)] is None:
                found[percent(gap)] = round(seconds, 2)
    return found


def thinned(found: tuple[tuple[float, int], ...]) -> tuple[tuple[float, int], ...]:
    """First, last, and in between only what is cheaper than the one before by a share worth telling."""
    kept: list[tuple[float, int]] = []
    for i, (seconds, cents) in enumerate(found):
        if not kept or i == len(found) - 1 or cents < kept[-1][1] * (1 - WORTH_TELLING):
            kept.append((seconds, cents))
    return tuple(kept)


def time_to(record: Record, cents: int) -> float | None:
    """Seconds until a run had a plan at that cost or below; None if it never had."""
    return next((seconds for seconds, cost in record.found if cost <= cents), None)
