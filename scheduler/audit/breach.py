"""What the audit finds."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Breach:
    """One rule that a plan breaks, in one plain sentence."""

    code: str
    """Stable name of the rule, such as "rack-overfull"; a key of `scheduler.audit.rules.RULES`."""
    sentence: str
    loads: tuple[str, ...] = ()
    """Codes of the loads concerned."""
    at: datetime | None = None
    """When it first shows, in the kitchen's time zone; None where it has no time."""
