"""Fields of a form: what stands in them, and what is wrong with it, at the field itself."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from scheduler.model.clock import check_year

TIME = "%Y-%m-%dT%H:%M"
BLANK = ("", "0.00")
"""What stands in a new row that nobody filled in."""


@dataclass(frozen=True, slots=True)
class Field:
    """One field."""

    name: str
    label: str
    kind: str
    """ "int", "money", "time", "text" or "choice"."""
    value: str = ""
    options: tuple[str, ...] = ()
    needed: bool = True
    mistake: str = ""
    """What is wrong and how to mend it; empty where nothing is."""
    front: bool = False
    """True where it stays in view while the rest of its row is folded."""


@dataclass(frozen=True, slots=True)
class Row:
    """Fields of one entry."""

    key: str
    title: str
    fields: tuple[Field, ...]
    removable: bool = False
    new: bool = False
    removed: bool = False
    """It was ticked to be taken out."""

    @property
    def wrong(self) -> bool:
        """True if a field of it is."""
        return any(field.mistake for field in self.fields)

    @property
    def begun(self) -> bool:
        """True for a new row in which something stands."""
        return self.new and any(field.value.strip() not in BLANK for field in self.fields)


@dataclass(frozen=True, slots=True)
class Section:
    """Entries of one table."""

    table: str
    title: str
    note: str
    rows: tuple[Row, ...]


def shown(value: Any, kind: str) -> str:
    """A value as it stands in a field."""
    if value is None:
        return ""
    if isinstance(value, datetime):
        return value.strftime(TIME)
    if kind == "money":
        return f"{value / 100:.2f}"
    return str(value)


def read(field: Field) -> tuple[Any, str]:
    """The value of a field, or what is wrong with it."""
    text = field.value.strip()
    if not text:
        return None, f"{field.label} is missing; fill it in." if field.needed else ""
    if field.kind == "int":
        plain = text.replace(",", "")
        if not re.fullmatch(r"-?\d{1,9}", plain):
            return None, f'"{text[:20]}" is not a whole number; write it such as 12.'
        return int(plain), ""
    if field.kind == "money":
        plain = text.replace(",", "").removeprefix("$")
        if not re.fullmatch(r"\d{1,9}(\.\d{1,2})?", plain):
            return None, f'"{text[:20]}" is not an amount; write dollars such as 25 or 25.50.'
        dollars, _, cents = plain.partition(".")
        return int(dollars) * 100 + int(cents.ljust(2, "0") or 0), ""
    if field.kind == "time":
        try:
            return check_year(datetime.strptime(text[:16], TIME)), ""
        except ValueError:
            return None, f'"{text[:20]}" is not a day and time; write it such as 2026-06-13T11:00.'
    if field.kind == "choice" and text not in field.options:
        return None, f'"{text[:40]}" is not one of the choices; choose again.'
    return text, ""


def filled(row: Row, posted: Mapping[str, str]) -> Row:
    """A row with what was posted for it."""
    fields = tuple(replace(f, value=posted.get(f.name, f.value)[:200]) for f in row.fields)
    return replace(row, fields=fields, removed=bool(posted.get(f"{row.key}-remove")))


def with_mistake(sections: Iterable[Section], key: str, field: str, sentence: str) -> tuple[tuple[Section, ...], bool]:
    """The sections with a mistake told at a field (the row's first, if it has no such field), and whether it was."""
    done = False
    found = []
    for section in sections:
        rows = []
        for row in section.rows:
            if row.key == key:
                names = [f.name.removeprefix(f"{key}-") for f in row.fields]
                at = names.index(field) if field in names else 0
                row = replace(row, fields=tuple(_told(f, sentence) if i == at else f for i, f in enumerate(row.fields)))
                done = True
            rows.append(row)
        found.append(replace(section, rows=tuple(rows)))
    return tuple(found), done


def _told(field: Field, sentence: str) -> Field:
    return replace(field, mistake=f"{field.mistake} {sentence}".strip())
