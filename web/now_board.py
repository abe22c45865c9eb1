"""The board of the moment: what to do, what is on each smoker, what was just written down."""

from __future__ import annotations

import secrets
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from scheduler.model.clock import elapsed_min
from scheduler.model.past import Begun
from scheduler.report.status import Status
from scheduler.report.words import degrees_text, pieces_text
from scheduler.reshuffle.state import State, state_at
from web.kitchen import Kitchen
from web.now_tasks import TaskCard, cards, due_text
from web.store.entries import Entry, all_entries, last_entry, log_of
from web.store.plans import KeptPlan

LATEST = 8
BEFORE_MIN, AFTER_MIN = 12 * 60, 2 * 60
"""So long before the first thing to do, and after the last, the weekend is not on."""
COLDEST_F, STEP_F = 60, 5
"""Readings are offered from so far below done, in such steps."""


@dataclass(frozen=True, slots=True)
class OnLoad:
    """One load on a smoker or in an oven."""

    code: str
    what: str
    rack: str
    since: str
    next: str
    due: str
    soon: bool
    reading: str
    """The last one, with its time."""
    offered: tuple[int, ...]
    done_f: int


@dataclass(frozen=True, slots=True)
class OnPlace:
    """A smoker or an oven with all that is on it."""

    name: str
    fire: str
    trouble: str
    loads: tuple[OnLoad, ...]


@dataclass(frozen=True, slots=True)
class Written:
    """Something that was written down."""

    id: int
    when: str
    by: str
    text: str


@dataclass(frozen=True, slots=True)
class NowBoard:
    """Context of the board; a script fetches it anew every while."""

    stamp: str
    """Milliseconds since 1970 when it was made, by the server's clock."""
    at: str
    plan: int
    newer: int | None
    """A newer plan than the one in force, not yet in force."""
    person: str
    people: tuple[str, ...]
    tasks: tuple[TaskCard, ...]
    places: tuple[OnPlace, ...]
    ready: tuple[str, ...]
    cold: tuple[str, ...]
    notes: tuple[str, ...]
    written: tuple[Written, ...]
    seed: str
    """Starts the keys of what is sent from this very page."""
    outside: str
    """Said where the weekend is not on at all."""


@lru_cache(maxsize=4)
def _state(kitchen: Kitchen, number: int, last: int, minute: int) -> tuple[State, tuple[Entry, ...]]:
    kept = kitchen.plan(number)
    entries = all_entries(kitchen.database)
    weekend = kept.scenario.weekend
    at = weekend.timeline.moment(minute)
    return state_at(kept.plan, kept.scenario, log_of(entries, weekend.zone), at, kept.past), entries


def state_now(kitchen: Kitchen, kept: KeptPlan) -> tuple[State, tuple[Entry, ...]]:
    """Where everything is, and all entries. Worked out once a minute, and after every entry."""
    minute = kept.scenario.weekend.timeline.minute(kitchen.now(kept.scenario))
    return _state(kitchen, kept.number, last_entry(kitchen.database), minute)


def now_board(kitchen: Kitchen, kept: KeptPlan, person: str, newer: int | None) -> NowBoard:
    """The board for one person, or for all."""
    desk = kitchen.desk(kept.number)
    now = kitchen.now(kept.scenario)
    state, entries = state_now(kitchen, kept)
    status = Status(state)
    board = _Board(kitchen, kept, state, status, entries)
    outside = ""
    if elapsed_min(now, desk.first_at) > BEFORE_MIN:
        outside = f"The weekend has not begun: the first thing to do is at {desk.moment(desk.first_at)}."
    elif elapsed_min(desk.last_at, now) > AFTER_MIN:
        outside = f"The weekend is over since {desk.moment(desk.last_at)}."
    return NowBoard(
        stamp=str(int(kitchen.settings.now().timestamp() * 1000)),
        at=kitchen.moment(now, kept.scenario),
        plan=kept.number,
        newer=newer,
        person=person,
        people=tuple(dict.fromkeys(shift.person for shift in kept.plan.shifts)),
        tasks=cards(desk, entries, now, person),
        places=tuple(board.places()),
        ready=tuple(board.ready()),
        cold=tuple(map(degrees_text, status.cold([b for b in state.past.begun if not b.done]))),
        notes=state.notes,
        written=tuple(board.written()),
        seed=secrets.token_hex(8),
        outside=outside,
    )


