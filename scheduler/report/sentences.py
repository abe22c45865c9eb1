"""Plain sentences for the rows of a crew sheet: what to do, and what the person needs to know to do it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

from scheduler.model.crew import TaskKind
from scheduler.model.plan import Fire, Load, Stop
from scheduler.report.desk import Desk
from scheduler.report.task_rows import Row
from scheduler.report.words import (
    codes_text,
    cut_text,
    list_text,
    pieces_text,
    sentence,
    slicing_text,
    unique,
)

MOST_TOLD = 4
"""A probe round of more loads than this leaves their times to the list of the shift's pulls."""

Said = tuple[str, tuple[str, ...]]
"""What to do, and the lines of detail under it."""


def _burn(desk: Desk, row: Row) -> Fire | None:
    """The burn that a fire task belongs to: the one running then, else the next one."""
    burns = [f for f in desk.plan.fires if f.firebox in row.places and f.out_at > row.at]
    return min(burns, key=lambda f: f.lit_at, default=None)


def _fires(desk: Desk, row: Row) -> str:
    return list_text([desk.fire_words(place) for place in row.places])


def _light(desk: Desk, row: Row) -> Said:
    burn = _burn(desk, row)
    if burn is None:
        return f"Light the {_fires(desk, row)}.", ()
    detail = (
        f"Bring it to {burn.setpoints[0].setpoint_f} °F. Ready for meat at {desk.near(burn.ready_at, row.at)}; "
        f"out at {desk.moment(burn.out_at)}."
    )
    return f"Light the {_fires(desk, row)}.", (detail,)


def _tend(desk: Desk, row: Row) -> Said:
    found = []
    for place in row.places:
        setpoint_f = desk.setpoint_then(place, row.at)
        mark = f" ({setpoint_f} °F)" if setpoint_f else ""
        found.append(f"the {desk.fire_words(place)}{mark}")
    return f"Tend {list_text(found)}.", ()


def _clean(desk: Desk, row: Row) -> Said:
    burns = [f for f in desk.plan.fires if f.firebox in row.places and f.lit_at >= row.at]
    burn = min(burns, key=lambda f: f.lit_at, default=None)
    ash = "Hot ash into the lidded metal can, outside."
    again = (f"It is lit again at {desk.near(burn.lit_at, row.at)}.",) if burn else ()
    return f"Clean out the {_fires(desk, row)}.", (*again, ash)


def _handled(row: Row, load: Load) -> str:
    """The pieces of a row: all of the load, or so many of it."""
    whole = pieces_text(load.pieces, load.cut)
    return f"{row.pieces} of {whole}" if 0 < row.pieces < load.pieces else whole


def _load(desk: Desk, row: Row) -> Said:
    if len(row.loads) != 1:
        return f"Load {list_text(row.loads)}.", ()
    load = desk.by_code[row.loads[0]]
    what = f"Load {_handled(row, load)} ({load.code}) on the {desk.smoker_place(load)}."
    then = "Not wrapped" if load.wrap_at is None else f"Wrap at {desk.near(load.wrap_at, row.at)}"
    return what, (f"{then}; done about {desk.moment(load.likely_done_at)}.", *_blind(desk, load))


def _blind(desk: Desk, load: Load) -> tuple[str, ...]:
    """What to do so that a trial stays fair; nothing for other loads."""
    codes = desk.blind_words(load)
    if not codes:
        return ()
    return (f"Trial, side by side: {codes}. Pair pieces of like weight, weigh each, hang its code on it.",)


def after_wrap(desk: Desk, load: Load) -> str:
    """Where a load goes at its wrap."""
    before = next(turn for turn in reversed(load.turns()) if turn[0] < load.finish_from_at)
    if (load.finish_place, load.finish_rack) == before[1:]:
        return "Then back on the same rack"
    if load.finish_place != before[1]:
        return f"Then to the {desk.finish_place(load)}"
    return f"Then back on, to {desk.finish_place(load)}"


def _wrap(desk: Desk, row: Row) -> Said:
    if len(row.loads) != 1:
        return f"Wrap {list_text(row.loads)}.", ()
    load = desk.by_code[row.loads[0]]
    what = f"Wrap {load.code} {desk.wrap_words(load)}: {_handled(row, load)}."
    before = desk.place_at(load, load.finish_from_at - timedelta(minutes=1))
    detail = f"Window {desk.wrap_span(load)}. From the {before}. {after_wrap(desk, load)}."
    codes = desk.blind_words(load)
    return what, (detail, f"Trial: {codes}. Each piece by the sealed key.") if codes else (detail,)


