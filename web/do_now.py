"""The answer at three in the morning: what to do at once, what changed, what is lost, and what it costs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from scheduler.model.clock import elapsed_min
from scheduler.model.plan import Load, Plan
from scheduler.report.desk import Desk
from scheduler.report.sentences import say
from scheduler.report.task_rows import BLOCKS, task_rows
from scheduler.report.words import count_text, list_text, money_text, pieces_text, wave_text
from scheduler.trade.food_safety import DEFERS
from web.kitchen import Kitchen
from web.store.plans import KeptPlan, number_in_force

SOON = timedelta(hours=2)
MOST_STEPS = 14
ROUTINE = frozenset({"tend", "pull", *BLOCKS})


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do."""

    when: str
    who: str
    what: str
    detail: tuple[str, ...]
    new: bool
    """True if the plan before did not have it so."""


@dataclass(frozen=True, slots=True)
class DoNow:
    """The answer."""

    number: int
    in_force: bool
    from_at: str
    same: bool
    """True if nothing had to change."""
    steps: tuple[Step, ...]
    routine: int
    """Rounds in the same time that go on as always."""
    changed: tuple[str, ...]
    lost: tuple[str, ...]
    shorts: tuple[str, ...]
    dearer: str
    breaches: int
    caution: str


def do_now(kitchen: Kitchen, kept: KeptPlan) -> DoNow:
    """What a reshuffled plan asks for first."""
    desk = kitchen.desk(kept.number)
    before = kitchen.desk(kept.parent) if kept.parent is not None else desk
    clock = kept.scenario.weekend.timeline
    start = clock.moment(kept.past.from_min) if kept.past is not None else desk.first_at
    steps, routine = _steps(desk, before.plan, start)
    lost = tuple(
        f"{loss.load}: {pieces_text(loss.pieces, loss.cut)}, {loss.why}"
        for loss in desk.plan.losses
        if loss not in before.plan.losses
    )
    return DoNow(
        number=kept.number,
        in_force=number_in_force(kitchen.database) == kept.number,
        from_at=desk.moment(start),
        same=desk.plan.loads == before.plan.loads and desk.plan.shifts == before.plan.shifts and not lost,
        steps=steps,
        routine=routine,
        changed=tuple(_changed(desk, before)),
        lost=lost,
        shorts=tuple(_more_short(desk.plan, before.plan)),
        dearer=_dearer(desk.plan.cost.total - before.plan.cost.total),
        breaches=kept.breaches,
        caution=DEFERS,
    )


def _dearer(cents: int) -> str:
    if not cents:
        return "It costs what the plan before did."
    return f"It costs {money_text(abs(cents))} {'more' if cents > 0 else 'less'} than the plan before."


def _steps(desk: Desk, before: Plan, start: datetime) -> tuple[tuple[Step, ...], int]:
    told = {(t.kind, t.at, t.person, t.loads, t.place) for t in before.tasks}
    tasks = [t for t in desk.plan.tasks if start <= t.at < start + SOON]
    rows = task_rows(desk, tasks)
    new = {(t.kind, t.loads, t.place) for t in tasks if (t.kind, t.at, t.person, t.loads, t.place) not in told}
    found, routine = [], 0
    for row in rows:
        if row.kind in ROUTINE:
            routine += 1
            continue
        what, detail = say(desk, row)
        changed = any(kind == row.kind and set(loads) <= set(row.loads) for kind, loads, _ in new)
        found.append(Step(desk.near(row.at, start), list_text(row.people), what, detail, changed))
    return tuple(found[:MOST_STEPS]), routine


def _changed(desk: Desk, before: Desk) -> Iterator[str]:
    """Loads that go on otherwise than the crew was told, then shifts."""
    for load in sorted(desk.plan.loads, key=lambda load: (load.load_at, load.code)):
        old = before.by_code.get(load.code)
        if old is None:
            origin = f", parted from {load.part_of}" if load.part_of else ""
            yield f"{load.code} is new: {desk.pieces(load)} on the {desk.smoker_place(load)}{origin}"
            continue
        parts = list(_parts(desk, before, load, old))
        if parts:
            yield f"{load.code} ({desk.pieces(load)}): {'; '.join(parts)}"
    for gone in sorted(before.by_code.keys() - desk.by_code.keys()):
        yield f"{gone} ({before.pieces(before.by_code[gone])}) is not cooked any more"
    now = {(s.person, s.starts_at) for s in desk.plan.shifts}
    was = {(s.person, s.starts_at) for s in before.plan.shifts}
    for person, at in sorted(now - was):
        yield f"Call in {person} for {desk.moment(at)}"
    for person, at in sorted(was - now):
        yield f"{person} is not needed at {desk.moment(at)}"


def _parts(desk: Desk, before: Desk, load: Load, old: Load) -> Iterator[str]:
    if load.pieces != old.pieces:
        yield f"{count_text(load.pieces, 'piece')} instead of {old.pieces}"
    for stop in load.stops[len(old.stops) :]:
        yield f"move to {desk.spot_words(stop.place, stop.rack)} at {desk.moment(stop.at)}"
    if (load.smoker, load.rack) != (old.smoker, old.rack):
        yield f"on the {desk.smoker_place(load)}"
    if abs(elapsed_min(old.load_at, load.load_at)) >= 1:
        yield f"on at {desk.moment(load.load_at)} instead of {before.moment(old.load_at)}"
    if load.wrap_at is not None and old.wrap_at is not None and load.wrap_at != old.wrap_at:
        yield f"wrap at {desk.moment(load.wrap_at)} instead of {before.moment(old.wrap_at)}"
    if (load.finish_place, load.finish_rack) != (old.finish_place, old.finish_rack):
        yield f"finish on the {desk.finish_place(load)}"
    if load.wave != old.wave:
        yield f"for {desk.wave(load)} instead of {before.wave(old)}"


def _more_short(plan: Plan, before: Plan) -> Iterator[str]:
    was = {(short.cut, short.wave): short.pieces for short in before.shorts}
    for short in plan.shorts:
        more = short.pieces - was.get((short.cut, short.wave), 0)
        if more > 0:
            wave = wave_text(short.wave, plan.clock)
            yield f"{pieces_text(more, short.cut)} short for {wave}: {short.why}"
