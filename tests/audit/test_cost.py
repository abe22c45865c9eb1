"""The price of a plan, worked out by hand, and what the plan says of it."""

from __future__ import annotations

import pytest
from audit_kitchen import COST, Kitchen, kitchen, t
from hypothesis import given
from hypothesis import strategies as st

from scheduler.audit import price
from scheduler.audit.cost import half_up
from scheduler.model.plan import Certificate, Cost, Short


def _price(changed: Kitchen) -> Cost:
    return price(changed.plan, changed.scenario)


def test_price_worked_by_hand() -> None:
    # Each part is derived beside COST.
    assert _price(kitchen()) == COST
    assert COST.total == 58_705


def test_a_short_order_costs_the_broken_promise_too() -> None:
    shorts = (Short(cut="brisket", wave="order Oak table", pieces=1, why="none"),)
    assert _price(kitchen().with_plan(shorts=shorts)).shorts == 12_000 + 500


def test_each_part_is_rounded_once_at_its_end() -> None:
    # Two shifts of 1 minute at 30 cents an hour are 0.5 + 0.5 cents: 1 cent, not 0 + 0 or 1 + 1.
    odd = kitchen().with_plan(shifts=kitchen().plan.shifts[:2])
    odd = odd.shift("S1", ends_at=t("0:31")).shift("S2", ends_at=t("6:01"))
    odd = odd.person("Ana", wage_cents_per_h=30).person("Ben", wage_cents_per_h=30)
    assert _price(odd).wages == 1
    # One of them alone is half a cent, and half goes up.
    assert _price(odd.with_plan(shifts=odd.plan.shifts[:1])).wages == 1
    assert _price(odd.person("Ana", wage_cents_per_h=29).with_plan(shifts=odd.plan.shifts[:1])).wages == 0


def test_holding_is_free_at_first() -> None:
    # From 9:00 to 11:00, an hour of it free: 4 chickens x 20 cents x 1 h.
    only = kitchen().with_plan(loads=(kitchen().plan.load("CH01"),))
    assert _price(only).hold == 80
    assert _price(only.cut("chicken", hold_free_min=120)).hold == 0
    assert _price(only.cut("chicken", hold_free_min=500)).hold == 0


@given(st.integers(0, 10**9))
def test_half_up_is_the_nearest_cent(sixtieths: int) -> None:
    assert abs(half_up(sixtieths) * 60 - sixtieths) <= 30
    assert half_up(60 * sixtieths + 30) == sixtieths + 1


@pytest.mark.parametrize("part", list(Cost.model_fields))
def test_cost_differs_forbidden(part: str) -> None:
    wrong = COST.model_copy(update={part: getattr(COST, part) - 1})
    found = kitchen().with_plan(cost=wrong)
    assert found.codes(reprice=False) == {"cost-differs"}
    (breach,) = found.breaches(reprice=False)
    assert part in breach.sentence


def test_cost_differs_allowed() -> None:
    assert kitchen().with_plan(cost=COST).codes(reprice=False) == set()


def test_cost_differs_names_dollars() -> None:
    (breach,) = kitchen().with_plan(cost=COST.model_copy(update={"wages": 4_280_000})).breaches(reprice=False)
    assert breach.sentence == "The plan puts wages at $42,800.00, but they come to $428.00."


def _certified(bound: int | None, gap: float | None) -> Kitchen:
    certificate = kitchen().plan.certificate.model_copy(update={"bound_cents": bound, "gap": gap})
    assert isinstance(certificate, Certificate)
    return kitchen().with_plan(certificate=certificate)


def test_certificate_forbidden() -> None:
    assert _certified(58_706, 0.0).codes() == {"certificate"}
    assert _certified(58_000, 0.01).codes() == {"certificate"}
    assert _certified(58_000, None).codes() == {"certificate"}
    assert _certified(None, 0.0).codes() == {"certificate"}
    assert _certified(58_706, 0.0).the("certificate").sentence == (
        "The plan costs $587.05, less than its bound of $587.06 below which none can be."
    )


def test_certificate_allowed() -> None:
    assert _certified(58_000, 705 / 58_705).codes() == set()
    assert _certified(58_705, 0.0).codes() == set()
    assert _certified(None, None).codes() == set()
