"""A fire goes out for good on Saturday at 3 am: how good is the new plan after 5 seconds, and how near to the old one?

python tests/bench/night_fire.py PLAN_FOLDER [SECONDS]

For each firebox with loads over it: the first new plan, the one after 5 s, and that of a full solve of the same state
for SECONDS (120); all in what the search compares, the plan's cost and the price of telling the crew otherwise. Then
the share of the old plan's instructions that stand in the new plan, beside that of a solve to which change is free.
"""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT)]

from scheduler.books import read_plan, read_scenario  # noqa: E402
from scheduler.model.log import Down, Log  # noqa: E402
from scheduler.model.plan import Plan  # noqa: E402
from scheduler.model.scenario import Scenario  # noqa: E402
from scheduler.reshuffle.baseline import right_shift  # noqa: E402
from scheduler.reshuffle.changed import share_unchanged  # noqa: E402
from scheduler.reshuffle.prices import NONE, PRICES, ChangePrice  # noqa: E402
from scheduler.reshuffle.replan import Reshuffled, Search  # noqa: E402
from scheduler.reshuffle.state import State, state_at  # noqa: E402

SCENARIO = ROOT / "scenarios" / "harvest-weekend"
SOON_S, FULL_S = 5.0, 120.0


def solved(state: State, seconds: float, price: ChangePrice = PRICES) -> tuple[Reshuffled, Reshuffled, Search]:
    """The first plan and the last one of a search."""
    search = Search(state, price)
    firsts: list[Reshuffled] = []
    last = search.run(seconds=seconds, first=firsts.append)
    assert last is not None
    return firsts[0], last, search


def compared(found: Reshuffled) -> float:
    """What the search compares, dollars."""
    assert found.candidate is not None
    return found.candidate.cents / 100


def one_fire(plan: Plan, scenario: Scenario, box: str, full_s: float) -> None:
    """Print the figures of one firebox."""
    saturday = next(day.opens for day in scenario.weekend.days if f"{day.opens:%a}" == "Sat")
    at = scenario.weekend.local(saturday.replace(hour=3, minute=0, tzinfo=None))
    state = state_at(plan, scenario, Log((Down(at=at, place=box),)), at)
    first, soon, search = solved(state, SOON_S)
    _, full, _ = solved(state, full_s)
    _, free, _ = solved(state, SOON_S, NONE)
    over = compared(soon) / compared(full) - 1
    print(f"{box}, {sum(begun.dead_min is not None for begun in state.past.begun)} loads over it")
    print(
        f"  first plan after {first.seconds:.2f} s: ${compared(first):,.2f}, plan ${first.plan.cost.total / 100:,.2f}"
    )
    print(
        f"  after {SOON_S:g} s: ${compared(soon):,.2f}, plan ${soon.plan.cost.total / 100:,.2f}, {search.moves} moves"
    )
    print(f"  full solve, {full_s:g} s: ${compared(full):,.2f}, plan ${full.plan.cost.total / 100:,.2f}")
    print(f"  5 s over the full solve: {over:+.1%}")
    waiting = right_shift(search.basis)
    print(f"  only later, nothing else: ${waiting.cents / 100:,.2f}, {waiting.short} pieces short")
    kept, kept_free = (share_unchanged(plan, found.plan, at) for found in (soon, free))
    print(f"  instructions that stand: {kept:.0%}; where change is free: {kept_free:.0%}", flush=True)


def main() -> None:
    """All fireboxes with loads over them."""
    scenario = read_scenario(SCENARIO)
    plan = read_plan(Path(sys.argv[1]) / "plan.json")
    for box in scenario.site.fireboxes:
        one_fire(plan, scenario, box.name, float(sys.argv[2]) if len(sys.argv) > 2 else FULL_S)


if __name__ == "__main__":
    main()
