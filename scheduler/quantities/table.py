"""How many to cook, as rows: what is wanted, what the plan makes, what the last piece earns, and what limits it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from scheduler.forecast.worth import Wanted
from scheduler.model.weekend import wave_name
from scheduler.quantities.settled import Settled

DEMAND = "demand: a further piece is not expected to earn what it costs"
UNSAID = "hands, fire or room: a further piece costs more of them than it is expected to earn"


@dataclass(frozen=True)
class QuantityRow:
    """One cut of one day."""

    day: date
    cut: str
    planned: int
    """Pieces in weekend.toml."""
    wanted: int
    """Pieces that are worth their meat."""
    made: int
    """Pieces that the plan makes; as wanted where there is no plan."""
    waves: tuple[tuple[str, int], ...]
    """Pieces by wave."""
    last_cents: int
    """Expected margin of the last piece made."""
    next_cents: int
    """Expected margin of one more."""
    limit: str


def rows_of(wanted: Sequence[Wanted], settled: Settled | None = None) -> tuple[QuantityRow, ...]:
    """A row for each cut and day."""
    return tuple(_row(w, settled) for w in wanted)


def _row(w: Wanted, settled: Settled | None) -> QuantityRow:
    draws = w.draws
    names = [wave_name(wave.at) for wave in draws.waves]
    full = [len(w.by_wave(i)) for i in range(len(names))]
    made = full if settled is None else [settled.made[draws.cut.name, name] for name in names]
    value = draws.value_cents(made)
    fewer = [value - draws.value_cents(_changed(made, i, -1)) for i, n in enumerate(made) if n]
    more = [draws.value_cents(_changed(made, i, 1)) - value for i in range(len(made))]
    return QuantityRow(
        day=draws.waves[0].at.date(),
        cut=draws.cut.name,
        planned=sum(wave.pieces for wave in draws.waves),
        wanted=sum(full),
        made=sum(made),
        waves=tuple(zip(names, made, strict=True)),
        last_cents=round(min(fewer, default=0.0)),
        next_cents=round(max(more)),
        limit=_limit(w, names, full, made, settled),
    )


def _changed(made: Sequence[int], place: int, by: int) -> list[int]:
    return [n + by * (i == place) for i, n in enumerate(made)]


def _limit(w: Wanted, names: Sequence[str], full: Sequence[int], made: Sequence[int], settled: Settled | None) -> str:
    if settled is None or sum(made) >= sum(full):
        return DEMAND
    short = (name for name, want, n in zip(names, full, made, strict=True) if n < want)
    return next((why for name in short if (why := settled.why.get((w.draws.cut.name, name)))), UNSAID)