def _expected(desk: Desk, loads: list[Load], row: Row) -> str:
    """One cut's loads of a probe round, those of the same times together."""
    groups: dict[str, list[str]] = {}
    for load in loads:
        likely, late = desk.near(load.likely_done_at, row.at), desk.near(load.late_done_at, row.at)
        groups.setdefault(f"likely {likely}, late {late}", []).append(load.code)
    times = "; ".join(f"{list_text(codes)} {when}" for when, codes in groups.items())
    return f"At {desk.cut(loads[0]).done_f} °F: {times}."


def last_call(desk: Desk, row: Row) -> tuple[str, ...]:
    """Codes of the loads for which this is the last round: what is not done now is late."""
    grid = timedelta(minutes=desk.plan.certificate.grid_min)
    return tuple(code for code in row.loads if row.at >= desk.by_code[code].late_done_at - grid)


def _told(desk: Desk, row: Row, code: str) -> bool:
    """True if somebody of the row was told to probe this load in an earlier round: its times need no second line."""
    tasks = desk.plan.tasks
    return any(t.kind == "pull" and t.at < row.at and code in t.loads and t.person in row.people for t in tasks)


def _probed(row: Row, loads: list[Load]) -> str:
    """The codes of a round; of a long one those first that are likely done by now."""
    codes = sorted(row.loads)
    likely = [load.code for load in loads if load.likely_done_at <= row.at]
    if len(codes) <= MOST_TOLD or not likely:
        return f"Probe round: {codes_text(codes)}."
    rest = codes_text([code for code in codes if code not in likely])
    return f"Probe round: likely done {codes_text(likely)}{f'; also {rest}' if rest else ''}."


def _pull(desk: Desk, row: Row) -> Said:
    loads = [desk.by_code[code] for code in sorted(row.loads)]
    cuts: dict[str, list[Load]] = {}
    for load in loads:
        if len(loads) <= MOST_TOLD and not _told(desk, row, load.code):
            cuts.setdefault(load.cut, []).append(load)
    detail = [_expected(desk, batch, row) for batch in cuts.values()]
    late = last_call(desk, row)
    if late:
        detail.append(f"Last round for {codes_text(sorted(late))}: if not done, say so at once.")
    trials = [load.code for load in loads if desk.lots.get(load.code)]
    if trials:
        detail.append(f"Write down when each piece of {list_text(trials)} is done, by its code.")
    return _probed(row, loads), tuple(detail)


def stop_of(desk: Desk, row: Row) -> Stop | None:
    """Where the load of a row is moved; None where it is not."""
    stops = [stop for code in row.loads for stop in desk.by_code[code].stops]
    return min(stops, key=lambda stop: abs(stop.at - row.at), default=None)


def moved_to(desk: Desk, row: Row) -> str:
    """The same in words: " to the oven"; empty where it is not moved."""
    stop = stop_of(desk, row)
    return "" if stop is None else f" to the {desk.spot_words(stop.place, stop.rack)}"


def _move(desk: Desk, row: Row) -> Said:
    if len(row.loads) != 1:
        return f"Move {list_text(row.loads)}.", ()
    load = desk.by_code[row.loads[0]]
    wrapped = load.wrap_at is not None and load.wrap_at <= row.at
    how = "It stays wrapped" if wrapped else "As it is, not wrapped"
    return f"Move {_handled(row, load)} ({load.code}){moved_to(desk, row)}.", (
        f"{how}. Probe it there and write it down.",
    )


def _slice(desk: Desk, row: Row) -> Said:
    if not row.loads:
        return "Slice.", ()
    loads = [desk.by_code[code] for code in row.loads]
    pace = "" if row.steady else ", on and off"
    cuts = unique(load.cut for load in loads)
    verb = slicing_text(cuts[0]) if len(cuts) == 1 else "slice"
    what = f"{verb} {list_text([cut_text(cut, 2) for cut in cuts])}{pace}, until {desk.clock(row.ends_at)}."
    holds = unique(desk.hold_words(load) for load in loads if load.hold_place)
    source = f" from {list_text(holds)}" if holds else ""
    return what, (f"{codes_text(row.loads)}{source}, for {list_text(unique(desk.wave(x) for x in loads))}.",)


def _counter(desk: Desk, row: Row) -> Said:
    return f"Counter, until {desk.clock(row.ends_at)}.", ()


_SAY: dict[TaskKind, Callable[[Desk, Row], Said]] = {
    "light": _light,
    "tend": _tend,
    "clean": _clean,
    "load": _load,
    "wrap": _wrap,
    "pull": _pull,
    "move": _move,
    "slice": _slice,
    "counter": _counter,
}


def say(desk: Desk, row: Row) -> Said:
    """What to do and the detail, as sentences."""
    what, detail = _SAY[row.kind](desk, row)
    return sentence(what), detail
