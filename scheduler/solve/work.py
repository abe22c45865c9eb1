"""What has to be done in each grid step, from loads, burns and service hours; who does it is settled in `people`."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil

from scheduler.model.crew import TaskKind
from scheduler.model.plan import Load
from scheduler.solve.frame import Burn
from scheduler.solve.grid import Grid

PROBE_EVERY_MIN = 30
"""Rounds at which loads that may be done are probed. Common practice, no source."""
TINY = 1e-9
"""Dust of floating point."""


@dataclass(frozen=True, slots=True)
class Work:
    """Work inside one step. Piece work is split by pieces, the rest by minutes or not at all."""

    step: int
    kind: TaskKind
    minutes: int
    loads: tuple[str, ...] = ()
    pieces: int = 0
    per_piece_min: float = 0.0
    place: str = ""
    after: int = 0
    """Minutes into the step before which it can't be done, as a wave may start inside a step."""
    before: int | None = None
    """Minutes into the step by which it must be done; None for its end."""

    @property
    def by_piece(self) -> bool:
        """True if several people can share it piece by piece."""
        return self.pieces > 0

    @property
    def by_minute(self) -> bool:
        """True if several people can share its minutes."""
        return self.kind in ("slice", "clean", "counter")


def all_work(grid: Grid, loads: tuple[Load, ...], burns: tuple[Burn, ...]) -> list[list[Work]]:
    """Work by step."""
    found: list[list[Work]] = [[] for _ in range(grid.steps)]
    for source in (_handling(grid, loads), _probing(grid, loads), _slicing(grid, loads), _firing(grid, burns)):
        for work in source:
            if 0 <= work.step < grid.steps:
                found[work.step].append(work)
    for work in _counter(grid):
        found[work.step].append(work)
    return found


def _handling(grid: Grid, loads: tuple[Load, ...]) -> Iterator[Work]:
    for load in loads:
        hands = grid.scenario.menu.cut(load.cut).hands
        yield _piece_work(grid, "load", load, grid.minute(load.load_at), hands.load_min)
        if load.wrap_at is not None:
            yield _piece_work(grid, "wrap", load, grid.minute(load.wrap_at), hands.wrap_min)


def _piece_work(grid: Grid, kind: TaskKind, load: Load, minute: int, each_min: float) -> Work:
    minutes = max(1, _whole(load.pieces * each_min))
    return Work(grid.down(minute), kind, minutes, (load.code,), load.pieces, each_min)


def _whole(minutes: float) -> int:
    """Minutes rounded up."""
    return ceil(minutes - TINY)


def _probing(grid: Grid, loads: tuple[Load, ...]) -> Iterator[Work]:
    """Rounds by place on the half hour or so, places by turns, so that not all rounds fall into one step."""
    turn = {name: i for i, name in enumerate(sorted({load.finish_place for load in loads}))}
    needed: dict[tuple[int, str], dict[str, float]] = {}
    most_min = min(grid.step_min, PROBE_EVERY_MIN) * grid.scenario.crew.hand_minutes_per_h / 60
    for load in loads:
        rounds = _rounds(grid, load, turn[load.finish_place])
        pull_min = grid.scenario.menu.cut(load.cut).hands.pull_min
        for minute in rounds:
            needed.setdefault((minute, load.finish_place), {})[load.code] = load.pieces * pull_min / len(rounds)
    for (minute, _), by_load in sorted(needed.items()):
        after = minute % grid.step_min
        before = after + PROBE_EVERY_MIN
        for named, minutes in _parted(by_load, most_min):
            yield Work(
                step=grid.down(minute),
                kind="pull",
                minutes=max(1, _whole(minutes)),
                loads=named,
                after=after,
                before=before if before < grid.step_min else None,
            )


