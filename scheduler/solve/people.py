"""Who does what: the work of each step is shared out among the people on shift.

Steps are settled in order of time, so that people go on with what they are at. What can be dealt out so that it could
not suit better, or is too much for a model to be worth its time, is dealt; all else is put as an exact small model.
"""

from __future__ import annotations

from dataclasses import dataclass

from ortools.sat.python import cp_model

from scheduler.model.clock import elapsed_min
from scheduler.model.crew import SKILL_OF, TaskKind
from scheduler.model.plan import Shift, Task
from scheduler.solve.deal import Table, deal
from scheduler.solve.grid import Grid
from scheduler.solve.shift_options import ShiftOption
from scheduler.solve.work import Work

ORDER: tuple[TaskKind, ...] = ("counter", "tend", "light", "clean", "load", "wrap", "move", "pull", "slice")
"""Inside a step a person does the pressing things first: a tending round must start on time."""
LARGEST_MODEL = 50
"""Pairs of work and somebody who can do it: with more of them a model takes too long for the little that it gains."""


@dataclass(frozen=True, slots=True)
class OnShift:
    """A person in a shift of the plan."""

    option: ShiftOption
    shift: Shift

    def can(self, kind: TaskKind) -> bool:
        """True if they have the skill and the law lets them use it."""
        return SKILL_OF[kind] in self.option.skills


@dataclass(frozen=True, slots=True)
class Share:
    """A part of some work given to one person."""

    work: Work
    who: OnShift
    minutes: int
    pieces: int


@dataclass(frozen=True, slots=True)
class Sheet:
    """Tasks of the plan, and the steps whose work could not be shared out."""

    tasks: tuple[Task, ...]
    overfull: tuple[int, ...]


def share_out(grid: Grid, work: list[list[Work]], crew: list[OnShift]) -> Sheet:
    """Give all work to people. Steps where that fails are named, and their work is left without a person."""
    tasks: list[Task] = []
    overfull: list[int] = []
    before: dict[tuple[TaskKind, str], set[str]] = {}
    for step, todo in enumerate(work):
        if not todo:
            before = {}
            continue
        there = [p for p in crew if _covers(grid, p.option, step)]
        shares = _shared(grid, todo, there, before)
        if shares is None:
            overfull.append(step)
            continue
        before = {}
        for share in shares:
            before.setdefault((share.work.kind, share.work.place), set()).add(share.who.shift.code)
        tasks += _in_time(grid, step, shares)
    return Sheet(tuple(_merged(tasks)), tuple(overfull))


def can_share(grid: Grid, todo: list[Work], crew: list[OnShift], step: int) -> bool:
    """True if the work of a step can be shared out among those on shift."""
    there = [p for p in crew if _covers(grid, p.option, step)]
    return not todo or _shared(grid, todo, there, {}) is not None


def _covers(grid: Grid, option: ShiftOption, step: int) -> bool:
    return option.start_min <= step * grid.step_min and (step + 1) * grid.step_min <= option.end_min


def _shared(
    grid: Grid, todo: list[Work], there: list[OnShift], before: dict[tuple[TaskKind, str], set[str]]
) -> list[Share] | None:
    site = grid.scenario.site
    prices = [
        {
            p: _price(person, before.get((work.kind, work.place), set()))
            for p, person in enumerate(there)
            if person.can(work.kind)
        }
        for work in todo
    ]
    table = Table(grid.step_min, todo, prices, {"wrap": site.wrap_tables, "slice": site.cutting_boards})
    if not all(prices):
        return None
    parts = deal(table)
    dealt = None if parts is None else [Share(todo[a.work], there[a.person], a.minutes, a.pieces) for a in parts]
    if parts is None or (sum(map(len, prices)) <= LARGEST_MODEL and table.price(parts) > table.least_price()):
        return _exact(table, there) or dealt
    return dealt


def _price(person: OnShift, before: set[str]) -> int:
    """How little it suits to give somebody a part of some work, whose shifts were at it before."""
    return 10 - 4 * (person.shift.code in before) + len(person.option.skills)


def _exact(table: Table, there: list[OnShift]) -> list[Share] | None:
    model = cp_model.CpModel()
    todo = table.todo
    cells: dict[tuple[int, int], _Cell] = {}
    for w, work in enumerate(todo):
        mine = []
        for p in table.prices[w]:
            cells[w, p] = _Cell.build(model, table.step_min, work)
            mine.append(cells[w, p])
        model.add(
            sum(cell.minutes for cell in mine) == work.minutes
            if not work.by_piece
            else sum(cell.pieces for cell in mine) == work.pieces
        )
        if not (work.by_piece or work.by_minute):
            model.add_exactly_one(cell.used for cell in mine)
    for p in range(len(there)):
        _in_a_row(model, table.step_min, [(todo[w], cell) for (w, p2), cell in cells.items() if p2 == p])
    for kind, stations in table.stations.items():
        at_it = [(p, cell) for (w, p), cell in cells.items() if todo[w].kind == kind]
        _stations(model, [[cell for p2, cell in at_it if p2 == p] for p in range(len(there))], stations)
    model.minimize(sum(table.prices[w][p] * cell.used for (w, p), cell in cells.items()))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_deterministic_time = 0.2
    if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    return [
        Share(todo[w], there[p], solver.value(cell.minutes), solver.value(cell.pieces) if todo[w].by_piece else 0)
        for (w, p), cell in cells.items()
        if solver.value(cell.used)
    ]


