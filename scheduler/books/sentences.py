"""Turns what pydantic found wrong with a file into sentences for the pitmaster."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import fields
from datetime import date, datetime, time
from difflib import get_close_matches
from typing import Any, get_args

from pydantic import BaseModel, ValidationError

from scheduler.errors import Problem
from scheduler.model.clock import YEARS

Location = tuple[str | int, ...]
Details = Mapping[str, Any]
Advice = tuple[str, str]
"""What is wrong, and how to mend it."""

YEAR_MEND = f"give a year from {YEARS[0]} to {YEARS[-1]}"


def problems_of(file: str, data: Mapping[str, Any], model: type[BaseModel], error: ValidationError) -> list[Problem]:
    """One problem for each mistake that pydantic found in the tables of a file."""
    found = []
    mistakes = error.errors(include_url=False)
    for details in mistakes:
        loc = details["loc"]
        if details["type"] == "too_short" and any(_inside(other["loc"], loc) for other in mistakes):
            continue  # a list of nothing but mistakes also counts as too short
        item, field = place_of(loc, data)
        what, mend = _advice(details, _model_at(model, loc[:-1]))
        found.append(Problem(file, item, field, what, mend))
    return found


def _inside(loc: Location, table: Location) -> bool:
    return len(loc) > len(table) and loc[: len(table)] == table


def place_of(loc: Location, data: Any) -> Advice:
    """Item and field of a location, such as ('cut "pork butt", recipe "250 paper"', "finish.early_min")."""
    items: list[str] = []
    fields: list[str] = []
    node = data
    for key in loc:
        node = _child(node, key)
        if isinstance(key, int):
            if isinstance(node, Mapping):
                table = fields.pop()
                items += [*fields, label(table, key, node)]
                fields.clear()
            else:
                fields[-1] += f" (number {key + 1})"
        else:
            fields.append(key)
    return ", ".join(items), ".".join(fields)


def _child(node: Any, key: str | int) -> Any:
    if isinstance(node, Mapping):
        return node.get(key)
    if isinstance(key, int) and isinstance(node, list | tuple) and key < len(node):
        return node[key]
    return None


def label(table: str, index: int, entry: Mapping[str, Any]) -> str:
    """How a sentence calls an entry of an array of tables: by name, else by cut and time, else by number."""
    one = table.removesuffix("s") if table in ("loads", "fires", "shifts", "tasks", "shorts") else table
    for key in ("name", "code", "person", "place", "firebox"):
        if isinstance(entry.get(key), str):
            return f'{one} "{entry[key]}"'
    at = entry.get("at") or entry.get("opens")
    rest = [part for part in (entry.get("cut"), moment_text(at)) if isinstance(part, str) and part]
    return f"{one} ({', '.join(rest)})" if rest else f"{one} {index + 1}"


def printable(problem: Problem) -> Problem:
    """The same with a question mark for each letter that would break its line or steer a terminal."""
    return Problem(*("".join(c if c.isprintable() else "?" for c in getattr(problem, f.name)) for f in fields(problem)))


def moment_text(value: Any) -> str:
    """A local time for a sentence; empty if it is none."""
    if isinstance(value, datetime):
        return f"{value:%a %Y-%m-%d %H:%M}"
    return value if isinstance(value, str) else ""


def _model_at(model: type[BaseModel], loc: Location) -> type[BaseModel] | None:
    """The model class that the tables at a location are read into."""
    at: type[BaseModel] | None = model
    for key in loc:
        if isinstance(key, int):
            continue
        if at is None:
            return None
        at = _models_by_key(at).get(key)
    return at


def _models_by_key(model: type[BaseModel]) -> dict[str, type[BaseModel] | None]:
    return {field.alias or name: next(_models_in(field.annotation), None) for name, field in model.model_fields.items()}


def _models_in(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for part in get_args(annotation):
        yield from _models_in(part)


def suggest(name: str, known: Iterable[str], spell: Callable[[str], str] = lambda text: f'"{text}"') -> str:
    """The mend for a name that is not known."""
    names = sorted(set(known))
    close = get_close_matches(name, names, n=1)
    if close:
        return f"write {spell(close[0])} if that is meant"
    return f"use one of {', '.join(map(spell, names))}" if names else "remove it"


def show(value: Any) -> str:
    """A value as its file has it."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, list | tuple):
        return "a list"
    return "nothing" if value is None else str(value)


