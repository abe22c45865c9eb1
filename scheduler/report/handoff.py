"""What is where at a moment: what one shift must tell the next."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from scheduler.model.base import HasName
from scheduler.model.plan import Fire, Load
from scheduler.report.desk import Desk
from scheduler.report.words import kind_of_place, list_text, rack_text

SET_ASIDE = "set aside"
"""Where a load is that takes no rest or hold space."""
AHEAD = timedelta(hours=3)
"""How far a shift is told what comes up after it."""


@dataclass(frozen=True, slots=True)
class Item:
    """One load at a place."""

    code: str
    what: str
    since: str
    next: str


@dataclass(frozen=True, slots=True)
class PlaceState:
    """A place and all that is in it at a moment."""

    place: str
    note: str
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class Handoff:
    """The state of the kitchen at a moment."""

    at: str
    places: tuple[PlaceState, ...]

    @property
    def empty(self) -> bool:
        """True if nothing burns, cooks, rests or is held."""
        return not self.places


def _cooking(desk: Desk, load: Load, at: datetime) -> Item:
    likely = desk.near(load.likely_done_at, at)
    if load.wrap_at is not None and at < load.wrap_at:
        since = load.load_at
        following = f"wrap {desk.wrap_words(load)} at {desk.near(load.wrap_at, at)} ({desk.wrap_span(load)})"
    elif at < load.early_done_at:
        since = load.finish_from_at
        following = f"probe {desk.near_span(load.early_done_at, load.late_done_at, at)}, likely {likely}"
    else:
        since = load.finish_from_at
        following = f"some may be off; late {desk.near(load.late_done_at, at)}"
    wrapped = "" if load.wrap_at is None or at < load.wrap_at else ", wrapped"
    return Item(load.code, f"{desk.pieces(load)}{wrapped}", desk.near(since, at), following)


def _held(desk: Desk, load: Load, at: datetime) -> Item:
    following = f"for {desk.wave(load)}, until {desk.near(load.served_until_at, at)}"
    if at < load.ready_by_at and at < desk.rested_at(load):
        following = f"rest until {desk.near(desk.rested_at(load), at)} at the latest; {following}"
    return Item(load.code, desk.pieces(load), desk.near(load.early_done_at, at), following)


def _holding_place(desk: Desk, load: Load, at: datetime) -> str:
    """Where a load is between its late pull and the end of serving."""
    if load.rest_place is not None and (at < desk.rested_at(load) or load.hold_place is None):
        return load.rest_place
    return load.hold_place or SET_ASIDE


def _burning(desk: Desk, at: datetime) -> dict[str, Fire]:
    return {fire.firebox: fire for fire in desk.plan.fires if fire.lit_at < at < fire.out_at}


def _fire_note(desk: Desk, fire: Fire, at: datetime) -> str:
    others = [s for s in fire.setpoints[1:] if s.from_at > at]
    change = f"; {others[0].setpoint_f} °F from {desk.near(others[0].from_at, at)}" if others else ""
    warming = f"warming up, ready {desk.near(fire.ready_at, at)}" if at < fire.ready_at else "burning"
    return (
        f"{warming}, {desk.setpoint_at(fire, at)} °F{change}; lit {desk.near(fire.lit_at, at)}, "
        f"out {desk.near(fire.out_at, at)}"
    )


def handoff(desk: Desk, at: datetime) -> Handoff:
    """What burns, cooks, rests and is held at a moment, place by place in the order of the kitchen."""
    found: dict[str, list[tuple[str, Item]]] = {}
    for load in desk.plan.loads:
        if load.load_at < at < load.late_done_at:
            smoking = at < load.finish_from_at
            place, rack = (load.smoker, load.rack) if smoking else (load.finish_place, load.finish_rack or "")
            found.setdefault(place, []).append((rack, _cooking(desk, load, at)))
        elif load.late_done_at <= at < load.served_until_at:
            found.setdefault(_holding_place(desk, load, at), []).append(("", _held(desk, load, at)))
    fires = _burning(desk, at)
    noted: dict[str, str] = {}
    for fire in fires.values():
        for smoker in desk.smokers_of(fire.firebox):
            noted[smoker] = f"{desk.fire_words(fire.firebox)}: {_fire_note(desk, fire, at)}"
            found.setdefault(smoker, [])
    states = tuple(
        PlaceState(_place_words(desk, place), noted.get(place, ""), _items(found[place]))
        for place in _kitchen_order(desk)
        if place in found
    )
    return Handoff(at=desk.moment(at), places=states)


def _items(found: list[tuple[str, Item]]) -> tuple[Item, ...]:
    return tuple(
        Item(item.code, f"{item.what}{f', {rack_text(rack)}' if rack else ''}", item.since, item.next)
        for rack, item in sorted(found, key=lambda pair: (pair[0], pair[1].code))
    )


def _kitchen_order(desk: Desk) -> tuple[str, ...]:
    site = desk.scenario.site
    groups: tuple[tuple[HasName, ...], ...] = (site.smokers, site.ovens, site.rest_shelves, site.hold_cabinets)
    return (*(place.name for group in groups for place in group), SET_ASIDE)


def _place_words(desk: Desk, place: str) -> str:
    site = desk.scenario.site
    kinds = (("smoker", site.smokers), ("oven", site.ovens), ("shelf", site.rest_shelves))
    for kind, places in kinds:
        if any(p.name == place for p in places):
            return kind_of_place(place, kind)
    return place if place == SET_ASIDE else kind_of_place(place, "cabinet")


def coming_up(desk: Desk, at: datetime) -> tuple[str, ...]:
    """What falls due in the hours after a shift, so that it can be told: fires, loads, wraps, probing, waves."""
    until = at + AHEAD
    due: list[tuple[datetime, str]] = []
    for fire in desk.plan.fires:
        due.append((fire.lit_at, f"light the {desk.fire_words(fire.firebox)}"))
        due.append((fire.out_at, f"the {desk.fire_words(fire.firebox)} may go out"))
        for setpoint in fire.setpoints[1:]:
            due.append((setpoint.from_at, f"{desk.fire_words(fire.firebox)} at {setpoint.setpoint_f} °F"))
    for (moment, words), codes in _by_moment(desk.plan.loads).items():
        due.append((moment, f"{words} {list_text(codes)}"))
    found = sorted(pair for pair in due if at <= pair[0] < until)
    return tuple(f"{desk.near(moment, at)}: {words}" for moment, words in found)


def _by_moment(loads: tuple[Load, ...]) -> dict[tuple[datetime, str], list[str]]:
    found: dict[tuple[datetime, str], list[str]] = {}
    for load in loads:
        found.setdefault((load.load_at, "load"), []).append(load.code)
        if load.wrap_at is not None:
            found.setdefault((load.wrap_at, "wrap"), []).append(load.code)
        found.setdefault((load.early_done_at, "start probing"), []).append(load.code)
        found.setdefault((load.ready_by_at, "ready to serve:"), []).append(load.code)
    return found
