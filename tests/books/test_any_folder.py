"""Whatever stands in a folder, it is read or it is refused in sentences; nothing else is raised."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

from books.mistakes import SCENARIOS, copy_of
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.books import read_scenario
from scheduler.errors import InputError, Problem

FILES = ("site.toml", "menu.toml", "crew.toml", "weekend.toml")
VALUES = (
    "0",
    "-1",
    "99999999999999999999999",
    "1.5",
    "nan",
    "inf",
    "true",
    '""',
    '"oven"',
    '"\\u0000"',
    "[]",
    "{}",
    "[1, 2]",
    "[[]]",
    "{ name = 1 }",
    "2026-11-01T01:30:00",
    "2026-03-08T02:30:00",
    "2026-05-16T12:00:00Z",
    "0001-01-01T00:00:00",
    "9999-12-31T23:59:00",
    "2026-05-16",
    "12:00:00",
)


@st.composite
def spoiled(draw: st.DrawFn) -> tuple[str, int, str]:
    """A file, one of its lines that sets something or starts a table, and what becomes of that line."""
    file = draw(st.sampled_from(FILES))
    lines = (SCENARIOS / "corner-saturday" / file).read_text(encoding="utf-8").split("\n")
    number = draw(st.sampled_from([n for n, line in enumerate(lines) if line and not line.startswith("#")]))
    if " = " not in lines[number]:
        return file, number, draw(st.sampled_from(["", "[[cut]]", "[cut]", "[[wave]]", "[[]]"]))
    key = lines[number].split(" = ")[0]
    return file, number, draw(st.sampled_from([f"{key} = {value}" for value in VALUES] + ["", f"{key}s = 1", "x"]))


@settings(max_examples=300, deadline=None, derandomize=True)
@given(spoils=st.lists(spoiled(), min_size=1, max_size=3))
def test_a_spoiled_folder_is_read_or_refused_in_sentences(spoils: list[tuple[str, int, str]]) -> None:
    with TemporaryDirectory() as place:
        folder = copy_of("corner-saturday", Path(place))
        for file, number, line in spoils:
            lines = (folder / file).read_text(encoding="utf-8").split("\n")
            lines[number] = line
            (folder / file).write_text("\n".join(lines), encoding="utf-8")
        problems: tuple[Problem, ...] = ()
        try:
            assert read_scenario(folder).weekend.demands()
        except InputError as error:
            problems = error.problems or (Problem("", "", "", "", ""),)
        for problem in problems:
            assert all((problem.file, problem.what, problem.mend))
            assert problem.sentence().isprintable()
