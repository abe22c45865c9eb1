"""PyJobShop (pyjobshop.org), a general-purpose library for scheduling, on the part of a weekend that it can express.

One load is a chain of tasks: smoking, finish, rest, hold, each at one of several places as its mode, or nowhere if the
load is short. What a load costs that is short or moved is the earliness of a task whose length depends on the way
chosen; quality lost is the earliness of the hold. The library has CP-SAT solve it.
"""

from __future__ import annotations

import time
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from scheduler.audit import audit
from scheduler.bench.outcome import Made
from scheduler.bench.peers.loads import Portion, portions
from scheduler.bench.weekends import GRID_MIN
from scheduler.errors import InputError, Problem
from scheduler.model.base import hundredths
from scheduler.model.scenario import Scenario
from scheduler.solve.assemble import assemble
from scheduler.solve.board import Board, Placed
from scheduler.solve.frame import Frame
from scheduler.solve.grid import Finish, Grid, Smoke, Stream, build_grid
from scheduler.solve.progress import certificate
from scheduler.solve.settle import everywhere

if TYPE_CHECKING:
    from pyjobshop import Model
    from pyjobshop.ProblemData import Mode, Renewable, Task

WORKERS = 2
QUARTERS = 4
"""Money is counted in quarters of a cent: quality lost in a step is then a whole number."""


def pyjobshop(scenario: Scenario, seconds: float, grid_min: int = GRID_MIN) -> Made:
    """The library's plan of a weekend that is its own part (`part_of`)."""
    try:
        from pyjobshop import Model
    except ImportError:
        what = "the package that the peer of that name needs is not installed"
        mend = "install it with: pip install 'pit-scheduler[bench]', or leave the peers out"
        raise InputError([Problem("pyjobshop", "", "", what, mend)]) from None
    started = time.monotonic()
    job = _Job(build_grid(scenario, grid_min), Model())
    left = seconds - (time.monotonic() - started)
    if left <= 0:
        return Made(None, note=f"setting up its model took {time.monotonic() - started:.0f} s")
    result = job.model.solve(time_limit=left, num_workers=WORKERS, display=False)
    took = time.monotonic() - started
    if not result.best.tasks:
        return Made(None, note="no plan in its seconds")
    board = job.board([(task.mode, task.start) for task in result.best.tasks])
    plan = assemble(board, certificate(0, None, grid_min, 0.0, "time", 0)).plan
    breaches = audit(plan, scenario)
    if breaches:
        return Made(None, note=f"its plan breaks a rule: {breaches[0].code}")
    return Made(plan, ((round(took, 2), plan.cost.total),), note=f"{len(job.chains)} loads of given sizes")


@dataclass(slots=True)
class _Chain:
    """A load's tasks, and what each of their modes means by its number in the model."""

    portion: Portion
    stream: Stream
    smoke: Task | None
    finish: Task
    rest: Task
    hold: Task
    way: Task


