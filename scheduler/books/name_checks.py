"""Names: each given once, and each one used is known. Works on the tables, so that other mistakes do not hide these."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from scheduler.books.parts import Parts, entries_of
from scheduler.books.sentences import suggest
from scheduler.errors import Problem

PLACES = ("firebox", "smoker", "oven", "rest_shelf", "hold_cabinet")
"""They share one set of names, since [[out_of_use]] calls all of them by name."""


def name_problems(parts: Parts) -> Iterator[Problem]:
    """Names given twice and names that nobody knows."""
    yield from _twice(parts)
    yield from _unknown_in_site(parts)
    yield from _unknown_in_crew(parts)
    yield from _unknown_in_weekend(parts)


def _twice(parts: Parts) -> Iterator[Problem]:
    places = [entry for table in PLACES for entry in parts.entries("site", table)]
    yield from _repeated("site.toml", places, "name")
    for smoker, entry in parts.entries("site", "smoker"):
        yield from _repeated("site.toml", entries_of(entry, "rack"), "name", f"{smoker}, ")
    yield from _repeated("menu.toml", parts.entries("menu", "cut"), "name")
    yield from _repeated("menu.toml", parts.entries("menu", "cut"), "code")
    for cut, entry in parts.entries("menu", "cut"):
        yield from _repeated("menu.toml", entries_of(entry, "recipe"), "name", f"{cut}, ")
    yield from _repeated("crew.toml", parts.entries("crew", "person"), "name")
    yield from _repeated("crew.toml", parts.entries("crew", "pattern"), "name")
    yield from _repeated("weekend.toml", parts.entries("weekend", "order"), "name")


def _repeated(
    file: str, entries: Iterable[tuple[str, Mapping[str, Any]]], field: str, inside: str = ""
) -> Iterator[Problem]:
    first: dict[str, str] = {}
    for label, entry in entries:
        value = entry.get(field)
        if not isinstance(value, str):
            continue
        key = value.strip()
        if key in first:
            also = "twice" if first[key] == label else f"by {first[key]} also"
            yield Problem(file, inside + label, field, f'"{key}" is used {also}', f"give each its own {field}")
        else:
            first[key] = label


def _unknown(file: str, label: str, field: str, value: object, kind: str, known: Iterable[str]) -> Iterator[Problem]:
    names = set(known)
    if isinstance(value, str) and value.strip() not in names:
        yield Problem(file, label, field, f'no {kind} is called "{value}"', suggest(value, names))


def _unknown_in_site(parts: Parts) -> Iterator[Problem]:
    fireboxes = parts.names("site", "firebox")
    for smoker, entry in parts.entries("site", "smoker"):
        yield from _unknown("site.toml", smoker, "firebox", entry.get("firebox"), "firebox", fireboxes)
        if "menu" not in parts.raw:
            continue
        for rack, shelf in entries_of(entry, "rack"):
            for name in _texts(shelf.get("fits")):
                yield from _unknown("site.toml", f"{smoker}, {rack}", "fits", name, "cut", parts.names("menu", "cut"))


def _unknown_in_crew(parts: Parts) -> Iterator[Problem]:
    known = parts.names("crew", "pattern")
    for person, entry in parts.entries("crew", "person"):
        for name in _texts(entry.get("patterns")):
            yield from _unknown("crew.toml", person, "patterns", name, "shift pattern", known)


def _unknown_in_weekend(parts: Parts) -> Iterator[Problem]:
    file = "weekend.toml"
    if "menu" in parts.raw:
        cuts = parts.names("menu", "cut")
        for table in ("wave", "order"):
            for label, entry in parts.entries("weekend", table):
                yield from _unknown(file, label, "cut", entry.get("cut"), "cut", cuts)
        for table in ("weights_lb", "in_stock"):
            for name in _texts(parts.raw.get("weekend", {}).get(table)):
                yield from _unknown(file, "", table, name, "cut", cuts)
    if "crew" in parts.raw:
        for label, entry in parts.entries("weekend", "away"):
            people = parts.names("crew", "person")
            yield from _unknown(file, label, "person", entry.get("person"), "person", people)
    if "site" in parts.raw:
        places = [name for table in PLACES for name in parts.names("site", table)]
        for label, entry in parts.entries("weekend", "out_of_use"):
            yield from _unknown(file, label, "place", entry.get("place"), "place", places)


def _texts(value: object) -> list[str]:
    """The texts in a list, or the keys of a table; none if it is neither."""
    return [text for text in value if isinstance(text, str)] if isinstance(value, list | Mapping) else []
