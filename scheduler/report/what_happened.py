"""What the log says that the old plan did not know, one sentence each."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.report.words import clock_text, kind_of_place, moment_text, pieces_text, sentence
from scheduler.reshuffle.state import State


def what_happened(state: State) -> Iterator[str]:
    """The news, in the order in which it weighs."""
    yield from _kitchen(state)
    facts = state.facts
    for _, cut, missing in facts.undelivered:
        yield f"{pieces_text(missing, cut)} were not delivered."
    for order in facts.orders:
        yield f"New order {order.name}: {pieces_text(order.pieces, order.cut)}."
    for minute, night in facts.weather:
        yield f"The weather has turned {night} at {_at(state, minute)}."
    if facts.wood_lb is not None:
        yield f"{facts.wood_lb:g} lb of wood are left."
    yield from _loads(state)


def _at(state: State, minute: int) -> str:
    moment, now = state.clock.moment(minute), state.clock.moment(state.now_min)
    style = state.plan.clock
    return clock_text(moment, style) if moment.date() == now.date() else moment_text(moment, style)


def _kitchen(state: State) -> Iterator[str]:
    smokers = {smoker.name for smoker in state.scenario.site.smokers}
    for outage in state.facts.outages:
        until = "" if outage.until_min is None else f", back {_at(state, outage.until_min)}"
        place = kind_of_place(outage.place, "smoker") if outage.place in smokers else outage.place
        since = "" if outage.from_min == state.from_min else f" since {_at(state, outage.from_min)}"
        yield sentence(f"{place} out of use{since}{until}")
    for absence in state.facts.absences:
        until = "" if absence.until_min is None else f" until {_at(state, absence.until_min)}"
        yield f"{absence.person} is not there from {_at(state, absence.from_min)}{until}."


def _loads(state: State) -> Iterator[str]:
    planned = {load.code: load for load in state.plan.loads}
    for begun in state.past.begun:
        said = state.facts.load(begun.code)
        if said.done is not None and begun.code in planned:
            likely = _at(state, state.clock.minute(planned[begun.code].likely_done_at))
            yield f"{begun.code} was done at {_at(state, said.done)}; likely was {likely}."
        elif said.readings:
            seen = said.readings[-1]
            early, likely, late = (_at(state, minute) for minute in begun.spread)
            when = f"done {early} to {late}, likely {likely}" if begun.window is None else "not yet wrapped"
            yield f"{begun.code} read {seen.temp_f:g} °F at {_at(state, round(seen.minute))}: {when}."
