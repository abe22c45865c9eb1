"""Something changed: three questions at most, each answered with one tap, and the log's event that they make."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from scheduler.model.clock import add_min
from scheduler.model.site import Firebox, HoldCabinet, Oven, Place, RestShelf, Site, Smoker
from scheduler.report.words import clock_text, moment_text, pieces_text
from scheduler.reshuffle.state import State


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer."""

    value: str
    text: str
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Question:
    """One question."""

    number: int
    of: int
    text: str
    what: str
    which: str
    choices: tuple[Choice, ...]
    last: bool
    """True if the answer sets the reshuffle going."""


KINDS: tuple[Choice, ...] = (
    Choice("place", "A fire, smoker, oven or cabinet is down", "Everything on it needs another place"),
    Choice("person", "Somebody is not here", "Late, sick, or gone home"),
    Choice("lost", "Meat is lost", "Dropped, burnt or thrown away"),
    Choice("weather", "The weather turned", "Cooks take longer from now on"),
    Choice("back", "Something works again", "Or somebody came after all"),
    Choice("anew", "The cook runs early or late", "Use the readings and ticks of tonight"),
)
STEPS = {"place": 3, "person": 3, "lost": 3, "weather": 2, "back": 2, "anew": 2}
UNTIL_H = (1, 2, 4)
NIGHTS: tuple[Choice, ...] = (
    Choice("mild", "Mild after all"),
    Choice("cold", "Cold"),
    Choice("cold and windy", "Cold and windy"),
)


def question_of(state: State, what: str, which: str) -> Question:
    """The next question. LookupError where the answers so far make no sense."""
    if not what:
        return Question(1, 3, "What happened?", "", "", KINDS, False)
    if what not in STEPS:
        raise LookupError("that cannot happen")
    of, second = STEPS[what], _second(state, what)
    if not which:
        return Question(2, of, _SECOND_TEXT[what], what, "", second, of == 2)
    if which not in {choice.value for choice in second} or of == 2:
        raise LookupError("that is not one of the answers")
    if what == "lost":
        return Question(3, 3, f"How many of {which} are lost?", what, which, _pieces(state, which), True)
    return Question(3, 3, "Until when?", what, which, _until(state), True)


_SECOND_TEXT = {
    "place": "Which one is down?",
    "person": "Who is not here?",
    "lost": "Which load?",
    "weather": "How is it now?",
    "back": "What works again?",
    "anew": "Work out the rest from here?",
}


def _second(state: State, what: str) -> tuple[Choice, ...]:
    if what == "place":
        return tuple(_places(state))
    if what == "person":
        return tuple(_people(state))
    if what == "lost":
        on = [b for b in state.past.begun if not _served(state, b.code)]
        return tuple(Choice(b.code, f"{b.code}: {pieces_text(b.pieces, b.cut)}", b.wave) for b in on)
    if what == "weather":
        return NIGHTS
    if what == "back":
        return tuple(_back(state))
    return (Choice("yes", "Yes, reshuffle now", "Nothing is changed until you say so"),)


def _served(state: State, code: str) -> bool:
    load = next((load for load in state.plan.loads if load.code == code), None)
    return load is not None and state.clock.minute(load.served_until_at) <= state.now_min


def _places(state: State) -> list[Choice]:
    site, down = state.scenario.site, _down(state)
    found = [Choice(place.name, place.name, _what(place, site)) for place in site.places]
    kept = {choice.value: choice for choice in found[::-1] if choice.value not in down}
    return list(kept.values())[::-1]


def _what(place: Place, site: Site) -> str:
    match place:
        case Smoker():
            return f"smoker on the {place.firebox}"
        case Firebox():
            return f"fire under {', '.join(s.name for s in site.smokers if s.firebox == place.name)}"
        case Oven():
            return "oven"
        case RestShelf():
            return "rest shelf"
        case HoldCabinet():
            return "holding cabinet"


def _people(state: State) -> list[Choice]:
    """Who is on shift or comes next, once each."""
    found: dict[str, Choice] = {}
    for shift in sorted(state.plan.shifts, key=lambda shift: shift.starts_at):
        if state.clock.minute(shift.ends_at) > state.now_min and shift.person not in _gone(state):
            start = state.clock.moment(state.clock.minute(shift.starts_at))
            text = f"{shift.pattern} shift from {moment_text(start, state.plan.clock)}"
            found.setdefault(shift.person, Choice(shift.person, shift.person, text))
    return list(found.values())


def _down(state: State) -> set[str]:
    now = state.now_min
    return {o.place for o in state.facts.outages if o.from_min <= now and (o.until_min is None or o.until_min > now)}


def _gone(state: State) -> set[str]:
    now = state.now_min
    return {a.person for a in state.facts.absences if a.from_min <= now and (a.until_min is None or a.until_min > now)}


def _back(state: State) -> list[Choice]:
    places = [Choice(f"place {name}", name, "can be used again") for name in sorted(_down(state))]
    return places + [Choice(f"person {name}", name, "came after all") for name in sorted(_gone(state))]


def _until(state: State) -> tuple[Choice, ...]:
    now = state.clock.moment(state.now_min)
    found = [Choice("", "Nobody knows", "Plan as if for the whole weekend")]
    for hours in UNTIL_H:
        back = add_min(now, 60 * hours)
        text = clock_text(back.astimezone(state.scenario.weekend.zone), state.plan.clock)
        found.append(Choice(str(hours), f"About {text}", f"in {hours} {'hour' if hours == 1 else 'hours'}"))
    return tuple(found)


def _pieces(state: State, code: str) -> tuple[Choice, ...]:
    begun = state.past.load(code)
    count = 0 if begun is None else begun.pieces
    return tuple(Choice(str(n), str(n), "all of it" if n == count else "") for n in range(1, count + 1))


def summary_of(state: State, what: str, which: str) -> str:
    """The answers so far in words."""
    kind = next((choice.text for choice in KINDS if choice.value == what), "")
    name = next((c.text for c in _second(state, what) if c.value == which), "") if what in STEPS and which else ""
    return ": ".join(part for part in (kind, name) if part)


def answer_event(state: State, posted: Mapping[str, str], now: datetime) -> dict[str, Any] | None:
    """The event that the answers make; None where they only ask for a reshuffle. LookupError if they make no sense."""
    what, which, answer = (posted.get(name, "") for name in ("what", "which", "answer"))
    if what not in STEPS:
        raise LookupError("that cannot happen")
    two = STEPS[what] == 2
    chosen = answer if two else which
    if chosen not in {choice.value for choice in _second(state, what)}:
        raise LookupError("that is not one of the answers")
    if what == "anew":
        return None
    if what == "weather":
        return {"kind": "weather", "night": answer}
    if what == "back":
        kind, _, name = answer.partition(" ")
        return {"kind": "up", "place": name} if kind == "place" else {"kind": "arrived", "person": name}
    if what == "lost":
        if answer not in {choice.value for choice in _pieces(state, which)}:
            raise LookupError("there are not so many")
        return {"kind": "discarded", "load": which, "pieces": int(answer)}
    if answer not in {choice.value for choice in _until(state)}:
        raise LookupError("that is not one of the answers")
    until = {"until": add_min(now, 60 * int(answer)).isoformat()} if answer else {}
    return (
        {"kind": "down", "place": which, **until}
        if what == "place"
        else {
            "kind": "missing",
            "person": which,
            **until,
        }
    )
