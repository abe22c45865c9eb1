"""What was read of a scenario folder: the tables as they stand, and the sound part of each file as a model."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from scheduler.books.sentences import label
from scheduler.model.crew import Crew
from scheduler.model.menu import Menu
from scheduler.model.site import Site
from scheduler.model.weekend import Weekend


@dataclass(frozen=True, slots=True)
class Parts:
    """A folder half read. A model lacks the entries of its file that are unsound; it is None if too little is left."""

    raw: Mapping[str, Mapping[str, Any]]
    site: Site | None
    menu: Menu | None
    crew: Crew | None
    weekend: Weekend | None

    def entries(self, file: str, table: str) -> Iterator[tuple[str, Mapping[str, Any]]]:
        """Entries of an array of tables, each with what a sentence calls it. Empty where the file could not be read."""
        yield from entries_of(self.raw.get(file, {}), table)

    def names(self, file: str, table: str) -> list[str]:
        """Names in an array of tables, unsound entries included."""
        return names_of(self.raw.get(file, {}), table)


def entries_of(node: Mapping[str, Any], table: str) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Entries of an array of tables inside a table, each with what a sentence calls it."""
    found = node.get(table)
    if isinstance(found, list):
        for index, entry in enumerate(found):
            if isinstance(entry, Mapping):
                yield label(table, index, entry), entry


def names_of(node: Mapping[str, Any], table: str) -> list[str]:
    """Names in an array of tables inside a table."""
    return [entry["name"].strip() for _, entry in entries_of(node, table) if isinstance(entry.get("name"), str)]
