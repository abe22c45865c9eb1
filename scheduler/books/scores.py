"""scores.csv of a trial: one row a tasting form, as `trial-sheet` writes it empty."""

from __future__ import annotations

from pathlib import Path

from scheduler.books.tables import Row, read_table
from scheduler.errors import InputError, Problem
from scheduler.model.scores import SCALES, Scores

SCORES = "scores.csv"
HIGHEST = 9
HEADS = ("form", "prefers", "odd", *(f"{which}_{scale}" for which in ("first", "second") for scale in SCALES))


def empty_scores(forms: int) -> str:
    """A file to fill in for so many forms."""
    rows = [",".join(HEADS)] + [f"{number}{',' * (len(HEADS) - 1)}" for number in range(1, forms + 1)]
    return "\r\n".join(rows) + "\r\n"


def read_scores(path: Path) -> tuple[Scores, ...]:
    """Scores by form; what was left empty is None. InputError with every mistake."""
    table = read_table(path)
    missing = [head for head in HEADS if head not in table.heads]
    if missing:
        mend = "use the file that trial-sheet wrote"
        raise InputError([Problem(path.name, "line 1", head, "there is no such column", mend) for head in missing])
    bad: list[Problem] = []
    found: dict[int, Scores] = {}
    for line, row in table.rows:
        if any(row[name] for name in HEADS):
            _row(row, path.name, line, found, bad)
    if bad:
        raise InputError(bad)
    return tuple(found[number] for number in sorted(found))


def _row(cells: Row, file: str, line: int, found: dict[int, Scores], bad: list[Problem]) -> None:
    where = f"line {line}"
    if not cells["form"].isdecimal() or not 1 <= int(cells["form"]) <= 10_000:
        bad.append(Problem(file, where, "form", f'"{cells["form"]}" is no number of a form', "write it as printed"))
        return
    number = int(cells["form"])
    if number in found:
        bad.append(Problem(file, where, "form", f"form {number} is there twice", "remove one of the two"))
        return
    marks = []
    for which in ("first", "second"):
        row = []
        for scale in SCALES:
            text = cells[f"{which}_{scale}"]
            if text and not (text.isdecimal() and 1 <= int(text) <= HIGHEST):
                mend = "leave it empty if there is none"
                bad.append(Problem(file, where, f"{which}_{scale}", f'"{text}" is not from 1 to {HIGHEST}', mend))
                text = ""
            row.append(int(text) if text else None)
        marks.append(tuple(row))
    found[number] = Scores(number, cells["prefers"] or None, cells["odd"] or None, marks[0], marks[1])
