"""From a board to the plan that is printed: loads with codes, burns, shifts, tasks, shorts, cost."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace

from scheduler.audit import price
from scheduler.books import scenario_hash
from scheduler.model.plan import Certificate, Cost, Fire, Load, Plan, Setpoint, Shift, Short
from scheduler.solve.board import Board, Placed
from scheduler.solve.frame import Burn
from scheduler.solve.give_way import shared
from scheduler.solve.grid import Grid
from scheduler.solve.people import OnShift
from scheduler.solve.work import all_work

NOTHING = Cost(shorts=0, wages=0, wood=0, hold=0, moves=0)


@dataclass(frozen=True, slots=True)
class Assembled:
    """A plan without its certificate's last word, and the steps at which its work could not be shared out."""

    plan: Plan
    overfull: tuple[int, ...]


def assemble(board: Board, certificate: Certificate) -> Assembled:
    """The plan that a board stands for."""
    grid = board.grid
    scenario = grid.scenario
    loads = _loads(board)
    burns = board.frame.burns(grid)
    crew = _crew(board)
    sheet = shared(grid, all_work(grid, loads, burns), crew, {load.code: load for load in loads})
    plan = Plan(
        scenario=scenario.weekend.name,
        scenario_hash=scenario_hash(scenario),
        invented=scenario.weekend.invented,
        timezone=scenario.weekend.timezone,
        clock=scenario.weekend.clock,
        loads=loads,
        fires=tuple(_fire(grid, burn) for burn in sorted(burns, key=lambda burn: (burn.lit, burn.firebox))),
        shifts=tuple(member.shift for member in crew),
        tasks=sheet.tasks,
        shorts=_shorts(board),
        cost=NOTHING,
        certificate=certificate,
    )
    return Assembled(plan.model_copy(update={"cost": price(plan, scenario)}), sheet.overfull)


def merged(placed: list[Placed]) -> list[Placed]:
    """Loads that differ in nothing but their number become one."""
    pieces: Counter[Placed] = Counter()
    for load in placed:
        pieces[replace(load, pieces=0)] += load.pieces
    return [replace(load, pieces=n) for load, n in pieces.items()]


def _loads(board: Board) -> tuple[Load, ...]:
    def order(load: Placed) -> tuple[int, ...]:
        wrap = -1 if load.wrap_step is None else load.wrap_step
        return load.load_step, load.smoke_spot, wrap, load.finish_spot, load.demand, load.rest, load.hold

    numbers: Counter[str] = Counter()
    found = []
    for load in sorted(merged(board.placed), key=order):
        code = board.grid.streams[load.stream].cut.code
        numbers[code] += 1
        found.append(load_of(board, load, f"{code}{numbers[code]:02d}"))
    return tuple(found)


def load_of(board: Board, load: Placed, code: str) -> Load:
    grid = board.grid
    at = grid.scenario.weekend.timeline.moment
    stream, demand = grid.streams[load.stream], grid.demands[load.demand]
    smoke, finish, took = board.spots[load.smoke_spot], board.spots[load.finish_spot], board.took(load)
    start = load.finish_step * grid.step_min
    return Load(
        code=code,
        cut=stream.cut.name,
        recipe=stream.recipe.name,
        wave=demand.wave,
        pieces=load.pieces,
        smoker=grid.places[smoke.place].name,
        rack=smoke.rack or "",
        load_at=at(load.load_step * grid.step_min),
        wrap_at=None if load.wrap_step is None else at(load.wrap_step * grid.step_min),
        wrap_kind=stream.recipe.wrap_kind,
        finish_place=grid.places[finish.place].name,
        finish_rack=finish.rack,
        early_done_at=at(start + took.early_min),
        likely_done_at=at(start + took.likely_min),
        late_done_at=at(start + took.late_min),
        rest_place=grid.rest[load.rest].name if load.rest >= 0 else None,
        hold_place=grid.hold[load.hold].name if load.hold >= 0 else None,
        hold_from_at=at(start + took.early_min + stream.cut.rest_min),
        ready_by_at=demand.ready_by_at,
        served_until_at=demand.served_until_at,
    )


def _fire(grid: Grid, burn: Burn) -> Fire:
    at = grid.scenario.weekend.timeline.moment
    box = grid.fireboxes[burn.firebox]
    ready = burn.lit * grid.step_min + box.warm_up_min
    setpoints = [
        Setpoint(from_at=at(step * grid.step_min if i else ready), setpoint_f=setpoint)
        for i, (step, setpoint) in enumerate(burn.setpoints)
    ]
    return Fire(
        firebox=box.name,
        lit_at=at(burn.lit * grid.step_min),
        ready_at=at(ready),
        out_at=at(burn.out * grid.step_min),
        setpoints=tuple(setpoints),
    )


def _crew(board: Board) -> list[OnShift]:
    at = board.grid.scenario.weekend.timeline.moment
    chosen = sorted(board.frame.shifts, key=lambda o: (o.start_min, o.end_min, o.pattern.name, o.person.name))
    return [
        OnShift(
            option,
            Shift(
                code=f"S{i}",
                person=option.person.name,
                pattern=option.pattern.name,
                starts_at=at(option.start_min),
                ends_at=at(option.end_min),
            ),
        )
        for i, option in enumerate(chosen, start=1)
    ]


def _shorts(board: Board) -> tuple[Short, ...]:
    found = []
    for demand, made in zip(board.grid.demands, board.made(), strict=True):
        if made < demand.pieces:
            missing = demand.pieces - made
            found.append(Short(cut=demand.cut, wave=demand.wave, pieces=missing, why="not looked into"))
    return tuple(found)
