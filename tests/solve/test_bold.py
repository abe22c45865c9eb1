"""Bold moves: never dearer, lawful, and only where the relaxation promises something."""

from __future__ import annotations

from random import Random

import pytest
from solve.corner import corner

from scheduler.audit import audit
from scheduler.solve import bold
from scheduler.solve.bold import bold_step
from scheduler.solve.checked import checked
from scheduler.solve.grid import build_grid
from scheduler.solve.highs import Effort
from scheduler.solve.improve import Found, first_plans, service_days

REPEATABLE = Effort(nodes=50, gap=0.004)


@pytest.fixture(scope="module")
def first() -> Found:
    return next(iter(first_plans(build_grid(corner()))))


@pytest.fixture(scope="module")
def bolder(first: Found) -> Found:
    """After some bold moves."""
    plan = first
    for seed in range(12):
        plan = bold_step(plan, Random(seed), REPEATABLE) or plan
    return plan


def test_bold_moves_make_a_plan_cheaper_and_it_passes_the_audit(first: Found, bolder: Found) -> None:
    assert bolder.cents < first.cents
    made = checked(bolder.board)
    assert made is not None
    assert audit(made, corner()) == ()


def test_each_is_cheaper_or_none_and_repeatable(first: Found) -> None:
    for seed in range(6):
        new, again = (bold_step(first, Random(seed), REPEATABLE) for _ in range(2))
        assert new is None or new.cents < first.cents
        assert (new and new.cents) == (again and again.cents)


def test_nothing_is_refitted_where_the_relaxation_promises_nothing(
    bolder: Found, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its outlook is asked for, and that is all."""
    asked = []

    class Hopeless:
        gain_cents = 0.0

    def outlook(*_: object) -> Hopeless:
        asked.append(True)
        return Hopeless()

    def refit(*_: object) -> None:
        pytest.fail("refitted without hope")

    monkeypatch.setattr(bold, "outlook", outlook)
    monkeypatch.setattr(bold, "refit", refit)
    for seed in range(40):
        new = bold_step(bolder, Random(seed), REPEATABLE)
        assert new is None or new.cents < bolder.cents, "placed one by one it was cheaper at once"
    assert asked


def test_the_stretches_looked_at_are_those_that_changed(bolder: Found) -> None:
    grid = bolder.board.grid
    [day] = service_days(grid)
    less = type(bolder.board).holding(
        grid, bolder.board.frame, [load for load in bolder.board.placed if load.demand != day[0]]
    )
    changed = bold._changed(bolder.board, less, Random(0))
    assert any(day[0] in stretch.demands for stretch in changed)
    assert not any(stretch.fires for stretch in changed)
    assert not bold._changed(bolder.board, bolder.board, Random(0))