@dataclass(frozen=True, slots=True)
class _Cell:
    """One person's part of one piece of work."""

    used: cp_model.IntVar
    minutes: cp_model.LinearExprT
    pieces: cp_model.LinearExprT

    @staticmethod
    def build(model: cp_model.CpModel, step_min: int, work: Work) -> _Cell:
        used = model.new_bool_var("")
        if work.kind == "counter":
            return _Cell(used, used * step_min, 0)
        if work.by_piece:
            pieces = model.new_int_var(0, work.pieces, "")
            minutes = model.new_int_var(0, work.minutes, "")
            model.add(pieces <= work.pieces * used)
            model.add(pieces >= used)
            model.add(minutes * 10 >= pieces * round(work.per_piece_min * 10))
            model.add(minutes >= used)
            return _Cell(used, minutes, pieces)
        if work.by_minute:
            minutes = model.new_int_var(0, work.minutes, "")
            model.add(minutes <= work.minutes * used)
            model.add(minutes >= used)
            return _Cell(used, minutes, 0)
        return _Cell(used, used * work.minutes, 0)


def _in_a_row(model: cp_model.CpModel, step_min: int, mine: list[tuple[Work, _Cell]]) -> None:
    """One person's work fits into the step one after another, as `_in_time` puts it."""

    def last(work: Work) -> int:
        return step_min if work.before is None else work.before

    model.add(sum(cell.minutes for _, cell in mine) <= step_min)
    for after, before in {(work.after, last(work)) for work, _ in mine}:
        late = [cell.minutes for work, cell in mine if work.after >= after and last(work) <= before]
        model.add(sum(late) <= before - after)
        if before < step_min:
            model.add(sum(cell.minutes for work, cell in mine if last(work) <= before) <= before)
    for work, cell in mine:
        if work.after and work.before is not None:
            # It comes first, and what is not so pressed waits for it.
            model.add(sum(c.minutes for _, c in mine) <= step_min - work.after).only_enforce_if(cell.used)


def _stations(model: cp_model.CpModel, by_person: list[list[_Cell]], stations: int) -> None:
    """No more people at wrap tables or cutting boards in a step than there are."""
    busy = []
    for mine in by_person:
        if mine:
            at_it = model.new_bool_var("")
            model.add_max_equality(at_it, [cell.used for cell in mine])
            busy.append(at_it)
    if busy:
        model.add(sum(busy) <= stations)


def _pressing(share: Share) -> tuple[int, int, int, str, tuple[str, ...]]:
    """What must be done early in the step comes first, what can't be done before some minute last."""
    work = share.work
    if work.before is not None:
        return 0, work.before, ORDER.index(work.kind), work.place, work.loads
    return 1 + (work.after > 0), work.after, ORDER.index(work.kind), work.place, work.loads


def _in_time(grid: Grid, step: int, shares: list[Share]) -> list[Task]:
    found: list[Task] = []
    for code in sorted({share.who.shift.code for share in shares}):
        minute = step * grid.step_min
        mine = [share for share in shares if share.who.shift.code == code]
        for share in sorted(mine, key=_pressing):
            work = share.work
            minute = max(minute, step * grid.step_min + work.after)
            found.append(
                Task(
                    at=grid.scenario.weekend.timeline.moment(minute),
                    minutes=share.minutes,
                    kind=work.kind,
                    person=share.who.shift.person,
                    shift=code,
                    loads=work.loads,
                    pieces=share.pieces,
                    place=work.place,
                )
            )
            minute += share.minutes
    return found


def _merged(tasks: list[Task]) -> list[Task]:
    """Counter work of one person that goes on from step to step becomes one task."""
    found: list[Task] = []
    running: dict[str, int] = {}
    for task in tasks:
        at = running.get(task.shift)
        if task.kind == "counter" and at is not None:
            last = found[at]
            if elapsed_min(last.at, task.at) == last.minutes:
                found[at] = last.model_copy(update={"minutes": last.minutes + task.minutes})
                continue
        if task.kind == "counter":
            running[task.shift] = len(found)
        found.append(task)
    return found
