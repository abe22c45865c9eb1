"""This program's own run: the search as `plan` does it, watched from beside, then a fire that fails at night."""

from __future__ import annotations

import time
from collections import Counter
from dataclasses import dataclass
from datetime import datetime

from scheduler.bench.memory import Watch
from scheduler.bench.outcome import Made, Point
from scheduler.bench.weekends import FRIDAY, GRID_MIN
from scheduler.model.log import Down, Log
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.reshuffle.replan import Reshuffled
from scheduler.reshuffle.replan import Search as Replan
from scheduler.reshuffle.state import state_at
from scheduler.solve.grid import build_grid
from scheduler.solve.progress import StopRule
from scheduler.solve.search import Search

FAILS_AT = (1, 3)
"""Day (Friday is 0) and hour at which a fire goes out for good."""
LOOK_S, SETTLED_S = 3.0, 15.0
"""The new plan is looked at after so long, and compared with the one after so long."""


def run(scenario: Scenario, seconds: float, seed: int = 0, *, reshuffle: bool = True) -> tuple[Made, int]:
    """The search for so many seconds; what it made, and the memory that it took in MB."""
    started = time.monotonic()
    stop = StopRule(seconds=seconds)
    search = Search(build_grid(scenario, GRID_MIN), stop, seed, None)
    history: list[Point] = []
    found: list[tuple[float, int]] = []

    def look() -> None:
        now, kept, bound = time.monotonic() - started, search.best, search.bound.cents
        cost = None if kept is None else kept.plan.cost.total
        if not history or history[-1][1:] != (cost, bound):
            history.append((now, cost, bound))
        if cost is not None and (not found or cost < found[-1][1]):
            found.append((round(now, 2), cost))

    with Watch(look) as watch:
        plan = search.run()
    more: dict[str, float | None] = {"cores": watch.cores, "answer_s": round(time.monotonic() - started, 1)}
    note = ""
    if reshuffle:
        figures, note = reshuffled(plan, scenario)
        more |= figures
    bound = search.bound.cents  # as it was proven; the certificate never says more than the cost
    return Made(plan, tuple(found), bound, note, tuple(history), more), watch.megabytes


def reshuffled(
    plan: Plan, scenario: Scenario, looks_s: tuple[float, float] = (LOOK_S, SETTLED_S)
) -> tuple[dict[str, float | None], str]:
    """A fire with loads over it goes out for good on Saturday at 3 am: when a new plan is there, and how good it is.

    With a note where there is none.

    Costs are those that the reshuffle compares: the plan's, and the price of telling the crew otherwise.
    """
    at = scenario.weekend.local(datetime(FRIDAY.year, FRIDAY.month, FRIDAY.day + FAILS_AT[0], FAILS_AT[1]))
    box = busiest_fire(plan, scenario, at)
    if box is None:
        return {"reshuffle_loads": 0.0}, "no loads over any fire on Saturday at 3 am"
    down = Down(at=at, place=box[0])
    soon, settled = (_replanned(plan, scenario, down, seconds) for seconds in looks_s)
    note = "" if soon.first_s is not None else f"no first plan when {box[0]} fails: {soon.why}"
    figures = {
        "reshuffle_loads": float(box[1]),
        "reshuffle_first_s": soon.first_s,
        "reshuffle_first_cents": soon.first_cents,
        "reshuffle_3s_cents": soon.cents,
        "reshuffle_15s_cents": settled.cents,
    }
    return figures, note


@dataclass(slots=True)
class _Replanned:
    """What came of one reshuffle; None for what did not."""

    first_s: float | None = None
    first_cents: float | None = None
    cents: float | None = None
    why: str = ""


def _replanned(plan: Plan, scenario: Scenario, down: Down, seconds: float) -> _Replanned:
    """A reshuffle of so many seconds, with the reading of the state."""
    made, began = _Replanned(), time.monotonic()
    search = Replan(state_at(plan, scenario, Log((down,)), down.at))

    def hear(first: Reshuffled) -> None:
        made.first_s, made.first_cents = round(time.monotonic() - began, 2), _compared(first)

    made.cents = _compared(search.run(seconds=seconds, first=hear))
    made.why = _why(search)
    return made


def _compared(found: Reshuffled | None) -> float | None:
    return None if found is None or found.candidate is None else found.candidate.cents


def _why(search: Replan) -> str:
    """What the audit said of the last plan that was tried."""
    return search.breaches[0].sentence if search.breaches else "its work could not be shared out"


def busiest_fire(plan: Plan, scenario: Scenario, at: datetime) -> tuple[str, int] | None:
    """The firebox with most loads over it at a time, and how many; None if there is none."""
    boxes = {smoker.name: smoker.firebox for smoker in scenario.site.smokers}
    over: Counter[str] = Counter()
    for load in plan.loads:
        place = load.smoker if at < load.finish_from_at else load.finish_place
        if load.load_at <= at < load.early_done_at and place in boxes:
            over[boxes[place]] += 1
    return max(over.items(), key=lambda pair: (pair[1], pair[0])) if over else None