class _Job:
    """The weekend as tasks, modes and resources. All times in steps."""

    def __init__(self, grid: Grid, model: Model) -> None:
        self.grid, self.model = grid, model
        self.spots = Board.empty(grid, Frame(everywhere(grid, (b.setpoints_f[0] for b in grid.fireboxes)), ())).spots
        self.racks = [model.add_renewable(spot.size) for spot in self.spots]
        self.shelves = [model.add_renewable(shelf.size) for shelf in grid.rest]
        self.cabinets = [model.add_renewable(cabinet.size) for cabinet in grid.hold]
        self.chains: list[_Chain] = []
        self.where: dict[int, int] = {}
        """Rack, shelf or cabinet of a mode, by the mode's number; a mode that is not here is nowhere."""
        self.short: set[int] = set()
        """Modes that leave a load out; where the rest of its chain then stands means nothing."""
        self.modes = 0
        for loads in portions(grid):
            made = [self._chain(portion) for portion in loads]
            for one, other in pairwise(made):
                if one.portion.pieces == other.portion.pieces:
                    model.add_start_before_start(one.finish, other.finish)
        model.set_objective(weight_total_earliness=1)

    def _mode(self, task: Task, steps: int, at: Renewable | None = None, size: int = 0, where: int = -1) -> Mode:
        mode = self.model.add_mode(task, [] if at is None else at, steps, None if at is None else size)
        if where >= 0:
            self.where[self.modes] = where
        self.modes += 1
        return mode

    def _steps(self, minutes: int) -> int:
        assert minutes % self.grid.step_min == 0
        return minutes // self.grid.step_min

    def _chain(self, portion: Portion) -> _Chain:
        grid, model, d = self.grid, self.model, portion.demand
        cut = grid.cut_of(d)
        stream = next(stream for stream in grid.streams if stream.cut.name == cut.name)
        took = stream.finish[0].took
        early, late, rested = map(self._steps, (took.early_min, took.late_min, cut.rest_min))
        ready, served = grid.ready_min[d] // grid.step_min, grid.served_min[d] // grid.step_min
        finish = model.add_task(latest_start=max(0, ready - rested - late))
        rest = model.add_task()
        hold = model.add_task(
            earliest_start=max(0, served - self._steps(cut.hold_max_min)),
            earliest_end=served,
            latest_end=served,
            allow_idle=True,
        )
        model.add_start_at_start(finish, rest, delay=early)
        model.add_start_at_start(rest, hold, delay=rested)
        smoke = None
        if stream.recipe.wrapped:
            smoke = model.add_task()
            model.add_end_at_start(smoke, finish)
        n = portion.pieces
        after = [
            self._places(rest, late - early + rested, self.shelves, n * hundredths(cut.rest_spaces)),
            self._places(hold, 0, self.cabinets, n * hundredths(cut.hold_spaces), grid.cabinets_for(cut)),
        ]
        price = (grid.short_cents(d) + cut.move_cents) * n * QUARTERS
        way = model.add_task(model.add_job(due_date=price), latest_start=0)
        chain = _Chain(portion, stream, smoke, finish, rest, hold, way)
        self._ways(chain, after, late)
        self._quality(chain, ready)
        self.chains.append(chain)
        return chain

    def _places(
        self, task: Task, steps: int, rooms: list[Renewable], size: int, some: Iterable[int] | None = None
    ) -> list[Mode]:
        """A mode for each place, and one for nowhere; the real ones come back."""
        if not size:
            self._mode(task, 0)
            return []
        real = [self._mode(task, steps, rooms[i], size, i) for i in (range(len(rooms)) if some is None else some)]
        self._mode(task, 0)
        return real

    def _at(self, task: Task, option: Smoke | Finish, lengths: Iterable[int], size: int) -> dict[str, list[Mode]]:
        """Modes on the racks of one place, under its smoker's name."""
        racks = [i for i, s in enumerate(self.spots) if s.place == option.place and s.size >= size]
        return {
            self.grid.places[option.place].name: [
                self._mode(task, steps, self.racks[i], size, i) for i in racks for steps in lengths
            ]
        }

    def _ways(self, chain: _Chain, after: list[list[Mode]], late: int) -> None:
        """Smokers and ovens as modes of a task of its own, as long as a large number less the price of the way."""
        model, stream, portion = self.model, chain.stream, chain.portion
        short = self.grid.short_cents(portion.demand) * portion.pieces * QUARTERS
        move = stream.cut.move_cents * portion.pieces * QUARTERS
        large = short + move
        self.short.add(self.modes)
        self._mode(chain.way, large - short)
        size = portion.pieces * hundredths(stream.cut.spaces)
        self._mode(chain.finish, 0)
        ends: dict[str, list[Mode]] = {}
        for option in stream.finish:
            for name, modes in self._at(chain.finish, option, (late,), size).items():
                ends.setdefault(name, []).extend(modes)
        begins: dict[str, list[Mode]] = {}
        if chain.smoke is not None:
            self._mode(chain.smoke, 0)
            for smoke in stream.smoke:
                first, last = self.grid.up(smoke.wrap_from_min), self.grid.down(smoke.wrap_to_min)
                for name, modes in self._at(chain.smoke, smoke, range(first, last + 1), size).items():
                    begins.setdefault(name, []).extend(modes)
        for name, ending in ends.items():
            for start in begins if chain.smoke is not None else (name,):
                needed = [ending, *([begins[start]] if chain.smoke is not None else []), *filter(None, after)]
                if not all(needed):
                    continue
                chosen = self._mode(chain.way, large - (move if start != name else 0))
                for modes in needed:
                    model.add_mode_dependency(chosen, modes)

    def _quality(self, chain: _Chain, ready: int) -> None:
        """What a hold beyond the free time costs, for each step that it begins sooner."""
        cut = chain.stream.cut
        weight = cut.hold_loss_cents_per_h * chain.portion.pieces * QUARTERS * self.grid.step_min // 60
        free = self._steps(cut.hold_free_min)
        job = self.model.add_job(weight=max(0, weight), due_date=max(0, ready - free))
        task = self.model.add_task(job)
        self._mode(task, 0)
        self.model.add_start_at_start(chain.hold, task)

    def board(self, tasks: list[tuple[int, int]]) -> Board:
        """The loads of a solution, given as (mode, start) of each task in the model's order."""
        grid = self.grid
        frame = Frame(everywhere(grid, (box.setpoints_f[0] for box in grid.fireboxes)), grid.shifts)
        board = Board.empty(grid, frame)
        number = {id(task): i for i, task in enumerate(self.model.tasks)}
        for chain in self.chains:
            if tasks[number[id(chain.way)]][0] in self.short:
                continue
            finish_mode, wrapped = tasks[number[id(chain.finish)]]
            smoke_mode, load = (finish_mode, wrapped) if chain.smoke is None else tasks[number[id(chain.smoke)]]
            board.put(
                Placed(
                    stream=chain.stream.index,
                    demand=chain.portion.demand,
                    pieces=chain.portion.pieces,
                    smoke_spot=self.where[smoke_mode],
                    finish_spot=self.where[finish_mode],
                    load_step=load,
                    wrap_step=None if chain.smoke is None else wrapped,
                    rest=self.where.get(tasks[number[id(chain.rest)]][0], -1),
                    hold=self.where.get(tasks[number[id(chain.hold)]][0], -1),
                )
            )
        return board