_A_KIND: dict[str, Advice] = {
    "int": ("a whole number", "give a whole number without quotes or decimals"),
    "float": ("a number", "give a number without quotes"),
    "finite": ("a finite number", "give a number"),
    "string": ("a text", "put it in quotes"),
    "bool": ("true or false", "write true or false without quotes"),
    "datetime": ("a local date and time", "write it without quotes, such as 2026-06-13T11:00:00"),
    "time": ("a local time", "write it without quotes and with seconds, such as 22:00:00"),
    "tuple": ("a list", "put it in [square brackets], or use [[double brackets]] for a table"),
    "model": ("a table", "give it as a table"),
    "dict": ("a table", "give it as a table"),
    "timezone": ("a time with an offset", "write it such as 2026-06-13T11:00:00-05:00"),
}

_VALUE_MENDS = {
    "a range must rise": "put early, likely and late in rising order",
    "time zone": 'use a name such as "America/Chicago"',
    "must be after opens": "correct one of the two times",
    "wrap_from_min": "correct one of the two numbers",
    "above its high end": "put the lower temperature first",
    "is above": "put the lower number first",
    "whole minute": "give it seconds of 00",
    "year of any weekend": YEAR_MEND,
    "no wrap window": 'remove these settings or give it a wrap_kind other than "none"',
}


def _advice(details: Details, model: type[BaseModel] | None) -> Advice:
    kind: str = details["type"]
    if kind in _BY_TYPE:
        return _BY_TYPE[kind](details)
    if kind == "missing":
        return _missing(details, model)
    if kind == "extra_forbidden":
        known = _models_by_key(model) if model is not None else {}
        return "no such setting is known", suggest(str(details["loc"][-1]), known, lambda text: text)
    name, mend = _A_KIND.get(kind.split("_")[0], ("", ""))
    if name:
        return f"{show(details['input'])} is not {name}", mend
    return _first_low(details["msg"]), "correct it"


def _missing(details: Details, model: type[BaseModel] | None) -> Advice:
    key = str(details["loc"][-1])
    fields = model.model_fields.values() if model is not None else ()
    tables = {field.alias for field in fields if field.alias}
    if key in tables:
        return "at least one is needed and there is none", f"add a [[{key}]] table"
    return "it is missing", "add it"


def _first_low(text: str) -> str:
    return text[:1].lower() + text[1:]


def _value_error(details: Details) -> Advice:
    what = str(details["ctx"]["error"]) if "error" in details.get("ctx", {}) else details["msg"]
    for start in ("recipe ", "shift pattern "):
        if what.startswith(start) and ": " in what:
            what = what.split(": ", 1)[1]
    mend = next((mend for words, mend in _VALUE_MENDS.items() if words in what), "correct it")
    return what, mend


def _bound(words: str, key: str) -> Callable[[Details], Advice]:
    def advice(details: Details) -> Advice:
        limit = details["ctx"][key]
        return f"{show(details['input'])} is {words} {limit:g}", f"give {_LIMITS[key]} {limit:g}"

    return advice


_LIMITS = {"ge": "at least", "gt": "more than", "le": "at most", "lt": "less than"}


def _length(details: Details) -> Advice:
    context = details["ctx"]
    wanted = context.get("min_length", context.get("max_length"))
    few = "few" if "min_length" in context else "many"
    return f"it has too {few} entries", f"give {'at least' if few == 'few' else 'at most'} {wanted}"


def _text_length(details: Details) -> Advice:
    if "min_length" in details["ctx"]:
        return "the text is empty", "write something"
    return f"the text is longer than {details['ctx']['max_length']} letters", "shorten it"


def _pattern(details: Details) -> Advice:
    if details["loc"][-1] == "code" and len(details["loc"]) == 3 and details["loc"][0] == "cut":
        return f"{show(details['input'])} is not one to three capital letters", 'write it such as "BR"'
    return f"{show(details['input'])} does not have the form {details['ctx']['pattern']}", "correct it"


_BY_TYPE: dict[str, Callable[[Details], Advice]] = {
    "value_error": _value_error,
    "greater_than_equal": _bound("below", "ge"),
    "greater_than": _bound("not above", "gt"),
    "less_than_equal": _bound("above", "le"),
    "less_than": _bound("not below", "lt"),
    "multiple_of": lambda details: (f"{show(details['input'])} has more than two decimals", "round it to hundredths"),
    "literal_error": lambda details: (
        f"{show(details['input'])} is not {details['ctx']['expected'].replace(chr(39), chr(34))}",
        "use one of these",
    ),
    "too_short": _length,
    "too_long": _length,
    "string_too_short": _text_length,
    "string_too_long": _text_length,
    "string_pattern_mismatch": _pattern,
}
