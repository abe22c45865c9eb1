"""loads.csv: a row for each load, and no cell that a spreadsheet would run."""

from __future__ import annotations

import csv
from datetime import datetime
from io import StringIO

import pytest
import report_kitchen as kitchen

from scheduler.report.desk import Desk
from scheduler.report.loads_csv import COLUMNS, loads_csv, safe_cell


def _desk() -> Desk:
    scenario = kitchen.scenario()
    return Desk(kitchen.plan(scenario), scenario)


def test_a_row_for_each_load_by_time_of_loading() -> None:
    desk = _desk()
    rows = list(csv.DictReader(StringIO(loads_csv(desk), newline="")))
    assert list(rows[0]) == list(COLUMNS)
    assert [row["code"] for row in rows] == [
        load.code for load in sorted(desk.plan.loads, key=lambda x: (x.load_at, x.code))
    ]
    for row in rows:
        load = desk.by_code[row["code"]]
        assert int(row["pieces"]) == load.pieces
        assert datetime.fromisoformat(row["load_at"]) == load.load_at
        assert (row["wrap_at"] == "") == (load.wrap_at is None)
        if load.wrap_at is not None:
            window = [datetime.fromisoformat(row[name]) for name in ("wrap_from", "wrap_to")]
            assert window[0] <= load.wrap_at <= window[1]
    assert rows[0]["load_at"] == "2026-06-12T16:30:00-05:00"


def test_lines_end_as_rfc_4180_asks() -> None:
    # RFC 4180, section 2, rule 1: "Each record is located on a separate line, delimited by a line break (CRLF)."
    text = loads_csv(_desk())
    assert text.count("\r\n") == text.count("\n") == 20


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
def test_cells_that_look_like_formulas_are_text(start: str) -> None:
    # The characters are those of the OWASP page "CSV Injection".
    assert safe_cell(f"{start}1+1") == f"'{start}1+1"
    assert safe_cell("BR01") == "BR01"


def test_a_hostile_name_is_neutralised_in_its_column() -> None:
    desk = _desk()
    hostile = '=HYPERLINK("x")'
    loads = (desk.plan.loads[0].model_copy(update={"hold_place": hostile}), *desk.plan.loads[1:])
    text = loads_csv(Desk(desk.plan.model_copy(update={"loads": loads}), desk.scenario))
    rows = list(csv.DictReader(StringIO(text, newline="")))
    assert rows[0]["hold_place"] == f"'{hostile}"
    assert not [cell for row in rows for cell in row.values() if cell.startswith(("=", "+", "-", "@"))]
