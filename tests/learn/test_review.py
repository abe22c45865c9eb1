"""The weekend review: planned against real, money, and what would have paid."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from audit_kitchen import ZONE, kitchen, t
from learn_kitchen import CORNER
from typer.testing import CliRunner

from scheduler.books import append_event
from scheduler.cli import app
from scheduler.cli.result import write_into
from scheduler.learn.hindsight import earned_cents, hindsight, searches
from scheduler.learn.review import review_of
from scheduler.model import log as entry
from scheduler.model.log import Log
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.report.review_page import review_html
from scheduler.report.review_words import change_lines, price_line
from scheduler.solve.count_back import count_back

KITCHEN = kitchen()
PLAN, SCENARIO = KITCHEN.plan, KITCHEN.scenario
CHICKEN = SCENARIO.menu.cut("chicken")


def sold(cut: str, *counts: tuple[str, int]) -> list[entry.Sold]:
    return [entry.Sold(at=t(clock), cut=cut, portions=portions) for clock, portions in counts]


def test_a_log_without_a_word_tells_nothing_as_real() -> None:
    found = review_of(PLAN, SCENARIO, Log())
    assert all(row.loaded_at is None and row.done_at is None for row in found.loads)
    assert all(row.sold is None and row.left == 0 for row in found.sold)
    assert searches(found, Log()) == 0
    nothing = hindsight(found, Log(), lambda _: PLAN)
    assert nothing.changes == ()
    assert "says nothing" in next(iter(change_lines(nothing)))
    assert price_line(nothing) == ""


def test_loads_waves_and_shifts_against_plan() -> None:
    late = PLAN.load("CH01").late_done_at + timedelta(minutes=12)
    person = PLAN.shifts[0]
    log = Log(
        (
            entry.Done(at=PLAN.load("BR01").early_done_at - timedelta(minutes=5), load="BR01"),
            entry.Done(at=late, load="CH01"),
            entry.Discarded(at=late, load="CH01", pieces=1),
            entry.Arrived(at=person.starts_at + timedelta(minutes=30), person=person.person),
        )
    )
    found = review_of(PLAN, SCENARIO, log)
    rows = {row.load.code: row for row in found.loads}
    assert (rows["BR01"].late_min, rows["CH01"].late_min, rows["BR02"].late_min) == (-5, 12, 0)
    wave = next(row for row in found.waves if row.cut == "chicken")
    assert (wave.planned, wave.thrown) == (4, 1)
    assert wave.ready_at == late + timedelta(minutes=CHICKEN.rest_min)
    assert found.shifts[0].came_at == person.starts_at + timedelta(minutes=30)


def test_money_by_cut_and_day() -> None:
    made = round(4 * CHICKEN.portions)
    log = Log(tuple(sold("chicken", ("11:30", 1), ("13:00", made - 1))))
    row = next(row for row in review_of(PLAN, SCENARIO, log).sold if row.cut == "chicken")
    assert (row.made, row.sold, row.left, row.demand) == (made, made - 1, 1, made - 1)
    assert row.sold_cents == (made - 1) * CHICKEN.price_cents
    assert row.left_cents == round(CHICKEN.cost_cents / CHICKEN.portions - CHICKEN.leftover_cents)
    brisket = next(row for row in review_of(PLAN, SCENARIO, log).sold if row.cut == "brisket")
    assert brisket.short_pieces == 1
    assert brisket.short_cents == SCENARIO.menu.cut("brisket").margin_cents


def test_what_ran_out_early_was_wanted_more() -> None:
    made = round(4 * CHICKEN.portions)
    day = SCENARIO.weekend.days[0]
    half = SCENARIO.weekend.local(day.opens) + (day.closes - day.opens) * 0.8
    row = next(
        row
        for row in review_of(PLAN, SCENARIO, Log((entry.Sold(at=half, cut="chicken", portions=made),))).sold
        if row.cut == "chicken"
    )
    assert row.ran_out_at == half
    assert row.demand == pytest.approx(made / 0.8, rel=0.02)


def test_earned_is_takings_less_meat_and_what_the_plan_costs() -> None:
    log = Log(tuple(sold("chicken", ("13:00", 2))))
    found = review_of(PLAN, SCENARIO, log)
    by_hand = -(PLAN.cost.wages + PLAN.cost.wood + PLAN.cost.hold + PLAN.cost.moves)
    for load in PLAN.loads:
        cut = SCENARIO.menu.cut(load.cut)
        takings = cut.portions * cut.price_cents if load.cut != "chicken" else 0
        by_hand += round(load.pieces * (takings - cut.cost_cents))
    left = 4 * CHICKEN.portions - 2
    by_hand += round(2 * CHICKEN.price_cents + left * CHICKEN.leftover_cents)
    assert earned_cents(PLAN, found) == by_hand
    thrown = Log((*log.events, entry.Discarded(at=t("10:00"), load="CH01", pieces=4)))
    lost = review_of(PLAN, SCENARIO, thrown)
    assert earned_cents(PLAN, lost, as_it_went=True) == by_hand - round(
        2 * CHICKEN.price_cents + left * CHICKEN.leftover_cents
    )


@pytest.fixture(scope="module")
def corner() -> tuple[Plan, Scenario]:
    return count_back(CORNER, strict=True), CORNER


def _quick(scenario: Scenario) -> Plan:
    return count_back(scenario, strict=True)


def _corner_log(plan: Plan, scenario: Scenario) -> Log:
    """A Saturday on which sausage was asked for twice as much, and nobody wanted chicken."""
    events: list[entry.AnyEvent] = []
    for name, share, at in (("sausage", 1.0, "12:30"), ("half chicken", 0.25, "15:45")):
        made = sum(load.pieces for load in plan.loads if load.cut == name) * scenario.menu.cut(name).portions
        when = datetime.fromisoformat(f"2026-05-16T{at}").replace(tzinfo=scenario.weekend.zone)
        events.append(entry.Sold(at=when, cut=name, portions=round(made * share)))
    return Log(tuple(sorted(events, key=lambda event: event.at)))


def test_hindsight_names_what_would_have_paid(corner: tuple[Plan, Scenario]) -> None:
    plan, scenario = corner
    log = _corner_log(plan, scenario)
    found = review_of(plan, scenario, log)
    known = hindsight(found, log, _quick)
    assert known.tried == 2
    assert searches(found, log) == 4
    assert any("more sausages on Saturday" in change.what for change in known.changes)
    assert [c.cents for c in known.changes] == sorted((c.cents for c in known.changes), reverse=True)
    assert known.all_known_cents is not None
    assert known.all_known_cents >= known.changes[0].cents > 0


def test_failures_and_absences_are_ideas_and_true_times_too(corner: tuple[Plan, Scenario]) -> None:
    plan, scenario = corner
    asked: list[Scenario] = []

    def replan(one: Scenario) -> Plan:
        asked.append(one)
        return plan

    loads = [load for load in plan.loads if load.cut == "spare ribs"][:2]
    begin = scenario.weekend.timeline.moment(600)
    log = Log(
        (
            entry.Down(at=begin, place="short", until=begin + timedelta(hours=2)),
            entry.Missing(at=begin, person="Wade"),
            *(entry.Done(at=load.likely_done_at, load=load.code) for load in loads),
        )
    )
    known = hindsight(review_of(plan, scenario, log), log, replan)
    assert known.changes == ()
    assert "none would have paid" in next(iter(change_lines(known)))
    assert known.tried == len(asked) - 2 == 3
    last = asked[-1].weekend
    assert [out.place for out in last.out_of_use] == ["short"]
    assert [away.person for away in last.away] == ["Wade"]
    assert asked[-1].menu != scenario.menu


def test_the_page_has_it_all(corner: tuple[Plan, Scenario]) -> None:
    plan, scenario = corner
    log = _corner_log(plan, scenario)
    found = review_of(plan, scenario, log)
    page = review_html(found, hindsight(found, log, _quick))
    assert "style=" not in page
    assert "<script" not in page
    for words in ("What would have paid most", "The price of not knowing", "Where the minutes went", "Invented data"):
        assert words in page


def test_from_the_command_line(corner: tuple[Plan, Scenario], tmp_path: Path) -> None:
    plan, scenario = corner
    (tmp_path / "part").mkdir()
    write_into(tmp_path / "part", tmp_path / "plan", plan, scenario)
    for event in _corner_log(plan, scenario).events:
        append_event(tmp_path / "plan" / "log.jsonl", event)
    done = CliRunner().invoke(app, ["review", str(tmp_path / "plan"), "--seconds", "0"])
    assert done.exit_code == 0, done.output
    page = (tmp_path / "plan" / "review.html").read_text(encoding="utf-8")
    assert "Sausages" in page or "sausages" in page
    assert "What would have paid" not in page


def test_in_another_zone_the_day_is_the_kitchens(corner: tuple[Plan, Scenario]) -> None:
    assert SCENARIO.weekend.timezone == ZONE
    utc = [replace_zone(event) for event in sold("chicken", ("13:00", 2))]
    found = {row.cut: row.sold for row in review_of(PLAN, SCENARIO, Log(tuple(utc))).sold}
    assert found["chicken"] == 2


def replace_zone(event: entry.Sold) -> entry.Sold:
    return event.model_copy(update={"at": event.at.astimezone(UTC)})
