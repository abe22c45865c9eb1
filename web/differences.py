"""What differs between two weekends, in words."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from scheduler.books.sentences import label
from scheduler.model.scenario import Scenario
from scheduler.report.words import clock_text, moment_text, money_text

TABLES = ("day", "wave", "order", "away", "out_of_use")


def differences(old: Scenario, new: Scenario) -> tuple[str, ...]:
    """One sentence for each entry that was added, taken out or changed."""
    found: list[str] = []
    before, after = old.weekend.model_dump(by_alias=True), new.weekend.model_dump(by_alias=True)
    for table in TABLES:
        found += _table(old, table, before[table], after[table])
    others = [name for name in before if name not in TABLES and before[name] != after[name]]
    found += [f"{name.replace('_', ' ')} changed" for name in others]
    found += [f"{part} changed" for part in ("site", "menu", "crew") if getattr(old, part) != getattr(new, part)]
    return tuple(found)


def _named(scenario: Scenario, table: str, entry: dict[str, Any]) -> str:
    clock = scenario.weekend.clock
    at = entry.get("at") or entry.get("opens")
    when = f" {moment_text(scenario.weekend.local(at), clock)}" if isinstance(at, datetime) else ""
    name = entry.get("cut") or entry.get("person") or entry.get("place") or "service"
    return f"{name}{when}"


def _table(scenario: Scenario, table: str, old: Any, new: Any) -> Iterator[str]:
    before = {label(table, i, entry): entry for i, entry in enumerate(old)}
    after = {label(table, i, entry): entry for i, entry in enumerate(new)}
    for key in before.keys() - after.keys():
        yield f"{_named(scenario, table, before[key])}: taken out"
    for key, entry in after.items():
        if key not in before:
            pieces = f", {entry['pieces']} pieces" if "pieces" in entry else ""
            yield f"{_named(scenario, table, entry)}: added{pieces}"
            continue
        for name, value in entry.items():
            if value != before[key][name] and name != "worth_cents":
                what = name.replace("_cents", "").replace("_at", "").replace("_", " ")
                was, now = _text(scenario, name, before[key][name]), _text(scenario, name, value)
                yield f"{_named(scenario, table, entry)}: {what} {was} to {now}"


def _text(scenario: Scenario, name: str, value: Any) -> str:
    if isinstance(value, datetime):
        return clock_text(scenario.weekend.local(value), scenario.weekend.clock)
    if name.endswith("_cents") and isinstance(value, int):
        return money_text(value)
    return "nothing" if value in (None, "", ()) else str(value)
