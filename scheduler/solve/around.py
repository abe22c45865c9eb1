"""A plan changed by hand: one load moved as a person asks, and all others planned anew around what was pinned.

A load that is moved is taken at its word, whatever that breaks; the audit says what. A pinned load stays as it is: a
move of the search that changes it is never kept.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from random import Random
from threading import Event

from scheduler.errors import InputError, Problem
from scheduler.model.plan import Load, Plan, StoppedBy
from scheduler.model.scenario import Scenario
from scheduler.solve.again import board_of
from scheduler.solve.assemble import assemble
from scheduler.solve.board import Board, Placed, finish_at, smoke_at
from scheduler.solve.checked import checked
from scheduler.solve.frame import Frame
from scheduler.solve.grid import Grid, build_grid
from scheduler.solve.improve import Found, first_plans, found, step
from scheduler.solve.laid import placed_of
from scheduler.solve.progress import Listener, Progress, certificate
from scheduler.solve.relief import explain
from scheduler.solve.settle import rebuild, settle

REPAIRS = 3
SLACK = 0.01
"""At the start the search may stray by up to this share of the cost above its best."""
EXPLAIN_SHARE, EXPLAIN_LEAST_S = 0.15, 2.0
TRIED = 12


@dataclass(frozen=True, slots=True)
class MovedLoad:
    """What a person asks of one load; minutes since `plan_from`."""

    code: str
    smoker: str
    rack: str
    load_min: int
    wrap_min: int | None
    finish_place: str
    finish_rack: str | None


def _refused(code: str, field: str, what: str, mend: str) -> InputError:
    return InputError([Problem("the plan", f"load {code}", field, what, mend)])


def move_load(plan: Plan, scenario: Scenario, asked: MovedLoad) -> Plan:
    """The plan with one load elsewhere or at another time; its work is shared out anew, the rest stays.

    It may break rules, so audit it. InputError where the move makes no sense at all: off the grid, on a place where
    the recipe cannot be cooked.
    """
    grid = build_grid(scenario, plan.certificate.grid_min)
    board, by_code = _laid(plan, grid)
    old = by_code.get(asked.code)
    if old is None:
        raise _refused(asked.code, "code", "the plan has no such load", "choose one of the plan's loads")
    new = _asked_for(board, old, asked)
    for load in list(board.placed):
        if load == old:
            board.take(load)
            break
    board.put(new)
    made = assemble(board, plan.certificate).plan
    codes = {code: placed for code, placed in by_code.items() if code != asked.code} | {asked.code: new}
    return _named(made, board, codes).model_copy(update={"reliefs": ()})


def plan_around(
    plan: Plan,
    scenario: Scenario,
    pins: Iterable[str],
    *,
    seconds: float = 30.0,
    work: int | None = None,
    seed: int = 0,
    listener: Listener | None = None,
    stop: Event | None = None,
) -> Plan:
    """The best plan found in which the pinned loads stay as they are in this one; it has passed the audit.

    Stops after `seconds` or, repeatably, after `work` moves. InputError if no plan keeps all the pins,
    or a pin is of no load of this one.
    """
    grid = build_grid(scenario, plan.certificate.grid_min)
    board, by_code = _laid(plan, grid)
    codes = {code: by_code[code] for code in _of_this_plan(pins, by_code)}
    search = _Around(grid, Counter(_pieces(codes.values())), Random(seed), stop or Event(), listener)
    search.start(board, list(codes.values()))
    search.improve((1 - EXPLAIN_SHARE) * seconds, work)
    best, made = search.cheapest(codes)
    gone = time.monotonic() - search.started
    signed = certificate(best.cost.total, None, grid.step_min, 0.0 if work is not None else gone, search.why, seed)
    best = _named(best, made, codes).model_copy(update={"certificate": signed})
    looked = None if work is None else max(1, work // 10)
    return explain(best, made, seconds=max(EXPLAIN_LEAST_S, EXPLAIN_SHARE * seconds), seed=seed, work=looked)


class _Around:
    """A neighbourhood search that keeps no board without its pins."""

    def __init__(
        self, grid: Grid, pinned: Counter[Placed], rng: Random, stop: Event, listener: Listener | None
    ) -> None:
        self.grid, self.pinned, self.rng = grid, pinned, rng
        self.stop, self.listener = stop, listener
        self.started = time.monotonic()
        self.best: list[Found] = []
        self.work: int | None = None

    @property
    def why(self) -> StoppedBy:
        """What ended the search, as a certificate says it."""
        if self.stop.is_set():
            return "person"
        return "time" if self.work is None else "work"

    def keeps(self, board: Board) -> bool:
        """True if every pinned piece is where it was pinned."""
        there = Counter(_pieces(board.placed))
        return all(there[load] >= pieces for load, pieces in self.pinned.items())

    def start(self, board: Board, pinned: list[Placed]) -> None:
        """The plan itself with everything else fitted around the pins, and plans from nothing around them."""
        others = [load for load in board.placed if load not in pinned]
        frames = [board.frame, Frame(board.frame.levels, self.grid.shifts)]
        for frame in frames:
            self._offer(settle(rebuild(self.grid, frame, [*pinned, *others])))
        for first in first_plans(self.grid):
            levels = first.board.frame.levels
            self._offer(settle(rebuild(self.grid, Frame(levels, self.grid.shifts), [*pinned, *others])))

    def _offer(self, board: Board) -> None:
        if self.keeps(board):
            new = found(board)
            if not self.best or new.cents < self.best[-1].cents - 1e-6:
                self.best.append(new)
                self._tell(new)

    def _tell(self, new: Found) -> None:
        if self.listener is not None:
            short = sum(d.pieces - made for d, made in zip(self.grid.demands, new.board.made(), strict=True))
            gone = time.monotonic() - self.started
            self.listener(Progress(gone, round(new.cents), None, None, short, ""))

    def improve(self, seconds: float, work: int | None) -> None:
        """Search on."""
        self.work = work
        moves, now = 0, self.best[-1] if self.best else None
        while now is not None and not self.stop.is_set():
            gone = moves / work if work else (time.monotonic() - self.started) / seconds
            if gone >= 1:
                break
            moves += 1
            limit = self.best[-1].cents * (1 + SLACK * (1 - gone) * self.rng.random() ** 3)
            new = step(now, self.rng, limit)
            if new is not None and new.cents < limit and self.keeps(new.board):
                now = new
                self._offer(new.board)

    def cheapest(self, codes: dict[str, Placed]) -> tuple[Plan, Board]:
        """The cheapest plan that the audit passes and that keeps the pins."""
        for one in self.best[::-1][:TRIED]:
            made = checked(one.board, REPAIRS)
            if made is not None and self.keeps(again := board_of(made, self.grid)):
                return made, again
        raise InputError(
            [
                Problem(
                    "the plan",
                    f"load {', '.join(sorted(codes))}",
                    "pin",
                    "no plan that passes the audit keeps it where it is pinned",
                    "unpin a load, or move it to where there is a fire, room and somebody to load it",
                )
            ]
        )


def _pieces(loads: Iterable[Placed]) -> dict[Placed, int]:
    pieces: Counter[Placed] = Counter()
    for load in loads:
        pieces[replace(load, pieces=0)] += load.pieces
    return pieces


def _laid(plan: Plan, grid: Grid) -> tuple[Board, dict[str, Placed]]:
    """The board of a plan, and which of its loads has which code."""
    board = board_of(plan, grid)
    by_code: dict[str, Placed] = {}
    left = list(board.placed)
    for load in plan.loads:
        mine = next((p for p in left if _is(grid, p, load)), None)
        if mine is not None:
            by_code[load.code] = mine
            left.remove(mine)
    return board, by_code


def _is(grid: Grid, placed: Placed, load: Load) -> bool:
    """True if a load lies there, however many of its pieces.

    Steps are compared: of two zones, times of the hour that autumn repeats are never equal.
    """
    whole = placed_of(grid, load)
    return whole is not None and replace(whole, pieces=placed.pieces) == placed


def _of_this_plan(pins: Iterable[str], by_code: dict[str, Placed]) -> Iterator[str]:
    for code in pins:
        if code not in by_code:
            raise _refused(code, "pin", "the plan has no such load", "pin one of the plan's loads")
        yield code


def _asked_for(board: Board, old: Placed, asked: MovedLoad) -> Placed:
    grid, code = board.grid, asked.code
    try:
        smoke = grid.spot_of[asked.smoker, asked.rack]
    except KeyError:
        raise _refused(code, "rack", f"there is no {asked.smoker}, {asked.rack}", "choose a rack") from None
    try:
        finish = grid.spot_of[asked.finish_place, asked.finish_rack]
    except KeyError:
        raise _refused(code, "finish", f"there is no {asked.finish_place}", "choose a rack or an oven") from None
    stream = grid.streams[old.stream]
    if old.wrap_step is None and finish != smoke:
        raise _refused(code, "finish", "it is not wrapped, so it stays on its rack", "choose the same rack for both")
    for spot, field, option in ((smoke, "rack", smoke_at), (finish, "finish", finish_at)):
        if field == "rack" and old.wrap_step is None:
            continue
        try:
            option(stream, board.spots[spot].place)
        except KeyError:
            name = grid.places[board.spots[spot].place].name
            what = f"{stream.cut.name} by {stream.recipe.name} cannot be there: {name} never has the heat for it"
            raise _refused(code, field, what, "choose another place") from None
    steps = dict(_on_grid(grid, asked))
    if steps["wrap"] is not None and steps["load"] is not None and steps["wrap"] <= steps["load"]:
        raise _refused(code, "wrap", "the wrap is not after the loading", "give a later time")
    if (steps["wrap"] is None) != (old.wrap_step is None):
        raise _refused(code, "wrap", "its recipe says whether it is wrapped", "give a time for the wrap")
    assert steps["load"] is not None
    return replace(old, smoke_spot=smoke, finish_spot=finish, load_step=steps["load"], wrap_step=steps["wrap"])


def _on_grid(grid: Grid, asked: MovedLoad) -> Iterator[tuple[str, int | None]]:
    for field, minute in (("load", asked.load_min), ("wrap", asked.wrap_min)):
        if minute is None:
            yield field, None
            continue
        at, rest = divmod(minute, grid.step_min)
        if rest or not 0 <= at < grid.steps:
            what = f"it is not on the plan's grid of {grid.step_min} minutes, or not in the weekend"
            raise _refused(asked.code, field, what, f"give a time on a full {grid.step_min} minutes")
        yield field, at


def _named(plan: Plan, board: Board, codes: dict[str, Placed]) -> Plan:
    """The plan with the codes that some loads had before; all others get numbers that are free."""
    new: dict[str, str] = {}
    taken = set(codes)
    for load in plan.loads:
        kept = next((c for c in codes if c not in new.values() and _is(board.grid, codes[c], load)), None)
        if kept is not None:
            new[load.code] = kept
    for load in plan.loads:
        if load.code in new:
            continue
        letters = load.code.rstrip("0123456789")
        numbers = (f"{letters}{i:02d}" for i in range(1, 1000))
        new[load.code] = load.code if load.code not in taken else next(c for c in numbers if c not in taken)
        taken.add(new[load.code])
    loads = tuple(load.model_copy(update={"code": new[load.code]}) for load in plan.loads)
    tasks = tuple(task.model_copy(update={"loads": tuple(new[c] for c in task.loads)}) for task in plan.tasks)
    return plan.model_copy(update={"loads": loads, "tasks": tasks})
