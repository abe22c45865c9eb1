"""The price of a plan, in exact whole numbers, and the rules that its own figures agree with it."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.audit.breach import Breach
from scheduler.audit.reading import look
from scheduler.audit.view import View
from scheduler.audit.words import dollars
from scheduler.model.plan import Cost, Plan
from scheduler.model.scenario import Scenario

GAP_SLACK = 1e-6
"""A gap is a quotient, so it is compared with this slack."""


def half_up(sixtieths: int) -> int:
    """Sixtieths of a cent as whole cents, rounded half up."""
    return (sixtieths + 30) // 60


def price(plan: Plan, scenario: Scenario) -> Cost:
    """The cost of a plan by part, cents. Each part is summed exactly and rounded once. Unknown names cost nothing."""
    return priced(look(plan, scenario))


def priced(view: View) -> Cost:
    """The same, of a plan already laid beside its scenario."""
    return Cost(
        shorts=_shorts(view),
        wages=half_up(_wages(view)),
        wood=half_up(_wood(view)),
        hold=half_up(_hold(view)),
        moves=_moves(view),
    )


def _shorts(view: View) -> int:
    cuts = {cut.name: cut for cut in view.scenario.menu.cuts}
    total = 0
    for short in view.plan.shorts:
        cut, demand = cuts.get(short.cut), view.demands.get((short.cut, short.wave))
        if cut is not None and demand is not None:
            total += short.pieces * demand.short_cents(cut.margin_cents)
    return total


def _wages(view: View) -> int:
    return sum(
        shift.person.wage_cents_per_h * (shift.end_min - shift.start_min)
        for shift in view.shifts
        if shift.person is not None
    )


def _wood(view: View) -> int:
    cents_per_lb = view.scenario.site.wood_cents_per_lb
    return sum(
        fire.firebox.wood_lb_per_h * cents_per_lb * (fire.out_min - fire.lit_min)
        for fire in view.fires
        if fire.firebox is not None
    )


def _hold(view: View) -> int:
    total = 0
    for load in view.loads:
        if load.cut is not None:
            held = max(0, load.ready_min - load.hold_from_min - load.cut.hold_free_min)
            total += load.load.pieces * load.cut.hold_loss_cents_per_h * held
    return total


def _moves(view: View) -> int:
    return sum(
        load.load.pieces * load.cut.move_cents * (load.load.moved + len(load.load.stops))
        for load in view.loads
        if load.cut is not None
    )


def cost_agrees(view: View) -> Iterator[Breach]:
    """The plan's cost, part by part, is its price."""
    right = priced(view)
    for part in Cost.model_fields:
        said, found = getattr(view.plan.cost, part), getattr(right, part)
        if said != found:
            sentence = f"The plan puts {part} at {dollars(said)}, but they come to {dollars(found)}."
            yield Breach("cost-differs", sentence)


def certificate_agrees(view: View) -> Iterator[Breach]:
    """The bound is not above the cost, and the gap is the one between them."""
    total = view.plan.cost.total
    bound, gap = view.plan.certificate.bound_cents, view.plan.certificate.gap
    if bound is None or gap is None:
        if bound is not gap:
            yield Breach("certificate", "The plan gives a bound without a gap, or a gap without a bound.")
        return
    if bound > total:
        sentence = f"The plan costs {dollars(total)}, less than its bound of {dollars(bound)} below which none can be."
        yield Breach("certificate", sentence)
        return
    right = (total - bound) / total if total else 0.0
    if abs(gap - right) > GAP_SLACK:
        sentence = f"The plan says its gap is {gap:.4%}, but cost and bound make it {right:.4%}."
        yield Breach("certificate", sentence)