@dataclass(frozen=True, slots=True)
class _Board:
    kitchen: Kitchen
    kept: KeptPlan
    state: State
    status: Status
    entries: Sequence[Entry]

    def places(self) -> Iterator[OnPlace]:
        """Smokers, then ovens; those with nothing on and no fire are left out."""
        site = self.kept.scenario.site
        desk = self.status.desk
        for smoker in site.smokers:
            fire, trouble = self._fire(smoker.firebox), self._trouble(smoker.name, smoker.firebox)
            loads = tuple(self._loads(smoker.name))
            if loads or fire or trouble:
                yield OnPlace(desk.smoker_words(smoker.name), fire, trouble, loads)
        for oven in site.ovens:
            loads, trouble = tuple(self._loads(oven.name)), self._trouble(oven.name)
            if loads or trouble:
                yield OnPlace(desk.spot_words(oven.name, None), f"{oven.oven_f} °F", trouble, loads)

    def _fire(self, firebox: str) -> str:
        for fire in self.state.past.fires:
            if fire.firebox == firebox and fire.out_min is None:
                return f"fire at {fire.setpoints[-1][1]} °F, lit {self.status.at(fire.lit_min)}"
        return ""

    def _trouble(self, *names: str) -> str:
        now = self.state.now_min
        for out in self.state.facts.outages:
            if out.place in names and out.from_min <= now and (out.until_min is None or out.until_min > now):
                until = "" if out.until_min is None else f", back {self.status.at(out.until_min)}"
                return f"{out.place} is out of use since {self.status.at(out.from_min)}{until}"
        return ""

    def _loads(self, place: str) -> Iterator[OnLoad]:
        on = [b for b in self.state.past.begun if not b.done and b.spot.place == place]
        for begun in sorted(on, key=lambda b: (b.spot.rack or "", b.load_min, b.code)):
            yield self._load(begun)

    def _load(self, begun: Begun) -> OnLoad:
        at, now = self.status.at, self.state.now_min
        load = self.status.desk.by_code[begun.code]
        cut = self.status.desk.cut(load)
        early, likely, late = begun.spread
        if begun.window is not None:
            target = self.state.clock.minute(load.wrap_at) if load.wrap_at is not None else begun.window[0]
            following = f"wrap at {at(target)}, window {at(begun.window[0])} to {at(begun.window[1])}"
        else:
            target = early if now < early else likely
            following = f"done {at(early)} to {at(late)}, likely {at(likely)}"
        seen = self.state.facts.load(begun.code).readings
        reading = f"{seen[-1].temp_f:.0f} °F at {at(int(seen[-1].minute))}" if seen else ""
        moment = self.state.clock.moment
        return OnLoad(
            code=begun.code,
            what=pieces_text(begun.pieces, begun.cut),
            rack=self.status.where(begun.spot).rpartition(", ")[2] if begun.spot.rack else "oven",
            since=at(begun.stops[-1].at_min if begun.stops else begun.load_min),
            next=following,
            due=due_text(moment(target), moment(now)),
            soon=target - now <= 30,
            reading=reading,
            offered=tuple(range(cut.done_f - COLDEST_F, cut.done_f + 2 * STEP_F + 1, STEP_F)),
            done_f=cut.done_f,
        )

    def ready(self) -> Iterator[str]:
        """Done, resting or held."""
        for begun in self.state.past.begun:
            if begun.done and not self.status.served(begun):
                load = self.status.desk.by_code[begun.code]
                after = self.status.desk.after_words(load)
                what, wave = pieces_text(begun.pieces, begun.cut), self.status.desk.wave(load)
                yield f"{begun.code}: {what}, for {wave}" + (f"; {after}" if after else "")

    def written(self) -> Iterator[Written]:
        """The latest entries, newest first, without those that were undone."""
        shown = [e for e in self.entries if not e.undone and e.what != "undo"]
        for entry in sorted(shown, key=lambda e: (e.at, e.id))[-LATEST:][::-1]:
            yield Written(entry.id, self.kitchen.moment(entry.at, self.kept.scenario), entry.by, entry_text(entry))


def entry_text(entry: Entry) -> str:
    """An entry in words."""
    event = entry.event or {}
    kind, load = event.get("kind", ""), event.get("load", "")
    said = {
        "probe": lambda: f"{load} reads {event.get('temp_f', 0):.0f} °F",
        "down": lambda: f"{event.get('place')} is out of use",
        "up": lambda: f"{event.get('place')} can be used again",
        "missing": lambda: f"{event.get('person')} is not here",
        "arrived": lambda: f"{event.get('person')} came",
        "sold": lambda: f"{event.get('portions')} portions of {event.get('cut')} sold",
        "sliced": lambda: f"{event.get('pieces')} of {load} sliced",
        "discarded": lambda: f"{event.get('pieces')} of {load} thrown away",
        "lit": lambda: f"{event.get('place')} lit",
        "weather": lambda: f"The weather is {event.get('night')}",
        "delivered": lambda: f"{event.get('missing')} of {event.get('cut')} did not come",
        "ordered": lambda: f"Order {event.get('name')}: {event.get('pieces')} of {event.get('cut')}",
    }
    text = said[kind]() if kind in said else f"{load} {kind}".strip()
    words = {"late": "runs late", "skip": "skipped", "done": "done"}
    if not kind:
        text = words.get(entry.what, entry.what)
    return f"{text}: {entry.reason}" if entry.reason else text
