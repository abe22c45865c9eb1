"""First plans by a rule: what has begun goes on where it can, the rest as planned as far as it fits."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from scheduler.reshuffle.basis import Basis
from scheduler.reshuffle.candidate import Candidate, built, chosen_ways, opened
from scheduler.reshuffle.prices import ChangePrice
from scheduler.solve.frame import Frame


def repairs(basis: Basis, price: ChangePrice) -> Iterator[Candidate]:
    """With the fires as they are, if nothing is in a dead smoker, and those that can be lit; with the crew as told, and
    once with the cheapest one for the work that there is then."""
    first, *others = _frames(basis)
    yield from _around(basis, price, first, True, False)
    for frame in others:
        yield from _around(basis, price, frame, True)


def last_repairs(basis: Basis, price: ChangePrice) -> Iterator[Candidate]:
    """What is left where none of these passes: with the cheapest crew each, then with everyone."""
    for frame in _frames(basis)[1:]:
        yield from _around(basis, price, frame, False)
    yield from with_everyone(basis, price)


def with_everyone(basis: Basis, price: ChangePrice) -> Iterator[Candidate]:
    """With the cheapest crew of all who could come."""
    for frame in _opened(basis, everyone=True):
        yield from _around(basis, price, frame, False)


def _frames(basis: Basis) -> list[Frame]:
    dead = any(begun.dead_min is not None for begun in basis.open_begun())
    lit, *others = _opened(basis, everyone=False)
    return [lit, basis.frame, *others] if dead else [basis.frame, lit, *others]


def _opened(basis: Basis, *, everyone: bool) -> Iterator[Frame]:
    """Fires as told and those that can be lit: at their usual setpoints, then at others."""
    seen: list[Frame] = []
    for setpoint in (None, *sorted({setpoint for box in basis.grid.fireboxes for setpoint in box.setpoints_f})):
        frame = opened(basis, basis.frame, everyone=everyone, cold_f=setpoint)
        if not any(all(map(np.array_equal, frame.levels, other.levels)) for other in seen):
            seen.append(frame)
            yield frame


def _around(basis: Basis, price: ChangePrice, frame: Frame, *as_called: bool) -> Iterator[Candidate]:
    """The old plan as far as it fits what has begun, with the crew as it is called, with the cheapest, or both."""
    chosen = chosen_ways(basis, frame)
    yield from built(basis, chosen, frame, basis.old.values(), price, crews=as_called)
