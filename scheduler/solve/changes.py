"""What a kitchen could change, one thing at a time, and a plan carried over into the kitchen so changed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import timedelta

import numpy as np

from scheduler.audit.words import Words, joined, number
from scheduler.model.clock import add_min
from scheduler.model.crew import WEEKDAYS, Person
from scheduler.model.plan import Limit
from scheduler.model.scenario import Scenario
from scheduler.model.site import Rack, Site, Smoker
from scheduler.model.weekend import ServiceDay, Wave
from scheduler.solve.board import Board, Placed, finish_at
from scheduler.solve.frame import Frame, Ints
from scheduler.solve.grid import Grid
from scheduler.solve.shift_options import ShiftOption

HOUR_MIN = 60
NAME_LENGTH = 40


@dataclass(frozen=True, slots=True)
class Change:
    """A changed scenario; `moved` says which waves (cut, name) have another name in it."""

    limit: Limit
    words: str
    scenario: Scenario
    moved: dict[tuple[str, str], str] = field(default_factory=dict)


def changes(board: Board, pairs: Iterable[tuple[Limit, Limit]] = ()) -> tuple[Change, ...]:
    """One more of each thing, an hour more, and pairs of things that only help together, for a finished board."""
    scenario = board.grid.scenario
    singles = [make(scenario) for make in ONE_MORE.values()]
    found = [change for change in singles if change is not None]
    for first, second in pairs:
        both = _both(scenario, first, second)
        found += [both] if both is not None else []
    return (
        *found,
        *_other_hands(scenario),
        *_more_stations(scenario),
        *_start_earlier(board.grid),
        *_open_later(board),
    )


def _both(scenario: Scenario, first: Limit, second: Limit) -> Change | None:
    """One more of two things."""
    if first not in ONE_MORE or second not in ONE_MORE:
        return None
    one = ONE_MORE[first](scenario)
    two = None if one is None else ONE_MORE[second](one.scenario)
    return None if one is None or two is None else Change(first, f"{one.words} and {two.words}", two.scenario)


# one more ----------------------------------------------------------------------------------------------------------


def _more_hold(scenario: Scenario) -> Change | None:
    cabinets = scenario.site.hold_cabinets
    if not cabinets:
        return None
    like = max(cabinets, key=lambda c: c.spaces)
    more = like.model_copy(update={"name": _new_name(like.name, _places(scenario.site))})
    words = f"one more holding cabinet of {number(like.spaces)} spaces"
    return Change("hold", words, _with_site(scenario, hold_cabinets=(*cabinets, more)))


def _more_rest(scenario: Scenario) -> Change | None:
    shelves = scenario.site.rest_shelves
    if not shelves:
        return None
    like = max(shelves, key=lambda s: s.spaces)
    more = like.model_copy(update={"name": _new_name(like.name, _places(scenario.site))})
    words = f"one more rest shelf of {number(like.spaces)} spaces"
    return Change("rest", words, _with_site(scenario, rest_shelves=(*shelves, more)))


def _more_rack(scenario: Scenario) -> Change | None:
    """A rack like the largest of those that take most cuts, in a smoker that is in use."""
    smoker, rack = max(_racks(scenario), key=lambda pair: _worth(scenario, *pair))
    more = rack.model_copy(update={"name": _new_name(rack.name, {r.name for r in smoker.racks})})
    wider = smoker.model_copy(update={"racks": (*smoker.racks, more)})
    smokers = tuple(wider if s.name == smoker.name else s for s in scenario.site.smokers)
    words = f"one more rack of {number(rack.spaces)} spaces in the {smoker.name} smoker"
    return Change("rack", words, _with_site(scenario, smokers=smokers))


def _racks(scenario: Scenario) -> Iterator[tuple[Smoker, Rack]]:
    for smoker in scenario.site.smokers:
        for rack in smoker.racks:
            yield smoker, rack


def _worth(scenario: Scenario, smoker: Smoker, rack: Rack) -> tuple[bool, int, float]:
    broken = {out.place for out in scenario.weekend.out_of_use}
    in_use = not broken & {smoker.name, smoker.firebox}
    return in_use, len(rack.fits) or len(scenario.menu.cuts), rack.spaces


def _more_fire(scenario: Scenario) -> Change | None:
    """A smoker with a fire of its own, like the smallest that is in use."""
    site = scenario.site
    broken = {out.place for out in scenario.weekend.out_of_use}
    smokers = [s for s in site.smokers if not broken & {s.name, s.firebox}] or list(site.smokers)
    like = min(smokers, key=lambda s: sum(rack.spaces for rack in s.racks))
    box = site.firebox(like.firebox)
    more_box = box.model_copy(update={"name": _new_name(box.name, _places(site))})
    taken = {*_places(site), more_box.name}
    more = like.model_copy(update={"name": _new_name(like.name, taken), "firebox": more_box.name})
    words = f"one more smoker like {like.name}, on a fire of its own"
    changed = _with_site(scenario, fireboxes=(*site.fireboxes, more_box), smokers=(*site.smokers, more))
    return Change("fire", words, changed)


def _more_hands(scenario: Scenario) -> Change | None:
    """A copy of the person whose skills fewest others have."""
    return _copy_of(scenario, _most_useful(scenario)[0])


def _other_hands(scenario: Scenario) -> Iterator[Change]:
    """A copy of the next most useful person, if they have other skills."""
    first, *others = _most_useful(scenario)
    other = next((person for person in others if set(person.skills) != set(first.skills)), None)
    if other is not None:
        yield _copy_of(scenario, other)


def _most_useful(scenario: Scenario) -> list[Person]:
    """People by how few others have their skills; of several, the cheapest first."""
    people = scenario.crew.people
    able = Counter(skill for person in people for skill in person.skills)

    def worth(person: Person) -> tuple[float, int]:
        return sum(1 / able[skill] for skill in person.skills), -person.wage_cents_per_h

    return sorted(people, key=worth, reverse=True)


def _copy_of(scenario: Scenario, person: Person) -> Change:
    crew = scenario.crew
    more = person.model_copy(update={"name": _new_name(person.name, {p.name for p in crew.people})})
    changed = crew.model_copy(update={"people": (*crew.people, more)})
    words = f"one more hand like {person.name} ({joined(person.skills)}), wages counted"
    return Change("hands", words, scenario.model_copy(update={"crew": changed}))


ONE_MORE: dict[Limit, Callable[[Scenario], Change | None]] = {
    "hold": _more_hold,
    "rack": _more_rack,
    "rest": _more_rest,
    "hands": _more_hands,
    "fire": _more_fire,
}


def _more_stations(scenario: Scenario) -> Iterator[Change]:
    site = scenario.site
    if site.ovens:
        like = max(site.ovens, key=lambda o: o.spaces)
        more = like.model_copy(update={"name": _new_name(like.name, _places(site))})
        words = f"one more oven of {number(like.spaces)} spaces"
        yield Change("rack", words, _with_site(scenario, ovens=(*site.ovens, more)))
    yield Change("hands", "one more wrap table", _with_site(scenario, wrap_tables=site.wrap_tables + 1))
    yield Change("hands", "one more cutting board", _with_site(scenario, cutting_boards=site.cutting_boards + 1))


def _places(site: Site) -> set[str]:
    return {place.name for place in site.places}


def _new_name(name: str, taken: Iterable[str]) -> str:
    used = set(taken)
    number_of = 2
    while (found := f"{name[: NAME_LENGTH - 4]} {number_of}") in used:
        number_of += 1
    return found


def _with_site(scenario: Scenario, **update: object) -> Scenario:
    site: Site = scenario.site.model_copy(update=update)
    return scenario.model_copy(update={"site": site})


# an hour more ------------------------------------------------------------------------------------------------------


def _start_earlier(grid: Grid) -> Iterator[Change]:
    """Planning from an hour earlier, or so much longer that it is whole steps."""
    weekend = grid.scenario.weekend
    minutes = -(-HOUR_MIN // grid.step_min) * grid.step_min
    earlier = add_min(weekend.local(weekend.plan_from), -minutes).replace(tzinfo=None)
    changed = weekend.model_copy(update={"plan_from": earlier})
    if changed.timeline.minute(weekend.timeline.origin) == minutes:  # not so where the clock repeats an hour
        words = Words(changed.timeline, weekend.clock == "12h")
        start = f"{words.day(0)} {words.time(0)}"
        scenario = grid.scenario.model_copy(update={"weekend": changed})
        yield Change("time", f"starting the weekend's work earlier, {start}", scenario)


def _open_later(board: Board) -> Iterator[Change]:
    """The opening waves of each day that is short an hour later, where the cut has no other wave by then."""
    grid = board.grid
    weekend = grid.scenario.weekend
    short = {d.ready_by_at.date() for d, made in zip(grid.demands, board.made(), strict=True) if made < d.pieces}
    for day in weekend.days:
        if day.opens.date() not in short:
            continue
        later: dict[tuple[str, str], str] = {}
        waves = []
        for wave in weekend.waves:
            new = _later(wave, weekend.waves, day)
            waves.append(new or wave)
            if new is not None:
                later[wave.cut, _wave_name(wave)] = _wave_name(new)
        if later:
            changed = weekend.model_copy(update={"waves": tuple(waves)})
            words = f"the opening wave of {WEEKDAYS[day.opens.weekday()].capitalize()} an hour later"
            yield Change("time", words, grid.scenario.model_copy(update={"weekend": changed}), later)


def _later(wave: Wave, waves: tuple[Wave, ...], day: ServiceDay) -> Wave | None:
    """An opening wave an hour later; None if it is no opening wave, or the next one of its cut is too near."""
    hour = timedelta(minutes=HOUR_MIN)
    if wave.at != day.opens:
        return None
    following = [w.at for w in waves if w.cut == wave.cut and day.opens < w.at <= day.closes]
    last = min([day.closes, *following])
    if wave.at + hour >= last:
        return None
    until = None if wave.until is None else max(wave.until, min(wave.until + hour, last))
    return wave.model_copy(update={"at": wave.at + hour, "until": until})


def _wave_name(wave: Wave) -> str:
    """As `Weekend.demands` names it."""
    return f"{WEEKDAYS[wave.at.weekday()].capitalize()} {wave.at:%H:%M}"


# a plan carried over -----------------------------------------------------------------------------------------------


def carried(board: Board, change: Change, grid: Grid) -> tuple[Frame, list[Placed]]:
    """Frame and loads of a board in a changed kitchen's grid; loads that have no place there are left out."""
    old = board.grid
    shift = grid.down(grid.minute(old.scenario.weekend.timeline.origin))
    held = {box.name: levels for box, levels in zip(old.fireboxes, board.frame.levels, strict=True)}
    cold = np.zeros(old.steps, dtype=np.int64)
    frame = Frame(
        tuple(_moved(held.get(box.name, cold), shift, grid.steps) for box in grid.fireboxes),
        _same_shifts(board.frame.shifts, grid, shift * grid.step_min),
        tuple((step + shift, minutes) for step, minutes in board.frame.spared if step + shift < grid.steps),
    )

    def spot(index: int) -> int:
        mine = board.spots[index]
        return grid.spot_of[old.places[mine.place].name, mine.rack]

    loads = []
    for load in board.placed:
        stream, demand = old.streams[load.stream], old.demands[load.demand]
        base, *further = demand.wave.partition(" +")  # a wave of diminishing worth is several demands
        wave = change.moved.get((demand.cut, base), base) + "".join(further)
        loads.append(
            replace(
                load,
                stream=grid.stream_of[stream.cut.name, stream.recipe.name],
                demand=grid.demand_of[demand.cut, wave],
                smoke_spot=spot(load.smoke_spot),
                finish_spot=spot(load.finish_spot),
                load_step=load.load_step + shift,
                wrap_step=None if load.wrap_step is None else load.wrap_step + shift,
                rest=grid.shelf_of[old.rest[load.rest].name] if load.rest >= 0 else -1,
                hold=grid.shelf_of[old.hold[load.hold].name] if load.hold >= 0 else -1,
            )
        )
    return frame, [load for load in loads if _in_time(grid, load, grid.spots[load.finish_spot].place)]


def _moved(levels: Ints, shift: int, steps: int) -> Ints:
    found = np.zeros(steps, dtype=np.int64)
    kept = levels[: max(0, steps - shift)]
    found[shift : shift + len(kept)] = kept
    return found


def _same_shifts(shifts: tuple[ShiftOption, ...], grid: Grid, later_min: int) -> tuple[ShiftOption, ...]:
    options = {(o.person.name, o.pattern.name, o.start_min): o for o in grid.shifts}
    keys = [(o.person.name, o.pattern.name, o.start_min + later_min) for o in shifts]
    return tuple(options[key] for key in keys if key in options)


def _in_time(grid: Grid, load: Placed, place: int) -> bool:
    """True if the load still suits its wave: ready in time, not held too long."""
    stream = grid.streams[load.stream]
    return load.finish_step in grid.finish_steps(stream, finish_at(stream, place), load.demand)
