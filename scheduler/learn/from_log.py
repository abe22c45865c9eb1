"""Cooks out of the log of a weekend. Only what somebody wrote down counts: a plan is no witness for itself."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from scheduler.model import log as entry
from scheduler.model.clock import elapsed_min
from scheduler.model.cooks import Cook
from scheduler.model.log import AnyEvent, Log
from scheduler.model.plan import Load, Plan
from scheduler.model.scenario import Scenario


def cooks_of(plan: Plan, scenario: Scenario, log: Log, said: str = "the log") -> tuple[Cook, ...]:
    """One cook for each load of which the log says when it was done, or when it was cut off."""
    found = []
    for load in plan.loads:
        events = [event for event in log.events if getattr(event, "load", None) == load.code]
        cook = _cook(load, scenario, events, log, said)
        if cook is not None:
            found.append(cook)
    return tuple(found)


def _cook(load: Load, scenario: Scenario, events: list[AnyEvent], log: Log, said: str) -> Cook | None:
    start = _stage_start(load, events)
    end = next((e for e in events if isinstance(e, entry.Done)), None)
    pulled = next((e for e in events if isinstance(e, entry.Pulled)), None)
    ended = end if end is not None else pulled
    place, rack = _last_spot(load, events)
    broken = min(_cut_off(load, scenario, events, log, start, place), key=datetime.timestamp, default=None)
    if ended is None and broken is None:
        return None
    done = ended is not None and (broken is None or elapsed_min(ended.at, broken) > 0)
    at = ended.at if done and ended is not None else broken
    if at is None or elapsed_min(start, at) <= 0:
        return None
    cut = scenario.menu.cut(load.cut)
    return Cook(
        cut=load.cut,
        recipe=load.recipe,
        minutes=float(elapsed_min(start, at)),
        done=done,
        weight_lb=scenario.weight_lb(cut),
        smoker=place,
        rack=rack or "",
        offset_f=_offset(scenario, place, rack),
        planned=(
            elapsed_min(load.finish_from_at, load.early_done_at),
            elapsed_min(load.finish_from_at, load.likely_done_at),
            elapsed_min(load.finish_from_at, load.late_done_at),
        ),
        at=start,
        by=ended.by if ended is not None else "",
        said=f"{said}, load {load.code}",
    )


def _stage_start(load: Load, events: list[AnyEvent]) -> datetime:
    """When the uncertain stage began: as written down, else as planned, later by as much as the loading was."""
    loaded = next((e.at for e in events if isinstance(e, entry.Loaded)), load.load_at)
    if load.wrap_at is None:
        return loaded
    wrapped = next((e.at for e in events if isinstance(e, entry.Wrapped)), None)
    return load.wrap_at if wrapped is None else wrapped


def _last_spot(load: Load, events: list[AnyEvent]) -> tuple[str, str | None]:
    moved = [e for e in events if isinstance(e, entry.Moved)]
    if moved:
        return moved[-1].place, moved[-1].rack
    loaded = next((e for e in events if isinstance(e, entry.Loaded) and e.place is not None), None)
    if loaded is not None and loaded.place is not None and load.finish_place == load.smoker:
        return loaded.place, loaded.rack
    return load.finish_place, load.finish_rack


def _cut_off(
    load: Load, scenario: Scenario, events: list[AnyEvent], log: Log, start: datetime, place: str
) -> Iterator[datetime]:
    """Times at which the cook stopped being one: its place failed, all of it was thrown away."""
    names = {place} | {s.firebox for s in scenario.site.smokers if s.name == place}
    last = max(load.late_done_at, start, key=datetime.timestamp)
    for event in log.events:
        after_min = elapsed_min(start, event.at)
        if isinstance(event, entry.Down) and event.place in names and 0 < after_min < elapsed_min(start, last):
            yield event.at
    left = load.pieces
    for event in events:
        if isinstance(event, entry.Discarded):
            left -= event.pieces
            if left <= 0 and elapsed_min(start, event.at) > 0:
                yield event.at


def _offset(scenario: Scenario, place: str, rack: str | None) -> int:
    for smoker in scenario.site.smokers:
        for shelf in smoker.racks:
            if (smoker.name, shelf.name) == (place, rack):
                return shelf.offset_f
    return 0
