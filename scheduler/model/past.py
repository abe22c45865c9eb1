"""What is fixed when a plan is changed on the way: the past as logged, and what is in people's hands.

Minutes are elapsed minutes since the weekend's `plan_from`, as in the audit and the solver. `from_min` is the
moment from which everything may change.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from scheduler.model.base import Frozen, Name
from scheduler.model.plan import Loss, Task

Minute = int
Spread = tuple[Minute, Minute, Minute]
"""Early, likely, late."""


class Spot(Frozen):
    """A rack of a smoker, or an oven (whose rack is None)."""

    place: Name
    rack: Name | None


class Stopped(Frozen):
    """A load was handed to another spot at a minute."""

    at_min: Minute
    spot: Spot


class Begun(Frozen):
    """A load that is on, or was."""

    code: str
    cut: Name
    recipe: Name
    wave: str
    pieces: Annotated[int, Field(ge=1)]
    """Less those that were thrown away before."""
    load_min: Minute
    first: Spot
    wrap_min: Minute | None
    """None where it is not wrapped, or not yet."""
    finish: Spot | None
    """Where it went at its wrap; None before it."""
    stops: tuple[Stopped, ...] = ()
    done: bool = False
    """Pulled, or past its late time."""
    spread: Spread
    """Not yet wrapped, but to be: minutes from the wrap to done at the spot where it is. Else: when it is done."""
    window: tuple[Minute, Minute] | None = None
    """First and last minute for the wrap still to come."""
    dead_min: Minute | None = None
    """Since when the fire under it is dead; None where it burns."""
    act_by_min: Minute | None = None
    """When it may be too cold, in a dead smoker."""
    leave_by_min: Minute | None = None
    """When it is thrown away if it is still in a dead smoker."""
    rule: str = ""
    """The food-safety rule of that limit."""
    rest_place: Name | None = None
    hold_place: Name | None = None

    @property
    def spot(self) -> Spot:
        """Where it is."""
        last = self.finish or self.first
        after = self.wrap_min if self.wrap_min is not None else self.load_min
        later = [stop.spot for stop in self.stops if stop.at_min >= after]
        return later[-1] if later else (self.stops[-1].spot if self.stops and self.wrap_min is None else last)

    @property
    def waits_for_wrap(self) -> bool:
        """True if it is still to be wrapped."""
        return self.window is not None


class Burning(Frozen):
    """A burn that was lit before."""

    firebox: Name
    lit_min: Minute
    out_min: Minute | None
    """None while it burns."""
    setpoints: tuple[tuple[Minute, int], ...]
    """(from minute, F) of those in force before `from_min`; the first at least."""


class Running(Frozen):
    """A shift that began before, with its hours as they were."""

    code: str
    person: Name
    pattern: Name
    start_min: Minute
    end_min: Minute


class Counter(Frozen):
    """No more people than this can stand at the counter for a while, whoever is called."""

    from_min: Minute
    until_min: Minute
    most: int


class Past(Frozen):
    """All that is fixed."""

    from_min: Minute
    helped_min: Minute = 0
    """Who is missing cannot be replaced before this, so fires may burn and loads come to done with nobody there."""
    counter: tuple[Counter, ...] = ()
    begun: tuple[Begun, ...] = ()
    fires: tuple[Burning, ...] = ()
    shifts: tuple[Running, ...] = ()
    cut_short: tuple[Running, ...] = ()
    """Shifts, begun or to come, whose hours are not those of their pattern because somebody comes late or leaves."""
    tasks: tuple[Task, ...] = ()
    losses: tuple[Loss, ...] = ()

    def of(self, code: str, part_of: str) -> Begun | None:
        """What a load was when it was begun: itself, or the load that it is parted from now; None if it was not."""
        return self.load(code) or self.load(part_of)

    def load(self, code: str) -> Begun | None:
        """The begun load of that code, or None."""
        return next((begun for begun in self.begun if begun.code == code), None)
