"""Why a wave is short: found by lifting one limit after another from the finished board and trying again.

First comes what no kitchen could do (a hold limit too short for the range and the serving, a start too late). Then the
board is opened: everyone who may come in is there, every fire may burn. If the pieces fit now, they are short because
what they ask for costs more than they bring. If not, each limit is lifted alone, then two at a time: whichever makes
room binds.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import get_args

from scheduler.audit.words import dollars, joined
from scheduler.model.base import hundredths
from scheduler.model.crew import WEEKDAYS, Skill
from scheduler.model.menu import Cut
from scheduler.model.plan import Limit
from scheduler.model.weekend import minutes_text
from scheduler.solve.board import Board
from scheduler.solve.checked import checked
from scheduler.solve.grid import Finish, Grid, Smoke, Stream
from scheduler.solve.lifted import Lift, Opened
from scheduler.solve.settle import cost_cents, rebuild, settle, tended, trimmed
from scheduler.solve.worth import Way, cheapest_way, manned, more_of

ORDER: tuple[Limit, ...] = ("hold", "rack", "rest", "hands", "temperature", "fire")
"""Limits that can be lifted; of two that give the same, the first is named."""

SKILLS: tuple[Skill, ...] = get_args(Skill)
WORK_OF: dict[Skill, str] = {
    "fire": "tend another fire",
    "pit": "load and pull them",
    "wrap": "wrap them",
    "slice": "slice them",
    "counter": "serve at the counter",
}
IS_FULL: dict[Limit, str] = {
    "hold": "the holding cabinets are full",
    "rack": "the racks that take it are full",
    "rest": "the rest shelves are full",
    "hands": "nobody has a hand free",
    "temperature": "the fires are held at temperatures that it can't be cooked at",
    "fire": "no fire can be hot in time",
}
CURES: dict[Limit, str] = {
    "hold": "more hold space",
    "rack": "more rack space",
    "rest": "more rest space",
    "hands": "more hands",
    "temperature": "a fire at the right temperature",
    "fire": "a fire already hot",
}


@dataclass(frozen=True, slots=True)
class Finding:
    """Why pieces of one wave are short."""

    demand: int
    pieces: int
    limit: Limit
    sentence: str
    with_limit: Limit | None = None
    """The other limit, where two bind only together."""


def _always() -> bool:
    return True


def findings(board: Board, closely: Callable[[], bool] = _always) -> tuple[Finding, ...]:
    """A finding for each wave that a finished board is short of, in the order of the demands.

    While `closely` says so, it is looked into what pieces would cost for which there is room, and what would seem to
    pay is made into a plan and audited.
    """
    pairs = enumerate(zip(board.grid.demands, board.made(), strict=True))
    short = {demand: wanted.pieces - made for demand, (wanted, made) in pairs if made < wanted.pieces}
    if not short:
        return ()
    opened = Opened(board)
    too_soon = _together(opened, short, closely)
    return tuple(
        Finding(demand, pieces, "time", TOGETHER) if demand in too_soon else _look_into(opened, demand, pieces, closely)
        for demand, pieces in short.items()
    )


TOGETHER = "There is room, and together with other shorts it would pay: planning for longer would find it."


def overlooked(board: Board) -> Board | None:
    """A cheaper board with more of what is short, tried all at once with everyone and every fire; None if not found.

    It has not been made into a plan yet.
    """
    pairs = enumerate(zip(board.grid.demands, board.made(), strict=True))
    short = {demand: wanted.pieces - made for demand, (wanted, made) in pairs if made < wanted.pieces}
    return _cheaper_with(Opened(board), short) if short else None


def _cheaper_with(opened: Opened, short: dict[int, int]) -> Board | None:
    kept = opened.with_all(short, opened.planned.frame.shifts)
    boards = [*map(settle, opened.with_all(short)), *(settle(board, old_shifts=True) for board in kept)]
    best = min(filter(manned, boards), key=cost_cents, default=None)
    return None if best is None or cost_cents(best) >= cost_cents(opened.planned) - 1 else best


def _together(opened: Opened, short: dict[int, int], closely: Callable[[], bool]) -> set[int]:
    """Waves of which more could be made at a gain, if all that is short is tried at once."""
    best = _cheaper_with(opened, short) if closely() else None
    if best is None or (closely() and checked(best) is None):
        return set()
    return {demand for demand in short if more_of(best, opened.planned, demand)}


def _look_into(opened: Opened, demand: int, pieces: int, closely: Callable[[], bool]) -> Finding:
    told = (
        _impossible(opened.grid, demand)
        or _not_worth(opened, demand, pieces, closely)
        or _one_limit(opened, demand, pieces)
        or _two_limits(opened, demand, pieces)
        or Told("time", "Nothing that could be lifted alone, or in twos, makes room for them.")
    )
    return Finding(demand, pieces, told.limit, told.sentence, told.with_limit)


@dataclass(frozen=True, slots=True)
class Told:
    """A finding about the wave that is looked into."""

    limit: Limit
    sentence: str
    with_limit: Limit | None = None


# what no kitchen could do ------------------------------------------------------------------------------------------


def _impossible(grid: Grid, demand: int) -> Told | None:
    """Why not one piece could be made even in an empty kitchen with everyone in; None if it could."""
    cut = grid.cut_of(demand)
    mine = [stream for stream in grid.streams if stream.cut.name == cut.name]
    if not mine:
        return _no_way(grid, cut)
    if hundredths(cut.hold_spaces) and not grid.cabinets_for(cut):
        return Told("hold", f"No holding cabinet is kept at a temperature that suits {cut.name}.")
    if hundredths(cut.rest_spaces) and not grid.rest:
        return Told("rest", f"There is no rest shelf, and {cut.name} needs one.")
    ways = [way for stream in mine for way in _ways(grid, stream, demand)]
    if any(way.first <= way.last and way.first_warm <= way.last for way in ways):
        return None
    return _too_late(grid, demand, ways) or _held_too_long(grid, demand, cut, mine)


def _no_way(grid: Grid, cut: Cut) -> Told:
    if any(place.takes(cut) for place in grid.places):
        return Told("temperature", f"No fire can be set to what {cut.name} needs on a rack that takes it.")
    return Told("rack", f"No rack takes {cut.name}.")


@dataclass(frozen=True, slots=True)
class _Way:
    """Steps at which the uncertain stage may start, by the hold limit and by the fire; and must, to be ready."""

    first: int
    """By the hold limit."""
    first_warm: int
    """By the start of planning: fire warm, piece smoked."""
    last: int


def _ways(grid: Grid, stream: Stream, demand: int) -> Iterator[_Way]:
    cut = stream.cut
    for finish in stream.finish:
        first = grid.up(grid.served_min[demand] - cut.hold_max_min - finish.took.early_min - cut.rest_min)
        last = grid.down(grid.ready_min[demand] - finish.took.late_min - cut.rest_min)
        for smoke in stream.smoke or (None,):
            yield _Way(first, _first_warm(grid, finish, smoke), last)


def _first_warm(grid: Grid, finish: Finish, smoke: Smoke | None) -> int:
    place = finish.place if smoke is None else smoke.place
    firebox = grid.places[place].firebox
    warm = 0 if firebox is None else grid.up(grid.fireboxes[firebox].warm_up_min)
    return warm + (0 if smoke is None else grid.up(smoke.wrap_from_min))


def _too_late(grid: Grid, demand: int, ways: list[_Way]) -> Told | None:
    steps = min((way.first_warm - way.last for way in ways if way.first <= way.last), default=None)
    if steps is None:
        return None
    late = minutes_text(steps * grid.step_min)
    return Told("time", f"Planning starts {late} too late to warm up, cook and rest, should it take to the late end.")


def _held_too_long(grid: Grid, demand: int, cut: Cut, streams: list[Stream]) -> Told:
    spread = min(f.took.late_min - f.took.early_min for stream in streams for f in stream.finish)
    served = grid.served_min[demand] - grid.ready_min[demand]
    return Told(
        "time",
        f"No timing keeps the hold limit of {minutes_text(cut.hold_max_min)}: from the early finish to the late one "
        f"takes {minutes_text(spread)}, and then it is served for {minutes_text(served)}.",
    )


# what would fit, but does not pay ----------------------------------------------------------------------------------


def _not_worth(opened: Opened, demand: int, pieces: int, closely: Callable[[], bool]) -> Told | None:
    """The pieces fit if more is burnt or more people are called in: what that costs beyond what they bring."""
    fits = opened.with_all({demand: pieces})
    if not fits:
        return None
    if not closely():
        return Told("time", "There is room, but planning ended before it was known what it would cost to make them.")
    way = cheapest_way(opened, demand, pieces, fits, closely)
    if way is None:
        return _unmanned(fits, demand, opened.planned)
    some, more = _of(way.pieces, pieces), round(way.extra_cents)
    if more < 0:
        if closely() and checked(way.board) is None:
            return Told("hands", f"There is room for {some}, but the people there could not share out the work.")
        return Told("time", f"There is room for {some}, and it would pay: planning for longer would find it.")
    extra_wages = way.wages_cents - sum(option.wage_cent_min for option in opened.planned.frame.shifts) / 60
    # Of what is paid, wages and wood are the parts that matter; what is not wages is mostly wood.
    limit: Limit = "hands" if 2 * extra_wages >= more else "fire"
    money = f"{dollars(more)} more than" if more else "as much as"
    how = _how(opened.grid, way, limit)
    return Told(limit, f"There is room for {some}, but only {how}: that costs {money} it brings.")


def _how(grid: Grid, way: Way, limit: Limit) -> str:
    """What is paid for, in words."""
    if limit == "fire":
        return "by burning more wood or holding longer"
    if way.extra_shift is None:
        return "with more hours of work"
    shift = way.extra_shift
    day = WEEKDAYS[grid.scenario.weekend.timeline.moment(shift.start_min).weekday()].capitalize()
    return f"with one more shift ({shift.person.name}, {shift.pattern.name} of {day})"


def _unmanned(fits: list[Board], demand: int, planned: Board) -> Told:
    """What fits on an opened board, but not in a plan: is it the people, or the fires that they could tend?"""
    for board in fits:
        everyone = board.frame.with_levels(trimmed(board))
        again = rebuild(board.grid, tended(board.grid, everyone), board.placed)
        if more_of(again, planned, demand):
            return Told("hands", "They would need people at hours at which nobody with the skill may be called in.")
    return Told("fire", "They would need a fire at hours at which nobody could light or tend one more.")


# what binds --------------------------------------------------------------------------------------------------------


def _one_limit(opened: Opened, demand: int, pieces: int) -> Told | None:
    gains = {limit: opened.most(demand, pieces, Lift(frozenset({limit}))) for limit in ORDER}
    best = max(ORDER, key=lambda limit: gains[limit])
    if not gains[best]:
        return None
    full, cure = _hands_words(opened, demand, pieces) if best == "hands" else (_full(opened.grid, best), CURES[best])
    also = [CURES[limit] for limit in ORDER if limit != best and gains[limit] == gains[best]]
    cures = " or ".join([cure, *also])
    some = _of(gains[best], pieces)
    return Told(best, f"{full[0].upper()}{full[1:]} when they would need it: with {cures}, {some} could be made.")


def _hands_words(opened: Opened, demand: int, pieces: int) -> tuple[str, str]:
    """Which hands: those of one skill, or the stations they work at."""
    if opened.most(demand, pieces, Lift(tables=True)):
        return "the wrap tables are taken", "another wrap table"
    if opened.most(demand, pieces, Lift(boards=True)):
        return "the cutting boards are taken", "another cutting board"
    for skill in SKILLS:
        if opened.most(demand, pieces, Lift(skill=skill)):
            return f"nobody is free to {WORK_OF[skill]}", "another hand"
    return IS_FULL["hands"], "more hands"


def _two_limits(opened: Opened, demand: int, pieces: int) -> Told | None:
    gain, pair = 0, (ORDER[0], ORDER[1])
    for two in combinations(ORDER, 2):
        if gain < pieces and (now := opened.most(demand, pieces, Lift(frozenset(two)))) > gain:
            gain, pair = now, two
    if not gain:
        return None
    both = joined([_full(opened.grid, limit) for limit in pair])
    sentence = f"Two things bind at once: {both}; {_of(gain, pieces)} could be made with more of both."
    return Told(pair[0], sentence, pair[1])


def _full(grid: Grid, limit: Limit) -> str:
    """What binds, in words; broken racks are nobody's idea of full."""
    out = {out.place for out in grid.scenario.weekend.out_of_use}
    smokers = grid.scenario.site.smokers
    if limit == "rack" and any(out & {smoker.name, smoker.firebox} for smoker in smokers):
        return "the racks that take it are full or out of use"
    return IS_FULL[limit]


def _of(some: int, pieces: int) -> str:
    """ "all 4", "3 of the 4", "it"."""
    if pieces == 1:
        return "the piece"
    return f"all {pieces}" if some == pieces else f"{some} of the {pieces}"
