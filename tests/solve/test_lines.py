"""What a line of plans does by turns: moves, a round of refits, moves and bold moves, and the next round."""

from __future__ import annotations

from random import Random

import pytest
from solve.corner import corner

from scheduler.solve import lines
from scheduler.solve.grid import build_grid
from scheduler.solve.improve import Found, first_plans
from scheduler.solve.lines import Lines
from scheduler.solve.refit import Refits


def test_rounds_moves_and_bold_moves_take_turns(monkeypatch: pytest.MonkeyPatch) -> None:
    plan = next(iter(first_plans(build_grid(corner()))))
    done: list[str] = []
    stretches = iter([True, True, False] * 2)

    def refit(_: Refits, now: Found, *__: object) -> Found | None:
        done.append("refit")
        return now if next(stretches) else None

    def told(what: str) -> object:
        return lambda *_: done.append(what)

    monkeypatch.setattr(Refits, "next", refit)
    monkeypatch.setattr(lines, "bold_step", told("bold"))
    monkeypatch.setattr(lines, "step", told("move"))
    for name, number in (("MOVES_BEFORE", 3), ("MOVES_BETWEEN", 1), ("BOLD_BETWEEN", 2)):
        monkeypatch.setattr(lines, name, number)
    search = Lines([plan], Random(0))
    for _ in range(12):
        search.move(done=1.0)
    assert done == ["move"] * 3 + ["refit"] * 3 + ["move"] + ["bold"] * 2 + ["refit"] * 3
    assert search.best is plan


def test_in_the_last_seconds_there_are_only_moves(monkeypatch: pytest.MonkeyPatch) -> None:
    plan = next(iter(first_plans(build_grid(corner()))))
    monkeypatch.setattr(lines, "MOVES_BEFORE", 0)
    monkeypatch.setattr(Refits, "next", lambda *_: pytest.fail("no time for a refit"))
    Lines([plan], Random(0)).move(done=1.0, left_s=lines.REFIT_LEAST_S / 2)
