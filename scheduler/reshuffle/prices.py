"""The price of each changed instruction.

Common practice, no source: who was told 5:15 and hears 5:30 shrugs, another smoker has to be explained, another shift
is a phone call in the night. They decide between plans that cost about the same; they stand apart from a plan's cost.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ChangePrice:
    """Cents for each changed instruction."""

    time: float = 30.0
    """A load's loading or wrap at another time."""
    place: float = 120.0
    """On another rack or to another place to finish."""
    wave: float = 30.0
    """For another wave."""
    pieces: float = 20.0
    """Another number of pieces."""
    load: float = 120.0
    """A load that nobody was told of, or one told that is not to be."""
    call: float = 1500.0
    """Somebody called in who was not to come."""
    off: float = 800.0
    """Somebody told not to come."""
    fire: float = 200.0
    """A burn lit or let out at another time."""


PRICES = ChangePrice()
NONE = ChangePrice(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
