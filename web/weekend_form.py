"""The weekend as a form and back: every mistake is told at the field that it was made in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from pydantic import ValidationError

from scheduler.books.scenarios import problems_in
from scheduler.books.sentences import label, problems_of
from scheduler.errors import Problem
from scheduler.model.scenario import Scenario
from scheduler.model.weekend import Weekend
from scheduler.report.words import day_text, moment_text, span_text
from web.fields import Field, Row, Section, filled, read, shown, with_mistake

Spec = tuple[tuple[str, str, str, bool], ...]
"""Name, label, kind, needed."""

TABLES: dict[str, tuple[str, str, Spec]] = {
    "day": (
        "Service hours",
        "When the kitchen sells, and how many stand at the counter beside the cutters.",
        (
            ("opens", "Opens", "time", True),
            ("closes", "Closes", "time", True),
            ("counter_hands", "At the counter", "int", True),
            ("weather", "Weather", "text", False),
            ("event", "Event", "text", False),
        ),
    ),
    "wave": (
        "What must be ready",
        "So many pieces of a cut, ready to slice by a time. An empty end is the next wave or closing.",
        (
            ("cut", "Cut", "cut", True),
            ("pieces", "Pieces", "int", True),
            ("at", "Ready by", "time", True),
            ("until", "Serve until", "time", False),
        ),
    ),
    "order": (
        "Orders",
        "Pieces promised to somebody.",
        (
            ("name", "For whom", "text", True),
            ("cut", "Cut", "cut", True),
            ("pieces", "Pieces", "int", True),
            ("at", "Picked up", "time", True),
            ("broken_promise_cents", "Broken promise, $ a piece", "money", True),
        ),
    ),
    "away": (
        "Who cannot come",
        "The plan calls nobody in who is away.",
        (
            ("person", "Person", "person", True),
            ("from_at", "From", "time", True),
            ("until_at", "Until", "time", True),
        ),
    ),
    "out_of_use": (
        "What is broken",
        "A firebox takes its smokers with it. Leave a time empty where nobody knows.",
        (
            ("place", "Place", "place", True),
            ("from_at", "From", "time", False),
            ("until_at", "Until", "time", False),
        ),
    ),
}
ATTRIBUTES = {"day": "days", "wave": "waves", "order": "orders", "away": "away", "out_of_use": "out_of_use"}
NEW_ROWS = {"day": 0, "wave": 2, "order": 1, "away": 1, "out_of_use": 1}
MOST_ROWS = 400


def places_of(scenario: Scenario) -> tuple[str, ...]:
    """Everything that can break."""
    return tuple(dict.fromkeys(place.name for place in scenario.site.places))


def _options(scenario: Scenario, kind: str) -> tuple[str, ...]:
    if kind == "cut":
        return tuple(cut.name for cut in scenario.menu.cuts)
    if kind == "person":
        return tuple(person.name for person in scenario.crew.people)
    return places_of(scenario) if kind == "place" else ()


def _row(scenario: Scenario, table: str, index: int, entry: Any) -> Row:
    key = f"{table}-{index}"
    fields = []
    for name, text, kind, needed in TABLES[table][2]:
        options = _options(scenario, kind)
        value = getattr(entry, name, None)
        if entry is None and name == "broken_promise_cents":
            value = 0
        plain = "choice" if options else kind
        front = name == "pieces" and entry is not None
        fields.append(Field(f"{key}-{name}", text, plain, shown(value, plain), options, needed, front=front))
    return Row(key, _title(scenario, table, entry), tuple(fields), table != "day" and entry is not None, entry is None)


def _title(scenario: Scenario, table: str, entry: Any) -> str:
    clock = scenario.weekend.clock
    if entry is None:
        return {"wave": "One more wave", "order": "One more order", "away": "Somebody else", "out_of_use": "Another"}[
            table
        ]
    local = scenario.weekend.local
    if table == "day":
        return f"{day_text(entry.opens)}, {span_text(local(entry.opens), local(entry.closes), clock)}"
    if table in ("wave", "order"):
        whose = f"{entry.name}: " if table == "order" else ""
        return f"{whose}{entry.cut}, {moment_text(local(entry.at), clock)}"
    gone = (("from", entry.from_at), ("until", entry.until_at))
    times = [f"{word} {moment_text(local(at), clock)}" for word, at in gone if at is not None]
    return " ".join([f"{entry.person if table == 'away' else entry.place},", *times]).removesuffix(",")


def sections_of(scenario: Scenario) -> tuple[Section, ...]:
    """The form of a weekend as it is."""
    found = []
    for table, (title, note, _) in TABLES.items():
        entries = getattr(scenario.weekend, ATTRIBUTES[table])
        rows = [_row(scenario, table, i, entry) for i, entry in enumerate(entries)]
        rows += [_row(scenario, table, len(entries) + i, None) for i in range(NEW_ROWS[table])]
        found.append(Section(table, title, note, tuple(rows)))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Filled:
    """A form that was sent: the scenario it asks for, or its mistakes in the sections."""

    sections: tuple[Section, ...]
    scenario: Scenario | None
    general: tuple[str, ...]
    """Mistakes that belong to no field."""


def read_form(scenario: Scenario, posted: Mapping[str, str]) -> Filled:
    """What a form asks of a weekend."""
    sections = tuple(_filled_section(scenario, section, posted) for section in sections_of(scenario))
    raw: dict[str, list[dict[str, Any]]] = {table: [] for table in TABLES}
    keys: dict[str, list[str]] = {table: [] for table in TABLES}
    wrong = False
    checked = []
    for section in sections:
        rows = []
        for row in section.rows:
            row, values = _values(row)
            wrong = wrong or row.wrong
            rows.append(row)
            if values is not None:
                raw[section.table].append(values)
                keys[section.table].append(row.key)
        checked.append(replace(section, rows=tuple(rows)))
    if wrong:
        return Filled(tuple(checked), None, ())
    return _judged(scenario, tuple(checked), raw, keys)


def _filled_section(scenario: Scenario, section: Section, posted: Mapping[str, str]) -> Section:
    """With the rows that were added on the page as well."""
    rows = [filled(row, posted) for row in section.rows]
    there = {row.key for row in rows}
    marks = {name.rsplit("-", 1)[0] for name in posted if name.startswith(f"{section.table}-")}
    for key in sorted(marks - there, key=lambda key: (len(key), key))[:MOST_ROWS]:
        number = key.rpartition("-")[2]
        if number.isdecimal() and key == f"{section.table}-{number}" and section.table != "day":
            rows.append(filled(_row(scenario, section.table, int(number), None), posted))
    return replace(section, rows=tuple(rows))


def _values(row: Row) -> tuple[Row, dict[str, Any] | None]:
    """The row with its mistakes, and its values; None for one that is removed or was left blank."""
    if row.removed or (row.new and not row.begun):
        return row, None
    values: dict[str, Any] = {}
    fields = []
    for field in row.fields:
        value, mistake = read(field)
        name = field.name.removeprefix(f"{row.key}-")
        if value is not None:
            values[name] = value
        elif name in ("weather", "event"):
            values[name] = ""
        fields.append(replace(field, mistake=mistake))
    return replace(row, fields=tuple(fields)), values


def _judged(
    scenario: Scenario,
    sections: tuple[Section, ...],
    raw: dict[str, list[dict[str, Any]]],
    keys: dict[str, list[str]],
) -> Filled:
    """What the model and the checks across files say of it."""
    weekend = scenario.weekend
    _keep_worth(weekend, raw["wave"], keys["wave"])
    data = weekend.model_dump(by_alias=True) | raw
    problems: list[Problem] = []
    changed = scenario
    try:
        changed = scenario.model_copy(update={"weekend": Weekend.model_validate(data)})
        problems += problems_in(changed)
    except ValidationError as error:
        problems += problems_of("weekend.toml", data, Weekend, error)
    general = []
    for problem in problems:
        sentence = f"{problem.what[:1].upper()}{problem.what[1:]}; {problem.mend}."
        key = next(_key_of(problem, raw, keys), None)
        told = False
        if key is not None:
            sections, told = with_mistake(sections, key, problem.field, sentence)
        if not told:
            general.append(problem.sentence())
    return Filled(sections, None if problems else changed, tuple(general))


def _keep_worth(weekend: Weekend, waves: list[dict[str, Any]], keys: list[str]) -> None:
    """A wave whose pieces stay the same keeps what each is worth; one that changes counts whole."""
    for wave, key in zip(waves, keys, strict=True):
        index = int(key.rpartition("-")[2])
        if index < len(weekend.waves) and len(weekend.waves[index].worth_cents) == wave.get("pieces"):
            wave["worth_cents"] = weekend.waves[index].worth_cents


def _key_of(problem: Problem, raw: Mapping[str, list[dict[str, Any]]], keys: Mapping[str, list[str]]) -> Iterator[str]:
    """Rows that a problem may be about."""
    for table, entries in raw.items():
        for i, entry in enumerate(entries):
            if problem.file == "weekend.toml" and problem.item == label(table, i, entry):
                yield keys[table][i]
