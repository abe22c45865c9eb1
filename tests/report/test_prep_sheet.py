"""Buying and prep as the kitchen reads it, and as CSV and JSON."""

from __future__ import annotations

import csv
from io import StringIO

import pytest
import report_kitchen as kitchen
from trade.test_orders import changed, stocked

from scheduler.model.scenario import Scenario
from scheduler.report.buying_csv import COLUMNS, buying_csv, orders_data
from scheduler.report.desk import Desk
from scheduler.report.prep_sheet import PrepSheet, pounds_text, prep_sheet, span_of
from scheduler.trade.food_safety import DEFERS
from scheduler.trade.orders import orders_of


def sheet_of(scenario: Scenario) -> PrepSheet:
    found = prep_sheet(Desk(kitchen.plan(scenario), scenario))
    assert found is not None
    return found


@pytest.fixture(scope="module")
def scenario() -> Scenario:
    return kitchen.scenario()


@pytest.fixture(scope="module")
def sheet(scenario: Scenario) -> PrepSheet:
    return sheet_of(scenario)


def test_rows_say_what_to_order(sheet: PrepSheet) -> None:
    row = next(row for row in sheet.rows if row.what == "packer brisket")
    # 23 pieces of 10 lb in cases of 5 at $50.00 each; IMPS 120 by USDA.
    assert (row.imps, row.band, row.cases, row.pieces) == ("120", "10-12 lb", "5 of 5", "25")
    assert (row.weight, row.cost, row.note) == ("250 lb", "$1,250.00", "2 to spare")


def test_days_are_in_order_and_their_jobs_too(sheet: PrepSheet) -> None:
    first, *days = sheet.days
    # Briskets and butts go on on Friday evening, so they are trimmed on Thursday and ordered two days before.
    assert first.title == "Tuesday, June 9"
    assert [(job.what, job.detail) for job in first.jobs] == [
        ("Order the meat of the list above.", "Each line for its day. And the wood.")
    ]
    assert not any("Order" in job.what for day in days for job in day.jobs)
    took = next(job for day in days for job in day.jobs if job.what.startswith("Take in"))
    assert "25 packer briskets" in took.detail
    trims = [job.what for day in days for job in day.jobs if job.what.startswith("Trim")]
    assert any(what.endswith(" packer briskets.") for what in trims)
    assert not any("sausage" in what for what in trims)


def test_hands_are_said_not_to_be_on_the_shifts(sheet: PrepSheet) -> None:
    assert sheet.hands.startswith("Trimming and seasoning take about ")
    assert "The plan's shifts do not hold this work" in sheet.hands
    assert span_of((60, 110, 220)) == "about 1 h 50 (1 h to 3 h 40)"
    assert (pounds_text(1241.6), pounds_text(9.96), pounds_text(3)) == ("1,242 lb", "10 lb", "3 lb")


def test_thawing_has_its_job_and_its_caution_only_where_meat_is_frozen(scenario: Scenario, sheet: PrepSheet) -> None:
    assert not any("Thaw" in caution or "thaw" in caution for caution in sheet.cautions)
    frozen = sheet_of(changed(scenario, "packer-brisket", frozen=True))
    jobs = [job for day in frozen.days for job in day.jobs if job.what.startswith("Thaw")]
    assert jobs
    assert "41 °F or below" in jobs[0].detail
    taken = [(job.what, job.detail) for day in frozen.days for job in day.jobs if job.what.startswith("Take in")]
    assert ["; frozen meat hard" in what for what, _ in taken] == ["brisket" in detail for _, detail in taken]
    assert any("A frozen middle makes the come-up too slow" in caution for caution in frozen.cautions)
    assert sheet.cautions[-1] == frozen.cautions[-1] == DEFERS


def test_stock_is_told(scenario: Scenario) -> None:
    assert sheet_of(stocked(scenario, pork_butt=3)).notes[0] == "In stock and taken off: 3 pork butts. Probe them too."


def test_no_sheet_without_loads(scenario: Scenario) -> None:
    plan = kitchen.plan(scenario).model_copy(update={"loads": ()})
    assert prep_sheet(Desk(plan, scenario)) is None


def test_fat_is_cut_up_not_seasoned(scenario: Scenario) -> None:
    found = sheet_of(changed(scenario, "half chicken", family="fat", name="half chicken"))
    assert any("half chicken" in job.what for day in found.days for job in day.jobs)
    assert not any("trim" in note for note in sheet_of(scenario).notes)
    assert any("lb of trim" in note for note in found.notes)


def test_what_it_gives_stands_beside_what_the_menu_counts_on(scenario: Scenario, sheet: PrepSheet) -> None:
    row = next(row for row in sheet.yields if row.what == "packer brisket")
    # 23 briskets of 10 lb: trimmed 65 to 85 %, cooked 52 to 65 % of that, 10 portions each by the menu.
    assert (row.raw, row.trimmed, row.menu) == ("230", "172 (150 to 196)", "230")
    assert not any("Packer-brisket" in note for note in sheet.notes)
    greedy = sheet_of(changed(scenario, "packer-brisket", portions=40))
    [note] = [note for note in greedy.notes if "Packer-brisket" in note]
    assert note.startswith("Packer-brisket: the menu counts on 920 portions, more than the ")


def test_csv_has_a_row_for_each_cut_and_no_formula(scenario: Scenario) -> None:
    named = changed(scenario, "pork butt", imps="=1+1")
    text = buying_csv(orders_of(kitchen.plan(scenario), named))
    assert text.count("\r\n") == text.count("\n")
    head, *rows = list(csv.reader(StringIO(text, newline="")))
    assert tuple(head) == COLUMNS
    cells = {row[0]: dict(zip(head, row, strict=True)) for row in rows}
    assert cells["packer-brisket"]["cost_usd"] == "1250.00"
    assert cells["packer-brisket"]["pieces"] == "25"
    assert cells["pork butt"]["imps"] == "'=1+1"


def test_data_for_a_program(scenario: Scenario) -> None:
    orders = orders_of(kitchen.plan(scenario), scenario)
    data = orders_data(orders)
    assert data["cost_cents"] == sum(row["cost_cents"] for row in data["buy"]) == orders.cost_cents
    assert {"buy", "thaw", "prep", "cooler", "yields", "wood", "cost_cents"} == set(data)
    assert all(row["hand_min"]["low"] <= row["hand_min"]["likely"] <= row["hand_min"]["high"] for row in data["prep"])