def _parted(by_load: dict[str, float], most_min: float) -> list[tuple[tuple[str, ...], float]]:
    """A round as one person goes it; one that takes too long as several do, each going on where the one before ends."""
    parts = max(1, ceil(sum(by_load.values()) / most_min - TINY))
    share = sum(by_load.values()) / parts
    names: list[list[str]] = [[] for _ in range(parts)]
    minutes = [0.0] * parts
    i = 0
    for code, needed in by_load.items():
        names[i].append(code)
        while i + 1 < parts and minutes[i] + needed >= share - TINY:
            needed -= share - minutes[i]
            minutes[i] = share
            i += 1
            if needed > TINY:
                names[i].append(code)
        minutes[i] += max(0.0, needed)
    return [(tuple(named), took) for named, took in zip(names, minutes, strict=True) if named]


def _rounds(grid: Grid, load: Load, turn: int) -> list[int]:
    """Minutes at which a load is probed: at the start of steps, or of parts of long ones, about half an hour apart."""
    early, late = grid.minute(load.early_done_at), grid.minute(load.late_done_at)
    if grid.step_min > PROBE_EVERY_MIN:
        return list(range(early - early % PROBE_EVERY_MIN, late + 1, PROBE_EVERY_MIN))
    every = max(1, PROBE_EVERY_MIN // grid.step_min)
    window = range(grid.up(early), grid.down(late) + 1) or range(grid.down(early), grid.down(early) + 1)
    steps = [k for k in window if (k + turn) % every == 0] or [window[0]]
    return [step * grid.step_min for step in steps]


def _slicing(grid: Grid, loads: tuple[Load, ...]) -> Iterator[Work]:
    by_wave: dict[tuple[str, str], list[Load]] = {}
    for load in loads:
        by_wave.setdefault((load.cut, load.wave), []).append(load)
    for (cut, _), served in sorted(by_wave.items()):
        total = sum(load.pieces for load in served) * grid.scenario.menu.cut(cut).hands.slice_min
        codes = tuple(load.code for load in served)
        ready, until = grid.minute(served[0].ready_by_at), grid.minute(served[0].served_until_at)
        yield from _sliced(grid, ready, until, total, codes)


def _sliced(grid: Grid, ready: int, until: int, total: float, codes: tuple[str, ...]) -> Iterator[Work]:
    """Slicing spread evenly over the minutes of serving."""
    done = 0
    for step in grid.touched(ready, until):
        start, end = step * grid.step_min, (step + 1) * grid.step_min
        due = round(total * (min(end, until) - ready) / (until - ready))
        if due > done:
            before = until - start if until < end else None
            yield Work(step, "slice", due - done, codes, after=max(0, ready - start), before=before)
        done = due


def _firing(grid: Grid, burns: tuple[Burn, ...]) -> Iterator[Work]:
    burnt: set[int] = set()
    for burn in sorted(burns, key=lambda burn: burn.lit):
        box = grid.fireboxes[burn.firebox]
        if box.light_min:
            yield Work(burn.lit, "light", box.light_min, place=box.name)
        start, end = burn.lit * grid.step_min, burn.out * grid.step_min
        for due in range(start + box.tend_every_min, end, box.tend_every_min) if box.tend_min else ():
            yield Work(grid.up(due), "tend", box.tend_min, place=box.name)
        if burn.firebox in burnt:
            yield from _cleaning(grid, burn)
        burnt.add(burn.firebox)


def _cleaning(grid: Grid, burn: Burn) -> Iterator[Work]:
    box = grid.fireboxes[burn.firebox]
    steps = grid.touched(burn.lit * grid.step_min - box.clean_out_min, burn.lit * grid.step_min)
    done = 0
    for i, step in enumerate(steps):
        until = box.clean_out_min * (i + 1) // len(steps)
        if until > done:
            yield Work(step, "clean", until - done, place=box.name)
        done = until


def _counter(grid: Grid) -> Iterator[Work]:
    weekend = grid.scenario.weekend
    for day in weekend.days:
        for step in grid.touched(grid.minute(weekend.local(day.opens)), grid.minute(weekend.local(day.closes))):
            if day.counter_hands:
                yield Work(step, "counter", day.counter_hands * grid.step_min)
