"""CSV files: lines, separators, remarks, rows that are too short or too long."""

from __future__ import annotations

from pathlib import Path

import pytest

from scheduler.books.tables import BadCellError, Row, Table, read_table
from scheduler.errors import InputError, Problem


def table(folder: Path, text: str) -> Table:
    (folder / "some.csv").write_text(text, encoding="utf-8", newline="")
    return read_table(folder / "some.csv")


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_rows_keep_their_lines(separator: str, tmp_path: Path) -> None:
    lines = ["# a remark, with; marks", "", " Cut ,Note", "ribs, late ", ",", "#butt,", 'butt,"two\nlines"', "links"]
    found = table(tmp_path, "\n".join(line.replace(",", separator) for line in lines))
    assert found.heads == ("cut", "note")
    assert found.rows == (
        (4, {"cut": "ribs", "note": "late"}),
        (8, {"cut": "butt", "note": "two\nlines"}),
        (9, {"cut": "links", "note": ""}),
    )


def test_cells_beyond_the_headings_go_and_of_two_headings_the_first_counts(tmp_path: Path) -> None:
    assert table(tmp_path, "cut,lb,LB\nribs,3,4,5\n").rows == ((2, {"cut": "ribs", "lb": "3"}),)


@pytest.mark.parametrize("text", ["", "\n\n", "# only a remark\n", ",,\n"])
def test_an_empty_file_has_no_headings(text: str, tmp_path: Path) -> None:
    assert table(tmp_path, text) == Table("some.csv", (), ())


def test_what_is_no_csv_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"some\.csv: it is not a CSV file \(.*\); save it as CSV\."):
        table(tmp_path, "cut\n" + "x" * 200_000)


def test_a_bad_cell_is_told_with_its_line_and_the_other_rows_stay(tmp_path: Path) -> None:
    def read(row: Row, line: int) -> str:
        if row["cut"] == "ribs":
            raise BadCellError("cut", "there are none", "cook some")
        return f"{row['cut']} {line}"

    bad: list[Problem] = []
    found = list(table(tmp_path, "cut\nbutt\nribs\nlinks\n").each(read, bad))
    assert found == ["butt 2", "links 4"]
    assert [problem.sentence() for problem in bad] == ["some.csv: line 3, cut: there are none; cook some."]
