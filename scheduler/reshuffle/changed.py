"""What a new plan says otherwise than the old one, from a moment on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from scheduler.books.plans import in_utc
from scheduler.model.clock import add_min
from scheduler.model.plan import Load, Plan, Shift
from scheduler.reshuffle.state import State

Instruction = tuple[object, ...]
SMALL = timedelta(minutes=15)
"""A done time that moves by less is not worth a line."""


def instructions(plan: Plan, since: datetime) -> Counter[Instruction]:
    """What people are told to do from a moment on: load, wrap, move, light, let out, come."""
    return Counter(told for at, told in _told(plan) if at.timestamp() >= since.timestamp())


def _told(plan: Plan) -> Iterator[tuple[datetime, Instruction]]:
    for load in plan.loads:
        yield load.load_at, ("load", load.cut, load.smoker, load.rack, load.load_at.timestamp())
        if load.wrap_at is not None:
            yield load.wrap_at, ("wrap", load.cut, load.finish_place, load.finish_rack, load.wrap_at.timestamp())
        for stop in load.stops:
            yield stop.at, ("move", load.cut, stop.place, stop.rack, stop.at.timestamp())
    for fire in plan.fires:
        yield fire.lit_at, ("light", fire.firebox, fire.lit_at.timestamp())
        yield fire.out_at, ("out", fire.firebox, fire.out_at.timestamp())
    for shift in plan.shifts:
        yield shift.starts_at, ("come", shift.person, shift.starts_at.timestamp(), shift.ends_at.timestamp())


def share_unchanged(old: Plan, new: Plan, since: datetime) -> float:
    """Share of the old plan's instructions from a moment on that stand in the new one; 1 where there were none."""
    before, after = instructions(old, since), instructions(new, since)
    return sum((before & after).values()) / before.total() if before else 1.0


@dataclass(frozen=True, slots=True)
class Pair:
    """A load as it was and as it now is; None where it was not, or is no more."""

    old: Load | None
    new: Load | None


@dataclass(frozen=True, slots=True)
class WaveChange:
    """A wave of which fewer pieces are made than before, or some later."""

    cut: str
    wave: str
    ready_by_at: datetime
    served_until_at: datetime
    short: int
    """Now."""
    short_before: int
    late_pieces: int
    late_until: datetime | None
    """When the last of them may be ready."""


@dataclass(frozen=True, slots=True)
class Changed:
    """All that is different; times in UTC."""

    since: datetime
    loads: tuple[Pair, ...]
    called: tuple[Shift, ...]
    """Shifts of the new plan that the old one does not have."""
    not_needed: tuple[Shift, ...]
    waves: tuple[WaveChange, ...]
    unchanged: float
    """Share of the instructions that stand."""


def changed(state: State, new: Plan) -> Changed:
    """The old plan of a state beside the new one."""
    since = state.clock.moment(state.from_min).astimezone(UTC)
    old, new = in_utc(state.plan), in_utc(new)
    return Changed(
        since=since,
        loads=tuple(_pairs(old, new, since)),
        called=tuple(s for s in new.shifts if s.starts_at >= since and not _has(old, s)),
        not_needed=tuple(s for s in old.shifts if s.starts_at >= since and not _has(new, s)),
        waves=tuple(_waves(state, new, since)),
        unchanged=share_unchanged(old, new, since),
    )


def _has(plan: Plan, shift: Shift) -> bool:
    return any(
        (s.person, s.starts_at, s.ends_at) == (shift.person, shift.starts_at, shift.ends_at) for s in plan.shifts
    )


def _pairs(old: Plan, new: Plan, since: datetime) -> Iterator[Pair]:
    before = {load.code: load for load in old.loads}
    seen: set[str] = set()
    for load in new.loads:
        was = before.get(load.code) or before.get(load.part_of)
        seen.add(load.code)
        if load.served_until_at > since and differs(was, load, since):
            yield Pair(was, load)
    for code, was in before.items():
        if code not in seen and was.served_until_at > since:
            yield Pair(was, None)


def differs(was: Load | None, now: Load, since: datetime) -> bool:
    """True if somebody has to be told something else."""
    if was is None:
        return True
    told_then = (was.smoker, was.rack, was.load_at, was.pieces, was.wave)
    told_now = (now.smoker, now.rack, now.load_at, now.pieces, now.wave)
    ends_then, ends_now = (
        (was.wrap_at, was.finish_place, was.finish_rack),
        (now.wrap_at, now.finish_place, now.finish_rack),
    )
    stops = any(stop.at >= since for stop in now.stops)
    slower = abs(now.likely_done_at - was.likely_done_at) >= SMALL and now.late_done_at > since
    # Which cabinet it goes into is on the new crew sheet; it is news only for what is about to go there.
    held = now.load_at < since and now.hold_place != was.hold_place
    return told_then != told_now or ends_then != ends_now or stops or slower or held


def _waves(state: State, new: Plan, since: datetime) -> Iterator[WaveChange]:
    before = {(s.cut, s.wave): s.pieces for s in state.plan.shorts}
    after = {(s.cut, s.wave): s.pieces for s in new.shorts}
    for demand in state.scenario.weekend.demands():
        key = demand.cut, demand.wave
        late = [x for x in new.loads if (x.cut, x.wave) == key and _ready(state, x) > demand.ready_by_at]
        short, was = after.get(key, 0), before.get(key, 0)
        if demand.served_until_at > since and (short != was or late):
            yield WaveChange(
                cut=demand.cut,
                wave=demand.wave,
                ready_by_at=demand.ready_by_at.astimezone(UTC),
                served_until_at=demand.served_until_at.astimezone(UTC),
                short=short,
                short_before=was,
                late_pieces=sum(load.pieces for load in late),
                late_until=max((_ready(state, load) for load in late), default=None),
            )


def _ready(state: State, load: Load) -> datetime:
    rest = state.scenario.menu.cut(load.cut).rest_min
    return add_min(load.late_done_at, rest)
