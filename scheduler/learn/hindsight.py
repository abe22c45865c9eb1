"""What would have paid: the weekend planned again with one thing known that nobody could know then.

All plans are measured by the same yardstick: what they would have earned with the demand that came, after meat, wages,
wood, hold and moves. A change of quantities or cooking times is set beside the better of the plan and a new search
without the change, so that luck of the search is not counted as knowledge. A failure or an absence is set beside the
weekend as it went, with what was thrown away.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import ceil

from scheduler.learn.from_log import cooks_of
from scheduler.learn.review import CutDay, Review, SoldReview, local_day
from scheduler.model import log as entry
from scheduler.model.base import Range
from scheduler.model.clock import elapsed_min
from scheduler.model.cooks import Cook
from scheduler.model.log import Log
from scheduler.model.menu import Recipe
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.model.weekend import Away, OutOfUse, Wave
from scheduler.trade.stage import stretch

MOST_QUANTITIES, MOST_TIMES = 3, 3
NOTHING_FOUND = -(10**12)
BEST = 3
FEWEST_COOKS = 2
LEAST_GAIN_CENTS = 500
"""Less than this is not worth a line."""

Replan = Callable[[Scenario], Plan | None]
"""A plan of a scenario; None where none is found in time."""


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that could have been known, and what knowing it would have paid."""

    what: str
    cents: int


@dataclass(frozen=True, slots=True)
class Hindsight:
    """The best changes, and the price of not knowing any of it."""

    changes: tuple[Change, ...]
    all_known_cents: int | None
    """Paid by knowing all at once; None where there was nothing to know."""
    tried: int


@dataclass(frozen=True, slots=True)
class _Idea:
    what: str
    scenario: Scenario
    mishap: bool


def hindsight(review: Review, log: Log, replan: Replan) -> Hindsight:
    """Try every idea; `replan` searches for a plan of a scenario."""
    ideas = _ideas(review, log)
    if not ideas:
        return Hindsight((), None, 0)
    as_it_went = earned_cents(review.plan, review, as_it_went=True)
    plain = max(earned_cents(review.plan, review), _earned(replan(review.scenario), review))
    found = [
        Change(idea.what, _earned(replan(idea.scenario), review) - (as_it_went if idea.mishap else plain))
        for idea in ideas
    ]
    best = sorted((c for c in found if c.cents >= LEAST_GAIN_CENTS), key=lambda c: -c.cents)[:BEST]
    together = _earned(replan(_all(review.scenario, ideas)), review) - as_it_went
    return Hindsight(tuple(best), max(together, best[0].cents if best else 0), len(ideas))


def _earned(plan: Plan | None, review: Review) -> int:
    return NOTHING_FOUND if plan is None else earned_cents(plan, review)


def searches(review: Review, log: Log) -> int:
    """How many plans `hindsight` asks for: one for each idea, one without any, one with all; 0 where there is none."""
    count = len(_ideas(review, log))
    return count + 2 if count else 0


def _ideas(review: Review, log: Log) -> list[_Idea]:
    return [*_quantities(review), *_times(review, log), *_mishaps(review.scenario, log)]


def earned_cents(plan: Plan, review: Review, *, as_it_went: bool = False) -> int:
    """What a plan would have earned with the demand that came. Where sales are not known, all that was asked sells."""
    menu = review.scenario.menu
    demand = {(row.cut, row.day): row for row in review.sold}
    made: dict[CutDay, float] = defaultdict(float)
    total = -(plan.cost.wages + plan.cost.wood + plan.cost.hold + plan.cost.moves)
    thrown = {row.load.code: row.thrown for row in review.loads} if as_it_went else {}
    for load in plan.loads:
        cut = menu.cut(load.cut)
        total -= load.pieces * cut.cost_cents
        day = local_day(review.scenario, load.ready_by_at)
        made[cut.name, day] += (load.pieces - thrown.get(load.code, 0)) * cut.portions
    for (name, day), portions in made.items():
        cut = menu.cut(name)
        row = demand.get((name, day))
        wanted = portions if row is None or row.demand is None else row.demand
        sold = min(portions, wanted)
        total += round(sold * cut.price_cents + (portions - sold) * cut.leftover_cents)
    return total


def _wanted(row: SoldReview, portions: float) -> int:
    return ceil((row.demand or 0.0) / portions - 1e-9)


def _quantities(review: Review) -> Iterator[_Idea]:
    """As many pieces as were wanted, for the cuts and days where that is worth most at first sight."""
    rows = []
    for row in review.sold:
        if row.demand is None:
            continue
        cut = review.scenario.menu.cut(row.cut)
        asked = sum(w.pieces for w in _waves_on(review.scenario, row))
        more = _wanted(row, cut.portions) - asked
        worth = more * cut.margin_cents if more > 0 else -more * (cut.cost_cents - cut.leftover_cents * cut.portions)
        if more and asked and worth > 0:
            rows.append((worth, row, more))
    for _, row, more in sorted(rows, key=lambda r: (-r[0], r[1].cut, r[1].day))[:MOST_QUANTITIES]:
        word = "more" if more > 0 else "fewer"
        noun = row.cut + ("s" if abs(more) > 1 and not row.cut.endswith("s") else "")
        yield _Idea(f"{abs(more)} {word} {noun} on {row.day:%A}", _resized(review.scenario, row, more), False)


