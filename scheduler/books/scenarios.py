"""A scenario folder to the model: site.toml, menu.toml, crew.toml, weekend.toml; all mistakes at once."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime, time
from hashlib import sha256
from pathlib import Path
from typing import Any, NamedTuple, TypeVar

from pydantic import BaseModel, ValidationError

from scheduler.books.calendar_checks import calendar_problems
from scheduler.books.files import read_json, read_text, read_toml, refuse
from scheduler.books.fit_checks import fit_problems
from scheduler.books.name_checks import name_problems
from scheduler.books.parts import Parts
from scheduler.books.safety_checks import safety_problems
from scheduler.books.sentences import YEAR_MEND, Location, place_of, printable, problems_of, show
from scheduler.books.trial_checks import trial_problems
from scheduler.errors import InputError, Problem
from scheduler.model.clock import YEARS
from scheduler.model.crew import Crew
from scheduler.model.menu import Menu
from scheduler.model.scenario import Scenario
from scheduler.model.site import Site
from scheduler.model.weekend import Weekend

_M = TypeVar("_M", bound=BaseModel)

HASH_LETTERS = 16

STAND_INS: dict[str, dict[str, Any]] = {
    "site": {"name": "?", "wrap_tables": 0, "cutting_boards": 0, "wood_cents_per_lb": 0},
    "menu": {},
    "crew": {"longest_shift_min": 16 * 60, "least_rest_min": 0},
    "weekend": {"name": "?", "timezone": "UTC"},
}
"""Taken for unsound settings while the rest of a file is checked; never part of a scenario that is read."""


def read_scenario(folder: Path) -> Scenario:
    """The scenario in a folder. InputError with one problem for each mistake, across all four files."""
    if not folder.is_dir():
        what = "is a file" if folder.exists() else "there is no such folder"
        raise refuse(str(folder), what, "give the path of a scenario folder")
    problems: list[Problem] = []
    raw: dict[str, dict[str, Any]] = {}
    for name in ("site", "menu", "crew", "weekend"):
        try:
            raw[name] = read_toml(folder / f"{name}.toml")
        except InputError as error:
            problems.extend(error.problems)
    parts = Parts(
        raw=raw,
        site=_sound("site", Site, raw, problems),
        menu=_sound("menu", Menu, raw, problems),
        crew=_sound("crew", Crew, raw, problems),
        weekend=_sound("weekend", Weekend, raw, problems),
    )
    for check in (name_problems, fit_problems, safety_problems, calendar_problems, trial_problems):
        problems.extend(check(parts))
    if problems or not (parts.site and parts.menu and parts.crew and parts.weekend):
        raise InputError(dict.fromkeys(map(printable, problems)))
    return Scenario(site=parts.site, menu=parts.menu, crew=parts.crew, weekend=parts.weekend)


def _sound(name: str, model: type[_M], raw: Mapping[str, dict[str, Any]], problems: list[Problem]) -> _M | None:
    """The model of what is sound in a file; what is not goes to `problems`. None if too little is left."""
    if name not in raw:
        return None
    file, data = f"{name}.toml", raw[name]
    odd = list(_odd_values((), data))
    problems.extend(Problem(file, *place_of(o.loc, data), o.what, o.mend) for o in odd)
    bad = {o.loc[:2] for o in odd if not o.usable}
    try:
        whole = model.model_validate(_plain(data), strict=True)
        if not bad:
            return whole
    except ValidationError as error:
        problems.extend(problems_of(file, data, model, error))
        bad |= {details["loc"][:2] for details in error.errors(include_url=False)}
    try:
        return model.model_validate(STAND_INS[name] | _plain(_without(data, bad)), strict=True)
    except ValidationError:
        return None


class _Odd(NamedTuple):
    """A value that TOML allows and a scenario does not."""

    loc: Location
    what: str
    mend: str
    usable: bool = True
    """True if the rest can be checked with it."""


def _odd_values(loc: Location, node: Any) -> Iterator[_Odd]:
    """Times with an offset, with seconds or far off, and texts that cannot be printed."""
    if isinstance(node, Mapping):
        for key, value in node.items():
            yield from _odd_values((*loc, key), value)
    elif isinstance(node, list):
        for index, value in enumerate(node):
            yield from _odd_values((*loc, index), value)
    elif isinstance(node, str) and not node.isprintable():
        mend = "write it with plain letters on one line"
        yield _Odd(loc, f"{show(node)} has a letter that cannot be printed", mend)
    elif isinstance(node, datetime | time):
        yield from _odd_time(loc, node)


def _odd_time(loc: Location, value: datetime | time) -> Iterator[_Odd]:
    if isinstance(value, datetime) and value.year not in YEARS:
        yield _Odd(loc, f"{show(value)} is not in a year of any weekend", YEAR_MEND, usable=False)
    if value.tzinfo is not None:
        yield _Odd(loc, f"{show(value)} carries an offset", "give the local time without an offset")
    if value.second or value.microsecond:
        yield _Odd(loc, f"{show(value)} is not a whole minute", "give it seconds of 00")


def _plain(node: Any) -> Any:
    """A file's values for strict reading, which keeps 1320 from passing as the time 22:00 and true as the number 1.

    Strict reading takes tuples only. Offsets and seconds, told already, go: they would hide the mistakes beside them.
    """
    if isinstance(node, Mapping):
        return {key: _plain(value) for key, value in node.items()}
    if isinstance(node, list):
        return tuple(_plain(value) for value in node)
    if isinstance(node, datetime | time):
        return node.replace(tzinfo=None, second=0, microsecond=0)
    return node


def _without(data: Mapping[str, Any], bad: Iterable[Location]) -> dict[str, Any]:
    """The file without its unsound entries, so that the sound ones can still be checked against the other files."""
    dropped = set(bad)
    left: dict[str, Any] = {}
    for key, value in data.items():
        if isinstance(value, list):
            left[key] = [entry for index, entry in enumerate(value) if (key, index) not in dropped]
        elif not any(loc[0] == key for loc in dropped):
            left[key] = value
    return left


def problems_in(scenario: Scenario) -> tuple[Problem, ...]:
    """What does not fit together in a scenario that was changed in a program rather than in its files."""
    raw = {
        name: _listed(part.model_dump(by_alias=True, exclude_none=True))
        for name, part in (
            ("site", scenario.site),
            ("menu", scenario.menu),
            ("crew", scenario.crew),
            ("weekend", scenario.weekend),
        )
    }
    parts = Parts(raw=raw, site=scenario.site, menu=scenario.menu, crew=scenario.crew, weekend=scenario.weekend)
    checks = (name_problems, fit_problems, safety_problems, calendar_problems, trial_problems)
    return tuple(dict.fromkeys(printable(problem) for check in checks for problem in check(parts)))


def _listed(node: Any) -> Any:
    """The same with lists for tuples, as a file has them."""
    if isinstance(node, Mapping):
        return {key: _listed(value) for key, value in node.items()}
    return [_listed(value) for value in node] if isinstance(node, list | tuple) else node


def scenario_dump(scenario: Scenario) -> str:
    """The whole scenario as JSON text, to lie beside a plan."""
    return scenario.model_dump_json(by_alias=True, indent=1) + "\n"


def read_scenario_dump(path: Path) -> Scenario:
    """The scenario written beside a plan. InputError if it is not one."""
    data = read_json(path)
    try:
        return Scenario.model_validate_json(read_text(path))
    except ValidationError as error:
        raise InputError(problems_of(path.name, data, Scenario, error)) from None


def scenario_hash(scenario: Scenario) -> str:
    """First 16 hex digits of the SHA-256 of the scenario's canonical JSON: sorted keys, no blanks."""
    data = scenario.model_dump(mode="json", by_alias=True)
    text = json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return sha256(text.encode()).hexdigest()[:HASH_LETTERS]
