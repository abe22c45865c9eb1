"""Cooks that were: how long the uncertain stage of a load took, or how long at least."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from scheduler.errors import Problem


@dataclass(frozen=True, slots=True)
class Cook:
    """The uncertain stage of one load: from the wrap (or from loading where it was not wrapped) to done."""

    cut: str
    recipe: str
    minutes: float
    done: bool
    """False where it was pulled too early or its fire failed: it would have taken longer than `minutes`."""
    weight_lb: float
    smoker: str
    """Smoker or oven in which the stage ended."""
    rack: str
    """Empty for an oven, or where nobody wrote it down."""
    offset_f: int
    """Offset of that rack; 0 for an oven."""
    at: datetime
    """When it began."""
    planned: tuple[int, int, int] | None = None
    """Early, likely and late of the stage as planned, minutes; None where only the menu says it."""
    by: str = ""
    """Who had the pit; empty where nobody wrote it down."""
    said: str = ""
    """Where it is written, such as "cooks.csv, line 12"."""


@dataclass(frozen=True, slots=True)
class Cooks:
    """Cooks in order of time, what could not be read, and what had to be guessed."""

    cooks: tuple[Cook, ...] = ()
    bad: tuple[Problem, ...] = ()
    notes: tuple[str, ...] = ()
