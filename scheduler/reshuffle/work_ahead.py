"""What has to be done from a moment on, step by step, to the minute."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import ceil

from scheduler.model.plan import Fire, Load
from scheduler.model.site import Firebox
from scheduler.reshuffle.basis import Basis
from scheduler.solve.grid import Grid
from scheduler.solve.work import Work, all_work


@dataclass(frozen=True, slots=True)
class Ahead:
    """The work that a plan still asks for."""

    basis: Basis
    grid: Grid

    def work(self, loads: tuple[Load, ...], fires: tuple[Fire, ...]) -> list[list[Work]]:
        """Work from the moment on, by step."""
        found = all_work(self.grid, loads, ())
        for work in (*self._moving(loads), *self._firing(fires)):
            if 0 <= work.step < self.grid.steps:
                found[work.step].append(work)
        return [self._at_step(step, todo) if step >= self.basis.step else [] for step, todo in enumerate(found)]

    def _at_step(self, step: int, todo: list[Work]) -> list[Work]:
        """The work of a step, with no more at the counter than there can be."""
        most = int(self.basis.pinned.counter[step]) * self.grid.step_min
        capped = [work if work.kind != "counter" else replace(work, minutes=min(work.minutes, most)) for work in todo]
        return [work for work in capped if work.minutes]

    def _moving(self, loads: tuple[Load, ...]) -> Iterator[Work]:
        for load in loads:
            each = 2 * self.basis.state.scenario.menu.cut(load.cut).hands.load_min
            for stop in load.stops:
                step = self.grid.down(self.grid.minute(stop.at))
                minutes = max(1, ceil(load.pieces * each - 1e-9))
                yield Work(step, "move", minutes, (load.code,), load.pieces, each)

    def _firing(self, fires: tuple[Fire, ...]) -> Iterator[Work]:
        """Lighting, tending and cleaning out, to the minute, as a fire of the past may have been lit off the grid."""
        grid, before = self.grid, dict[str, Fire]()
        for fire in fires:
            box = self.basis.state.scenario.site.firebox(fire.firebox)
            lit, out = grid.minute(fire.lit_at), grid.minute(fire.out_at)
            if box.light_min:
                yield Work(grid.down(lit), "light", box.light_min, place=box.name)
            for due in range(lit + box.tend_every_min, out, box.tend_every_min) if box.tend_min else ():
                yield self._round(box, due)
            if fire.firebox in before:
                yield from self._cleaning(box, lit, grid.minute(before[fire.firebox].out_at))
            before[fire.firebox] = fire

    def _round(self, box: Firebox, due: int) -> Work:
        """A tending round, begun less than a step after it is due, though that may be inside a step."""
        step, off = self.grid.down(due), due % self.grid.step_min
        if off + box.tend_min <= self.grid.step_min:
            return Work(step, "tend", box.tend_min, place=box.name, after=off)
        return Work(step + 1, "tend", box.tend_min, place=box.name, before=off + box.tend_min - 1)

    def _cleaning(self, box: Firebox, lit: int, out: int) -> Iterator[Work]:
        start = self.basis.state.from_min
        index = self.grid.fireboxes.index(box)
        left = box.clean_out_min if out >= start else self.basis.pinned.burnt[index].clean_left_min
        if lit <= start or not left:
            return
        steps = self.grid.touched(max(start, lit - left), lit)
        done = 0
        for i, step in enumerate(steps):
            until = left * (i + 1) // len(steps)
            if until > done:
                yield Work(step, "clean", until - done, place=box.name)
            done = until
