"""Where one load is, since when, and when it will be done as far as can be said now."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.model.menu import Cut, Recipe
from scheduler.model.past import Begun, Burning, Past, Spot, Spread, Stopped
from scheduler.model.plan import Load, Loss
from scheduler.model.scenario import Scenario
from scheduler.reshuffle.facts import Facts, LoadFacts
from scheduler.trade.belief import READING_SD_F, Belief, Curve, Seen, after_readings, curve_of, not_done_at
from scheduler.trade.carry_on import offset_of, window_after
from scheduler.trade.cold_pit import ColdLimit, cold_limit
from scheduler.trade.cooking import Conditions, course_of
from scheduler.trade.cooling import RestKind
from scheduler.trade.food_safety import COME_UP_HIGH_F, COME_UP_LOW_F
from scheduler.trade.known import heat_of
from scheduler.trade.stage import finish_range, wrap_window_min

SAME_MOVE_MIN = 45
"""A move logged so near a planned one to the same place is that one."""
DONE_SLACK_F = 1.0
RAW_F = 38.0
"""As it comes out of the cooler."""
LEAST_LEFT_MIN = 10


@dataclass(frozen=True, slots=True)
class _Of:
    """One load with all that bears on it."""

    load: Load
    cut: Cut
    recipe: Recipe
    scenario: Scenario
    facts: LoadFacts
    all_facts: Facts
    fires: tuple[Burning, ...]
    from_min: int
    before: Begun | None
    since_min: int
    """Readings before this are in the plan already."""

    def minute(self, of: str) -> int:
        """One of the load's planned times."""
        return self.scenario.weekend.timeline.minute(getattr(self.load, of))

    @property
    def weight_lb(self) -> float:
        """Of one piece."""
        return self.scenario.weight_lb(self.cut)


def begun_load(
    load: Load,
    scenario: Scenario,
    facts: Facts,
    fires: tuple[Burning, ...],
    from_min: int,
    before: Past | None,
) -> tuple[Begun | None, list[Loss]]:
    """The load as it stands, None if it is not on yet or all of it is gone, and what of it was thrown away."""
    cut = scenario.menu.cut(load.cut)
    said = facts.load(load.code)
    earlier = None if before is None else before.of(load.code, load.part_of)
    of = _Of(
        load,
        cut,
        cut.recipe(load.recipe),
        scenario,
        said,
        facts,
        fires,
        from_min,
        earlier,
        0 if before is None else before.from_min,
    )
    load_min = of.minute("load_at") if said.loaded is None else said.loaded[0]
    if load_min >= from_min:
        return None, []
    thrown, losses = _thrown(of)
    if thrown >= load.pieces:
        return None, losses
    begun = _placed(of, load_min, load.pieces - thrown)
    return _timed(of, begun), losses


def _thrown(of: _Of) -> tuple[int, list[Loss]]:
    """Pieces thrown away since the plan was made."""
    moment = of.scenario.weekend.timeline.moment
    left, losses = of.load.pieces, []
    for at, pieces, why in of.facts.thrown:
        if at >= of.since_min and left:
            gone = min(pieces, left)
            left -= gone
            losses.append(
                Loss(load=of.load.code, cut=of.load.cut, pieces=gone, at=moment(at), kind="written off", why=why)
            )
    return of.load.pieces - left, losses


def _placed(of: _Of, load_min: int, pieces: int) -> Begun:
    """Where it is and since when; nothing yet of when it is done."""
    load = of.load
    first = Spot(place=load.smoker, rack=load.rack)
    if of.facts.loaded is not None and of.facts.loaded[1] is not None:
        asked = Spot(place=of.facts.loaded[1], rack=of.facts.loaded[2])
        first = asked if _is_rack(of.scenario, asked) else first
    wrap_min = _wrap_min(of, load_min)
    finish = None if wrap_min is None else Spot(place=load.finish_place, rack=load.finish_rack)
    if finish is not None and first.place != load.smoker and finish.place == load.smoker:
        finish = first  # it was put elsewhere, so it went back there
    return Begun(
        code=load.code,
        cut=load.cut,
        recipe=load.recipe,
        wave=load.wave,
        pieces=pieces,
        load_min=load_min,
        first=first,
        wrap_min=wrap_min,
        finish=finish,
        stops=_stops(of, load_min),
        spread=(0, 0, 0),
        rest_place=load.rest_place,
        hold_place=of.facts.held if _is_cabinet(of.scenario, of.facts.held) else load.hold_place,
    )


def _is_rack(scenario: Scenario, spot: Spot) -> bool:
    return any(s.name == spot.place and any(r.name == spot.rack for r in s.racks) for s in scenario.site.smokers)


