"""The kitchen as it now is: the scenario with what the log has broken, sent home, ordered or chilled."""

from __future__ import annotations

from scheduler.model.base import Range
from scheduler.model.log import Night
from scheduler.model.menu import Cut, Menu, Recipe
from scheduler.model.scenario import Scenario
from scheduler.model.weekend import Away, Order, OutOfUse, Weekend
from scheduler.reshuffle.facts import Facts
from scheduler.trade.cooking import NIGHT_STRETCH


def as_it_is(scenario: Scenario, facts: Facts, since_min: int) -> Scenario:
    """The scenario with the facts of the log in it. What came before `since_min` is in it already, if it can't be told
    apart (the weather).
    """
    weekend = scenario.weekend
    changed = weekend.model_copy(
        update={
            "out_of_use": _out_of_use(weekend, facts),
            "away": _away(weekend, facts),
            "orders": _orders(weekend, facts),
        }
    )
    menu = scenario.menu
    for at, night in facts.weather:
        if at >= since_min:
            menu = _in_weather(menu, night)
    return scenario.model_copy(update={"weekend": changed, "menu": menu})


def _out_of_use(weekend: Weekend, facts: Facts) -> tuple[OutOfUse, ...]:
    found, at = [out for out in weekend.out_of_use], weekend.timeline.moment
    for outage in facts.outages:
        start = weekend.wall(at(outage.from_min))
        end = None if outage.until_min is None else weekend.wall(at(outage.until_min))
        found = [out for out in found if (out.place, out.from_at) != (outage.place, start)]
        found.append(OutOfUse(place=outage.place, from_at=start, until_at=end))
    return tuple(found)


def _away(weekend: Weekend, facts: Facts) -> tuple[Away, ...]:
    found, at = [away for away in weekend.away], weekend.timeline.moment
    far = max(weekend.timeline.minute(weekend.local(day.closes)) for day in weekend.days) + 24 * 60
    for absence in facts.absences:
        until_min = far if absence.until_min is None else absence.until_min
        start, end = weekend.wall(at(absence.from_min)), weekend.wall(at(until_min))
        found = [away for away in found if (away.person, away.from_at) != (absence.person, start)]
        if absence.from_min < until_min:
            found.append(Away(person=absence.person, from_at=start, until_at=end))
    return tuple(found)


def _orders(weekend: Weekend, facts: Facts) -> tuple[Order, ...]:
    names = {order.name for order in weekend.orders}
    by_name = {order.name: order for order in facts.orders if order.name not in names}
    new = [
        Order(
            name=order.name,
            cut=order.cut,
            at=order.pickup.astimezone(weekend.zone).replace(tzinfo=None),
            pieces=order.pieces,
            broken_promise_cents=order.broken_promise_cents,
        )
        for order in by_name.values()
    ]
    return (*weekend.orders, *new)


def _in_weather(menu: Menu, night: Night) -> Menu:
    return menu.model_copy(update={"cuts": tuple(_cut_in(cut, night) for cut in menu.cuts)})


def _cut_in(cut: Cut, night: Night) -> Cut:
    return cut.model_copy(update={"recipes": tuple(_recipe_in(recipe, night) for recipe in cut.recipes)})


def _recipe_in(recipe: Recipe, night: Night) -> Recipe:
    early, likely, late = NIGHT_STRETCH[night]
    took = recipe.finish
    slower = Range(
        early_min=round(took.early_min * (1 + early)),
        likely_min=round(took.likely_min * (1 + likely)),
        late_min=round(took.late_min * (1 + late)),
    )
    return recipe.model_copy(update={"finish": slower})
