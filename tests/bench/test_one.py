"""Runs in processes of their own: what they measure, and what a failure leaves."""

from __future__ import annotations

import os
import sys

import pytest

from scheduler.bench.memory import Watch
from scheduler.bench.one import Task, run_apart, run_here
from scheduler.bench.ours import busiest_fire, reshuffled
from scheduler.bench.weekends import GRID_MIN, Case
from scheduler.books import scenario_hash
from scheduler.solve.count_back import count_back


def test_a_peer_runs_apart() -> None:
    record = run_apart(Task("S", "easy", 0, "counting back", 5.0))
    scenario = Case("S", "easy", 0).scenario()
    assert record.cents == count_back(scenario, GRID_MIN, strict=True).cost.total
    assert record.scenario_hash == scenario_hash(scenario)
    assert record.found[-1][1] == record.cents
    assert 20 < record.memory_mb < 2000
    assert record.bound_cents is None


def test_a_run_that_fails_is_told_and_ends_nothing() -> None:
    record = run_apart(Task("S", "easy", 0, "nobody", 5.0))
    assert record.cents is None
    assert record.note == "failed: KeyError: 'nobody'"


def test_a_peer_that_is_not_installed_is_told_in_its_record(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pyjobshop", None)
    record = run_here(Task("S", "easy", 0, "PyJobShop", 5.0, part=True))
    assert record.cents is None
    assert record.note.startswith("pyjobshop: the package that the peer of that name needs is not installed; ")


def test_a_fire_fails_under_loads_and_a_new_plan_comes() -> None:
    scenario = Case("S", "shared firebox", 0).scenario()
    plan = count_back(scenario, GRID_MIN, strict=True)
    at = scenario.weekend.local(scenario.weekend.days[0].opens.replace(hour=3))
    found = busiest_fire(plan, scenario, at)
    assert found is not None
    box, loads = found
    assert box == scenario.site.fireboxes[0].name
    assert loads == sum(load.load_at <= at < load.early_done_at for load in plan.loads if load.finish_place != "oven 1")
    assert busiest_fire(plan, scenario, plan.loads[0].load_at.replace(year=2020)) is None
    figures, note = reshuffled(plan, scenario, looks_s=(0.0, 0.0))
    assert figures["reshuffle_loads"] == loads
    assert note == ""
    assert (figures["reshuffle_first_cents"] or 0) >= (figures["reshuffle_15s_cents"] or 0) > 0


def test_memory_is_seen() -> None:
    with Watch() as watch:
        much = bytearray(64_000_000)
    assert len(much) == 64_000_000
    assert 64 < watch.megabytes < 8000
    assert watch.cores > 0
    assert os.getpid() in watch._peaks