def _is_cabinet(scenario: Scenario, name: str | None) -> bool:
    return any(cabinet.name == name for cabinet in scenario.site.hold_cabinets)


def _wrap_min(of: _Of, load_min: int) -> int | None:
    """When it was wrapped, if it was: as logged, else as planned where that can have been."""
    if of.load.wrap_at is None:
        return None
    if of.facts.wrapped is not None:
        return max(of.facts.wrapped, load_min)
    planned = of.minute("wrap_at")
    first, last = wrap_window_min(of.recipe, of.weight_lb, offset_of(of.scenario.site, _first(of)))
    if of.facts.done is not None:
        return max(load_min, min(max(planned, load_min + first), of.facts.done - 1))  # before it was pulled
    if load_min + last < of.from_min:
        return min(max(planned, load_min + first), of.from_min - 1)
    can_have_been = load_min <= of.minute("load_at") or planned >= load_min + first
    return planned if planned < of.from_min and can_have_been else None


def _first(of: _Of) -> Spot:
    return Spot(place=of.load.smoker, rack=of.load.rack)


def _stops(of: _Of, load_min: int) -> tuple[Stopped, ...]:
    minute = of.scenario.weekend.timeline.minute
    found = [
        Stopped(at_min=minute(stop.at), spot=Spot(place=stop.place, rack=stop.rack))
        for stop in of.load.stops
        if minute(stop.at) < of.from_min
    ]
    for at, place, rack in of.facts.moved:
        spot = Spot(place=place, rack=rack)
        oven = rack is None and any(o.name == place for o in of.scenario.site.ovens)
        if not (oven or _is_rack(of.scenario, spot)):
            continue
        known = [s for s in found if s.spot == spot and abs(s.at_min - at) <= SAME_MOVE_MIN]
        if not known and load_min < at < of.from_min:
            found.append(Stopped(at_min=at, spot=spot))
    return tuple(sorted(found, key=lambda stop: stop.at_min))


# When it is done ---------------------------------------------------------------------------------------------------


def _timed(of: _Of, begun: Begun) -> Begun:
    """The same with its range, its wrap window, and its limit if its smoker is dead."""
    if of.facts.done is not None:
        return begun.model_copy(update={"done": True, "spread": (of.facts.done,) * 3})
    waits = of.recipe.wrapped and begun.wrap_min is None
    spread = _took(of, begun) if waits else _shifted(of, begun)
    window = _window(of, begun) if waits else None
    sharper, seen_done = _sharpened(of, begun, spread, waits)
    if not waits and (seen_done is not None or sharper[2] <= of.from_min):
        at = sharper if seen_done is None else (seen_done,) * 3
        return begun.model_copy(update={"done": True, "spread": at})
    timed = begun.model_copy(update={"spread": sharper, "window": window})
    since = _cold_since(of, begun)
    return timed if since is None else _in_the_cold(of, timed, since)


def _cold_since(of: _Of, begun: Begun) -> int | None:
    """Since when there is no heat where it is; None where there is."""
    dead = of.all_facts.out_at(_names(of.scenario, begun.spot), of.from_min)
    if dead is not None:
        return dead.from_min
    box = next((s.firebox for s in of.scenario.site.smokers if s.name == begun.spot.place), None)
    mine = [fire for fire in of.fires if fire.firebox == box]
    if box is None or any(fire.out_min is None for fire in mine):
        return None
    since = begun.stops[-1].at_min if begun.stops else begun.load_min
    return max([since, *(fire.out_min for fire in mine if fire.out_min is not None)])


def _took(of: _Of, begun: Begun) -> Spread:
    """Minutes from a wrap to come, at the spot where it is; with what it was paused before."""
    weight, site = of.weight_lb, of.scenario.site
    here = finish_range(of.recipe, weight, offset_of(site, begun.spot))
    planned = finish_range(
        of.recipe, weight, offset_of(site, Spot(place=of.load.finish_place, rack=of.load.finish_rack))
    )
    wrap = of.minute("wrap_at")
    more = [
        max(0, of.minute(name) - wrap - minutes)
        for name, minutes in (
            ("early_done_at", planned.early_min),
            ("likely_done_at", planned.likely_min),
            ("late_done_at", planned.late_min),
        )
    ]
    return here.early_min + more[0], here.likely_min + more[1], here.late_min + more[2]


def _shifted(of: _Of, begun: Begun) -> Spread:
    """The planned range, later or earlier by as much as the stage began later or earlier."""
    wrapped = of.load.wrap_at is not None
    planned = of.minute("wrap_at") if wrapped else of.minute("load_at")
    began = begun.wrap_min if begun.wrap_min is not None else begun.load_min
    late = began - planned
    return of.minute("early_done_at") + late, of.minute("likely_done_at") + late, of.minute("late_done_at") + late