def _waves_on(scenario: Scenario, row: SoldReview) -> list[Wave]:
    found = []
    for wave in scenario.weekend.waves:
        day = scenario.weekend.day_of(wave.at)
        if wave.cut == row.cut and day is not None and day.opens.date() == row.day:
            found.append(wave)
    return found


def _resized(scenario: Scenario, row: SoldReview, more: int) -> Scenario:
    """More pieces into the last wave of the day, fewer out of the last ones first."""
    mine = sorted(_waves_on(scenario, row), key=lambda wave: wave.at, reverse=True)
    sizes = {wave.at: wave.pieces for wave in mine}
    if more > 0:
        sizes[mine[0].at] += more
    for wave in mine:
        if more < 0:
            taken = min(-more, sizes[wave.at])
            sizes[wave.at] -= taken
            more += taken
    waves = tuple(
        wave.model_copy(
            update={"pieces": sizes[wave.at], "worth_cents": (), "until": scenario.weekend.wave_until(wave)}
        )
        if wave.cut == row.cut and wave.at in sizes
        else wave
        for wave in scenario.weekend.waves
    )
    return scenario.model_copy(update={"weekend": scenario.weekend.model_copy(update={"waves": waves})})


def _times(review: Review, log: Log) -> Iterator[_Idea]:
    """Cooking times as they were, for each cut of which several loads came to their end."""
    groups: dict[str, dict[str, list[Cook]]] = defaultdict(lambda: defaultdict(list))
    for cook in cooks_of(review.plan, review.scenario, log):
        if cook.done:
            groups[cook.cut][cook.recipe].append(cook)
    for name, recipes in sorted(groups.items(), key=lambda group: -_doubt(review, group[0]))[:MOST_TIMES]:
        changed = review.scenario
        for recipe, cooks in sorted(recipes.items()):
            if len(cooks) >= FEWEST_COOKS:
                changed = _with(changed, name, _known(changed.menu.cut(name).recipe(recipe), cooks))
        if changed != review.scenario:
            yield _Idea(f"How long each {name} takes this time", changed, False)


def _doubt(review: Review, name: str) -> int:
    """Piece-minutes between early and late of a cut's loads: where knowing the time may matter most."""
    loads = [row.load for row in review.loads if row.load.cut == name]
    return sum(load.pieces * elapsed_min(load.early_done_at, load.late_done_at) for load in loads)


def _known(recipe: Recipe, cooks: Sequence[Cook]) -> Recipe:
    times = sorted(cook.minutes / stretch(recipe, cook.weight_lb, cook.offset_f) for cook in cooks)
    early, likely, late = round(times[0]), round(times[len(times) // 2]), ceil(times[-1])
    finish = Range(early_min=max(1, early), likely_min=max(1, early, likely), late_min=max(1, likely, late))
    return recipe.model_copy(update={"finish": finish})


def _with(scenario: Scenario, name: str, recipe: Recipe) -> Scenario:
    cuts = tuple(
        cut.model_copy(update={"recipes": tuple(recipe if r.name == recipe.name else r for r in cut.recipes)})
        if cut.name == name
        else cut
        for cut in scenario.menu.cuts
    )
    return scenario.model_copy(update={"menu": scenario.menu.model_copy(update={"cuts": cuts})})


def _mishaps(scenario: Scenario, log: Log) -> Iterator[_Idea]:
    """Each failure and each absence, known before."""
    weekend = scenario.weekend
    far = max(weekend.local(day.closes) for day in weekend.days)
    for number, event in enumerate(log.events, 1):
        after = log.events[number:]
        if isinstance(event, entry.Down):
            until = event.until or next(
                (e.at for e in after if isinstance(e, entry.Up) and e.place == event.place),
                None,
            )
            end = None if until is None else weekend.wall(until)
            out = OutOfUse(place=event.place, from_at=weekend.wall(event.at), until_at=end)
            changed = weekend.model_copy(update={"out_of_use": (*weekend.out_of_use, out)})
            yield _Idea(f"That {event.place} would fail", scenario.model_copy(update={"weekend": changed}), True)
        elif isinstance(event, entry.Missing):
            until = event.until or next(
                (e.at for e in after if isinstance(e, entry.Arrived) and e.person == event.person),
                far,
            )
            if elapsed_min(event.at, until) > 0:
                away = Away(person=event.person, from_at=weekend.wall(event.at), until_at=weekend.wall(until))
                changed = weekend.model_copy(update={"away": (*weekend.away, away)})
                yield _Idea(
                    f"That {event.person} would be away", scenario.model_copy(update={"weekend": changed}), True
                )


def _all(scenario: Scenario, ideas: Sequence[_Idea]) -> Scenario:
    """Everything known at once: each idea changes another part, or the same waves and recipes of another cut."""
    found = scenario
    for idea in ideas:
        weekend, other = found.weekend, idea.scenario.weekend
        waves = tuple(
            new if new != old else kept
            for old, new, kept in zip(scenario.weekend.waves, other.waves, weekend.waves, strict=True)
        )
        cuts = tuple(
            new if new != old else kept
            for old, new, kept in zip(scenario.menu.cuts, idea.scenario.menu.cuts, found.menu.cuts, strict=True)
        )
        more = {
            "waves": waves,
            "out_of_use": tuple(dict.fromkeys((*weekend.out_of_use, *other.out_of_use))),
            "away": tuple(dict.fromkeys((*weekend.away, *other.away))),
        }
        found = found.model_copy(
            update={
                "weekend": weekend.model_copy(update=more),
                "menu": found.menu.model_copy(update={"cuts": cuts}),
            }
        )
    return found
