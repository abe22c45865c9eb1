"""The corner kitchen of the invented scenarios, changed one thing at a time, and finished boards of it."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

from scheduler.books import read_scenario
from scheduler.model.menu import Cut
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.solve.assemble import assemble
from scheduler.solve.board import Board
from scheduler.solve.grid import build_grid
from scheduler.solve.improve import first_plans, step
from scheduler.solve.progress import certificate

SCENARIOS = Path(__file__).parents[2] / "scenarios"


@cache
def corner() -> Scenario:
    """One Saturday, two smokers, four people, 42 pieces: all can be made."""
    return read_scenario(SCENARIOS / "corner-saturday")


def with_site(scenario: Scenario, **update: Any) -> Scenario:
    """The same with some of the site changed."""
    return scenario.model_copy(update={"site": scenario.site.model_copy(update=update)})


def with_weekend(scenario: Scenario, **update: Any) -> Scenario:
    """The same with some of the weekend changed."""
    return scenario.model_copy(update={"weekend": scenario.weekend.model_copy(update=update)})


def without(scenario: Scenario, *names: str) -> Scenario:
    """The same without some people."""
    people = tuple(person for person in scenario.crew.people if person.name not in names)
    return scenario.model_copy(update={"crew": scenario.crew.model_copy(update={"people": people})})


def with_cuts(scenario: Scenario, change: Callable[[Cut], Cut]) -> Scenario:
    """The same with its cuts changed."""
    cuts = tuple(change(cut) for cut in scenario.menu.cuts)
    return scenario.model_copy(update={"menu": scenario.menu.model_copy(update={"cuts": cuts})})


def only(scenario: Scenario, *cuts: str) -> Scenario:
    """The same with the waves of some cuts only, and no orders."""
    waves = tuple(wave for wave in scenario.weekend.waves if wave.cut in cuts)
    return with_weekend(scenario, waves=waves, orders=())


def smaller(items: tuple[Any, ...], share: float) -> tuple[Any, ...]:
    """Shelves, cabinets or racks with so much of their spaces."""
    return tuple(item.model_copy(update={"spaces": round(item.spaces * share, 2)}) for item in items)


def half_the_hold() -> Scenario:
    """Half the room in the holding cabinet."""
    return with_site(corner(), hold_cabinets=smaller(corner().site.hold_cabinets, 0.5))


def finished(scenario: Scenario, moves: int = 40) -> tuple[Plan, Board]:
    """A plan after some moves of the search, and its board."""
    grid = build_grid(scenario)
    best = min(first_plans(grid), key=lambda plan: plan.cents)
    rng = Random(0)
    for _ in range(moves):
        new = step(best, rng)
        if new is not None and new.cents < best.cents and _manned(new.board):
            best = new
    return assemble(best.board, certificate(0, None, grid.step_min, 0.0, "work", 0)).plan, best.board


def _manned(board: Board) -> bool:
    return all(float(left.min()) >= -1e-6 for _, left in board.hands.left)