def _window(of: _Of, begun: Begun) -> tuple[int, int]:
    """First and last minute for the wrap; never wholly in the past."""
    if of.before is not None and of.before.window is not None:
        stopped = next((s.at_min for s in begun.stops if s.at_min >= of.since_min), None)
        window = window_after(of.before, stopped) or of.before.window
    else:
        first, last = wrap_window_min(of.recipe, of.weight_lb, offset_of(of.scenario.site, begun.first))
        window = begun.load_min + first, begun.load_min + last
    # A wrap that is overdue is made as soon as it can be: within the hour.
    return window if window[1] >= of.from_min else (of.from_min, of.from_min + 60)


def _curve(of: _Of) -> Curve | None:
    """The expected centre by the share of the cook; None where nothing is known of the cut."""
    heat = heat_of(of.cut)
    if heat is None:
        return None
    wrap = of.recipe.wrap_kind
    pit_f = min(max((of.recipe.low_f + of.recipe.high_f) / 2, 200), 350)
    try:
        how = Conditions(weight_lb=of.weight_lb, pit_f=pit_f, wrap=wrap if heat.wrap_f else None, done_f=of.cut.done_f)
        return curve_of(course_of(heat, how))
    except ValueError:
        return None


def _straight(done_f: float) -> Curve:
    """Where nothing is known of a cut: a straight line from the cooler to done, slow in the middle to be safe."""
    return lambda share: RAW_F + (done_f - RAW_F) * share


def _sharpened(of: _Of, begun: Begun, spread: Spread, waits: bool) -> tuple[Spread, int | None]:
    """The range after the readings, and when one of them found it done, if one did.

    A load that waits for its wrap is judged with the wrap where the plan has it.
    """
    readings = [seen for seen in of.facts.readings if begun.load_min < seen.minute and seen.minute >= of.since_min]
    if not waits:
        found = [seen for seen in readings if seen.temp_f >= of.cut.done_f - DONE_SLACK_F]
        if found:
            return spread, round(found[0].minute)
    wrap = max(of.minute("wrap_at"), of.from_min) if waits else 0
    belief = Belief(*(float(minutes + wrap) for minutes in spread))
    curve = _curve(of)
    if readings and curve is not None:
        belief = after_readings(belief, begun.load_min, [*readings], curve, READING_SD_F)
    if not waits and belief.early < of.from_min < belief.late:
        belief = not_done_at(belief, of.from_min)
    early, likely, late = belief.rounded()
    if waits:
        least = LEAST_LEFT_MIN
        early, likely, late = (max(least, minutes - wrap) for minutes in (early, likely, late))
    return (early, likely, late), None


# In a dead smoker --------------------------------------------------------------------------------------------------


def _names(scenario: Scenario, spot: Spot) -> tuple[str, ...]:
    """Places whose being out of use stops a spot."""
    boxes = tuple(s.firebox for s in scenario.site.smokers if s.name == spot.place)
    return (spot.place, *boxes)


def _in_the_cold(of: _Of, begun: Begun, since: int) -> Begun:
    since = max(since, begun.load_min)
    limit = _limit(of, begun, since)
    return begun.model_copy(
        update={
            "dead_min": since,
            "act_by_min": since + limit.act_min,
            "leave_by_min": since + limit.off_min,
            "rule": limit.code,
        }
    )


def _limit(of: _Of, begun: Begun, since: int) -> ColdLimit:
    kind: RestKind = "bare" if begun.wrap_min is None else "wrapped"
    on = since - begun.load_min
    total = begun.spread[1] - begun.load_min
    if begun.waits_for_wrap:
        total += max(of.minute("wrap_at"), of.from_min)
    centre_f, from_50, to_130 = _how_far(of, on, max(total, on + 1), begun)
    return cold_limit(centre_f, from_50, to_130, on, kind)


def _how_far(of: _Of, on: int, total: int, begun: Begun) -> tuple[float, float, float]:
    """Centre when the fire died, minutes since it passed 50 F, and minutes it still needs to 130 F."""
    curve = _curve(of) or _straight(of.cut.done_f)
    readings = [seen for seen in of.facts.readings if seen.minute <= begun.load_min + on]
    shares = np.linspace(0.0, 1.0, 200)
    temps = curve(shares)
    centre = float(curve(np.array([on / total]))[0])
    if readings:
        last: Seen = readings[-1]
        expected = float(curve(np.array([(last.minute - begun.load_min) / total]))[0])
        centre += last.temp_f - expected
    at_50 = float(shares[int(np.argmax(temps >= COME_UP_LOW_F))]) * total
    at_130 = float(shares[int(np.argmax(temps >= COME_UP_HIGH_F))]) * total
    return centre, max(0.0, on - at_50), max(0.0, at_130 - on)
