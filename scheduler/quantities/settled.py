"""From what is wanted to a plan of what is made.

The solver is given each wave as several demands of diminishing worth and makes what pays. What it makes is then the
quantity: the demands of a wave become one again, and the plan stands on its own, to be audited like any other.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from scheduler.audit import audit, price
from scheduler.audit.breach import Breach
from scheduler.books import scenario_hash
from scheduler.forecast.worth import Wanted, with_waves
from scheduler.learn.layout import laid_out
from scheduler.model.fold import folded
from scheduler.model.plan import Certificate, Plan
from scheduler.model.scenario import Scenario
from scheduler.model.weekend import Wave, wave_name
from scheduler.solve.progress import gap_of, known_bound

_FURTHER = re.compile(r" \+\d+$")

Planner = Callable[[Scenario], Plan]
"""Plans a weekend; the seam to the solver."""

Again = Callable[[Plan, Scenario], Plan]
"""Goes on from a plan for other quantities."""


@dataclass(frozen=True)
class Settled:
    """A plan with the quantities that it makes, and what they are expected to earn."""

    plan: Plan
    scenario: Scenario
    wanted: tuple[Wanted, ...]
    made: Mapping[tuple[str, str], int]
    """Pieces by cut and wave, orders aside."""
    why: Mapping[tuple[str, str], str]
    """Why no more of a wave is made, in the solver's words, where pieces that would pay are not made."""
    breaches: tuple[Breach, ...]
    earned_cents: int
    """Expected margin of the pieces less wages, wood, hold and moves of the plan, and orders that are not kept."""


def newsvendor_then_plan(scenario: Scenario, wanted: Sequence[Wanted], planner: Planner) -> Settled:
    """The newsvendor's quantities first, then a plan for them, each piece counting as if it were sold for sure."""
    asked = with_waves(scenario, wanted, diminishing=False)
    return _settled(planner(asked), asked, wanted)


def plan_quantities(scenario: Scenario, wanted: Sequence[Wanted], planner: Planner, again: Again) -> Settled:
    """Quantities and plan in one: the newsvendor's plan taken up again, each further piece at what it is worth.

    The search then leaves out what costs more in hands, fire and room than it is expected to earn, and uses the room
    for what earns more. What comes out is never expected to earn less than what it started from.
    """
    first = newsvendor_then_plan(scenario, wanted, planner)
    asked = with_waves(scenario, wanted, diminishing=True)
    better = _settled(again(first.plan, asked), asked, wanted)
    return max(first, better, key=lambda settled: settled.earned_cents)


def with_trials(found: Settled, planner: Planner) -> Settled:
    """The same quantities planned once more with the pairs of the weekend's trials, of which demand knows nothing.

    Where there is no trial, what was found comes back.
    """
    laid = laid_out(found.scenario)
    if laid == found.scenario:
        return found
    plan, fixed = settle(planner(laid), laid, found.wanted)
    plain, _ = folded(plan, fixed)
    earned = expected_cents(plain, found.wanted)
    made = pieces_made(plain)
    return replace(found, plan=plan, scenario=fixed, made=made, breaches=audit(plan, fixed), earned_cents=earned)


def _settled(found: Plan, asked: Scenario, wanted: Sequence[Wanted]) -> Settled:
    plan, fixed = settle(found, asked, wanted)
    why = {(short.cut, _base(short.wave)): short.why for short in reversed(found.shorts)}
    made = pieces_made(plan)
    return Settled(plan, fixed, tuple(wanted), made, why, audit(plan, fixed), expected_cents(plan, wanted))


def settle(plan: Plan, asked: Scenario, wanted: Sequence[Wanted]) -> tuple[Plan, Scenario]:
    """The plan and the scenario with what is made as the quantity of each wanted wave.

    The bound stays a bound: a plan of the new scenario costs at least what it costs with the shorts that both have in
    common taken away, since a piece counts there with its whole margin and here with less.
    """
    mine = {(w.draws.cut.name, wave_name(wave.at)) for w in wanted for wave in w.draws.waves}
    loads = tuple(
        x.model_copy(update={"wave": _base(x.wave)}) if (x.cut, _base(x.wave)) in mine else x for x in plan.loads
    )
    shorts = tuple(short for short in plan.shorts if (short.cut, _base(short.wave)) not in mine)
    plan = plan.model_copy(update={"loads": loads, "shorts": shorts, "reliefs": ()})
    made = pieces_made(plan)

    def fixed(wave: Wave) -> Wave:
        key = wave.cut, wave_name(wave.at)
        return wave.model_copy(update={"pieces": made[key], "worth_cents": ()}) if key in mine else wave

    weekend = asked.weekend.model_copy(update={"waves": tuple(map(fixed, asked.weekend.waves))})
    scenario = asked.model_copy(update={"weekend": weekend})
    cost = price(plan, scenario)
    dropped = plan.cost.total - cost.total
    update = {
        "cost": cost,
        "scenario_hash": scenario_hash(scenario),
        "certificate": _certificate(plan.certificate, cost.total, dropped),
    }
    return plan.model_copy(update=update), scenario


def _certificate(old: Certificate, total: int, dropped: int) -> Certificate:
    if old.bound_cents is None:
        return old
    bound = known_bound(total, max(0, old.bound_cents - dropped))
    return old.model_copy(update={"bound_cents": bound, "gap": gap_of(total, bound)})


def pieces_made(plan: Plan) -> Counter[tuple[str, str]]:
    """Pieces by cut and wave."""
    made: Counter[tuple[str, str]] = Counter()
    for load in plan.loads:
        made[load.cut, load.wave] += load.pieces
    return made


def expected_cents(plan: Plan, wanted: Sequence[Wanted]) -> int:
    """Expected margin of what a settled plan makes, less what the plan itself costs, cents."""
    made = pieces_made(plan)
    value = sum(
        w.draws.value_cents([made[w.draws.cut.name, wave_name(wave.at)] for wave in w.draws.waves]) for w in wanted
    )
    return round(value) - plan.cost.total


def _base(wave: str) -> str:
    """The name of a wave without the part of it that a demand stands for."""
    return _FURTHER.sub("", wave)
