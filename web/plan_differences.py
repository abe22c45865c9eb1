"""What differs between two plans, by load and by shift. Codes may differ; what is cooked for whom decides."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from scheduler.model.plan import Load
from scheduler.report.desk import Desk
from scheduler.report.words import pieces_text

Key = tuple[str, str]


def plan_differences(left: Desk, right: Desk) -> Iterator[str]:
    """One sentence for each wave that is cooked otherwise, then one for each shift."""
    for key in sorted(_waves(left) | _waves(right)):
        one, other = _loads(left, key), _loads(right, key)
        if one != other:
            cut = key[0]
            sample = (*_of(left, key), *_of(right, key))[0]
            desk = left if _of(left, key) else right
            yield f"{cut} for {desk.wave(sample)}: {_said(one, cut)}; then {_said(other, cut)}"
    mine = {(s.person, s.starts_at) for s in left.plan.shifts}
    theirs = {(s.person, s.starts_at) for s in right.plan.shifts}
    for person, at in sorted(mine - theirs, key=lambda pair: (pair[1], pair[0])):
        yield f"{person} at {left.moment(at)}: only in plan {left.plan.number}"
    for person, at in sorted(theirs - mine, key=lambda pair: (pair[1], pair[0])):
        yield f"{person} at {right.moment(at)}: only in plan {right.plan.number}"


def _waves(desk: Desk) -> set[Key]:
    return {(load.cut, load.wave) for load in desk.plan.loads}


def _of(desk: Desk, key: Key) -> tuple[Load, ...]:
    return tuple(load for load in desk.plan.loads if (load.cut, load.wave) == key)


def _loads(desk: Desk, key: Key) -> Counter[str]:
    """Pieces by place and time."""
    found: Counter[str] = Counter()
    for load in sorted(_of(desk, key), key=lambda load: (load.load_at, load.smoker, load.rack)):
        finish = f", finish {desk.finish_place(load)}" if load.moved else ""
        found[f"{desk.smoker_place(load)} at {desk.moment(load.load_at)}{finish}"] += load.pieces
    return found


def _said(loads: Counter[str], cut: str) -> str:
    if not loads:
        return "nothing"
    return ", ".join(f"{pieces_text(pieces, cut)} on {where}" for where, pieces in loads.items())
