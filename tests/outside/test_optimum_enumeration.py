"""Optima of tiny random weekends against trying everything: every way of every piece, every burn, every set of shifts.

Outside source: none but the rules of a plan, written down here once more, hour by hour, without the solver's grid, rows
or bounds. All times are whole hours and the grid is an hour, so that hours are exact. Beside what the comparison with
the library covers, these have fires that cost wood and must be lit, warmed up, tended, cleaned out and held at one of
two setpoints, where some loads take only one of them, and people who cost wages and have skills.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from functools import cache
from itertools import chain, combinations, combinations_with_replacement, pairwise, product
from random import Random

import pytest

from scheduler.model.base import Range
from scheduler.model.crew import WEEKDAYS, Crew, Person, ShiftPattern, Skill
from scheduler.model.menu import Cut, Hands, Menu, Recipe
from scheduler.model.scenario import Scenario
from scheduler.model.site import Firebox, HoldCabinet, Oven, Rack, RestShelf, Site, Smoker
from scheduler.model.weekend import ServiceDay, Wave, Weekend
from scheduler.solve.exact import Proof, prove
from scheduler.solve.grid import build_grid
from scheduler.solve.highs import Effort
from scheduler.solve.improve import first_plans

MIDNIGHT = datetime(2026, 4, 18)
OPENS, CLOSES = 8, 10
TENDED_MIN, LIT_MIN, CHANGE_H = 6, 10, 1
HANDS_MIN = 30
"""Hand-minutes of a person in an hour."""
SEEDS = range(40)


# A random weekend


def weekend(seed: int) -> Scenario:
    """One or two smokers, one or two cuts, three pieces at most."""
    rng = Random(seed)
    cuts = (_wrapped(rng), _bare(rng))
    wanted = ([2, 0], [1, 1], [0, 3], [2, 1], [1, 2])[seed % 5]
    waves = tuple(
        Wave(cut=cut.name, at=_at(rng.choice((8, 9))), until=_at(10), pieces=pieces)
        for cut, pieces in zip(cuts, wanted, strict=True)
        if pieces
    )
    return Scenario(
        site=_site(rng),
        menu=Menu(cuts=cuts),
        crew=_crew(rng),
        weekend=Weekend(
            name="invented weekend",
            invented=True,
            timezone="America/Chicago",
            plan_from=MIDNIGHT,
            days=(ServiceDay(opens=_at(OPENS), closes=_at(CLOSES), counter_hands=1),),
            waves=waves,
        ),
    )


def _at(hour: int) -> datetime:
    return MIDNIGHT + timedelta(hours=hour)


def _wrapped(rng: Random) -> Cut:
    early = rng.choice((1, 2))
    recipe = Recipe(
        name="paper",
        low_f=225,
        high_f=250,
        wrap_kind="paper",
        wrap_from_min=60,
        wrap_to_min=rng.choice((60, 120)),
        finish=Range(early_min=60 * early, likely_min=60 * early, late_min=60 * (early + rng.choice((0, 1)))),
        finish_low_f=225,
        finish_high_f=rng.choice((250, 300)),
        oven_ok=True,
        ref_weight_lb=12,
    )
    return Cut(
        name="brisket",
        code="BR",
        family="beef",
        raw_low_lb=12,
        raw_high_lb=12,
        spaces=1,
        rest_spaces=1,
        hold_spaces=1,
        done_f=203,
        rest_min=rng.choice((0, 60)),
        hold_max_min=rng.choice((180, 300)),
        hold_loss_cents_per_h=rng.choice((0, 100, 700)),
        move_cents=rng.choice((0, 60)),
        portions=10,
        price_cents=rng.choice((500, 900)),
        cost_cents=1000,
        hands=Hands(load_min=4, wrap_min=rng.choice((5, 20)), pull_min=2, slice_min=4),
        recipes=(recipe,),
    )


def _bare(rng: Random) -> Cut:
    took = rng.choice((1, 2))
    recipe = Recipe(
        name="plain",
        low_f=260,
        high_f=300,
        wrap_kind="none",
        finish=Range(early_min=60 * took, likely_min=60 * took, late_min=60 * took),
        ref_weight_lb=2,
    )
    return Cut(
        name="chicken",
        code="CH",
        family="poultry",
        raw_low_lb=2,
        raw_high_lb=2,
        spaces=0.5,
        rest_spaces=0,
        hold_spaces=0.5,
        done_f=165,
        rest_min=0,
        hold_max_min=180,
        hold_loss_cents_per_h=rng.choice((0, 30)),
        portions=8,
        price_cents=500,
        cost_cents=500,
        hands=Hands(load_min=1, pull_min=1, slice_min=0),
        recipes=(recipe,),
    )


def _site(rng: Random) -> Site:
    oak = Firebox(
        name="oak",
        setpoints_f=(250, 275),
        warm_up_min=60,
        tend_every_min=60,
        tend_min=TENDED_MIN,
        light_min=LIT_MIN,
        clean_out_min=60 * rng.choice((0, 1)),
        setpoint_change_min=60 * CHANGE_H,
        wood_lb_per_h=rng.choice((10, 20)),
    )
    north = Smoker(name="north", firebox="oak", racks=(Rack(name="rack", spaces=rng.choice((1.0, 1.5, 2.0))),))
    smokers = [north]
    fireboxes = [oak]
    if rng.random() < 0.5:
        fireboxes.append(oak.model_copy(update={"name": "hickory", "wood_lb_per_h": 8}))
        smokers.append(Smoker(name="south", firebox="hickory", racks=(Rack(name="rack", spaces=1),)))
    return Site(
        name="invented kitchen",
        fireboxes=tuple(fireboxes),
        smokers=tuple(smokers),
        ovens=(Oven(name="oven", spaces=1, oven_f=250),) if rng.random() < 0.5 else (),
        rest_shelves=(RestShelf(name="shelf", spaces=rng.choice((1.0, 2.0))),),
        hold_cabinets=(HoldCabinet(name="cabinet", spaces=rng.choice((1.0, 2.5)), hold_f=150),),
        wrap_tables=1,
        cutting_boards=1,
        wood_cents_per_lb=rng.choice((10, 30)),
    )


def _crew(rng: Random) -> Crew:
    return Crew(
        people=(
            Person(name="Ana", skills=("fire", "pit", "wrap"), wage_cents_per_h=rng.choice((400, 900))),
            Person(name="Ben", skills=("fire", "pit", "slice"), wage_cents_per_h=rng.choice((300, 700))),
            Person(name="Cal", skills=("counter", "slice"), wage_cents_per_h=500, patterns=("day",)),
        ),
        patterns=(
            ShiftPattern(name="night", starts=time(0), length_min=300, days=WEEKDAYS),
            ShiftPattern(name="early", starts=time(3), length_min=300, days=WEEKDAYS),
            ShiftPattern(name="day", starts=time(6), length_min=240, days=WEEKDAYS),
        ),
        longest_shift_min=600,
        least_rest_min=rng.choice((0, 60)),
        hand_minutes_per_h=HANDS_MIN,
        fires_per_person=rng.choice((1, 2)),
    )


# Trying everything


@dataclass(frozen=True)
class Way:
    """One piece on its way, in hours; `smoker` and `end` are names, `end` may be the oven."""

    cut: str
    smoker: str
    end: str
    load: int
    wrap: int | None
    early: int
    late: int
    hold_from: int
    served: int
    lost_cents: float

    def stays(self) -> Iterator[tuple[str, int, int]]:
        """Racks and the oven, from and until."""
        yield self.smoker, self.load, self.late if self.wrap is None else self.wrap
        if self.wrap is not None:
            yield self.end, self.wrap, self.late


Ways = tuple[Way | None, ...]


@dataclass(frozen=True)
class Burn:
    """A fire from lighting to out."""

    box: str
    lit: int
    out: int
    again: bool


class Everything:
    """The least cost over all plans of a weekend."""

    def __init__(self, scenario: Scenario) -> None:
        self.s = scenario
        self.cuts = {cut.name: cut for cut in scenario.menu.cuts}
        self.fires = {smoker.name: smoker.firebox for smoker in scenario.site.smokers}
        self.room = {smoker.name: smoker.racks[0].spaces for smoker in scenario.site.smokers}
        self.ovens = {oven.name: oven.spaces for oven in scenario.site.ovens}
        self.crews = sorted(self._crews(), key=lambda crew: crew[0])
        self.cheapest = cache(self._cheapest)

    def least_cents(self) -> float:
        """The optimum."""
        each = []
        for demand in self.s.weekend.demands():
            ready, served = (self._hour(m) for m in (demand.ready_by_at, demand.served_until_at))
            ways = [None, *self._ways(self.cuts[demand.cut], ready, served)]
            each.append(list(combinations_with_replacement(ways, demand.pieces)))
        return min(self._cost(tuple(chain(*chosen))) for chosen in product(*each))

    def _hour(self, moment: datetime) -> int:
        return (moment.replace(tzinfo=None) - MIDNIGHT) // timedelta(hours=1)

    def _ways(self, cut: Cut, ready: int, served: int) -> Iterator[Way]:
        (recipe,) = cut.recipes
        early, late = (m // 60 for m in (recipe.finish.early_min, recipe.finish.late_min))
        rest = cut.rest_min // 60
        for start in range(ready):
            hold_from = start + early + rest
            if start + late + rest > ready or served - hold_from > cut.hold_max_min // 60:
                continue
            lost = cut.hold_loss_cents_per_h * max(0, ready - hold_from)
            times = (start + early, start + late, hold_from, served)
            if not recipe.wrapped:
                for name in self.room:
                    yield Way(cut.name, name, name, start, None, *times, lost)
                continue
            for delay in range(recipe.wrap_from_min // 60, recipe.wrap_to_min // 60 + 1):
                for name, end in product(self.room, [*self.room, *self.ovens]):
                    if start >= delay:
                        moved = cut.move_cents if name != end else 0
                        yield Way(cut.name, name, end, start - delay, start, *times, lost + moved)

    def _cost(self, chosen: Ways) -> float:
        """Least cost with every piece on its way; inf if that breaks a rule."""
        made = tuple(way for way in chosen if way is not None)
        if not self._fits(made):
            return float("inf")
        shorts = Counter(d.cut for d in self.s.weekend.demands() for _ in range(d.pieces)) - Counter(
            w.cut for w in made
        )
        cents = sum(way.lost_cents for way in made)
        cents += sum(self.cuts[name].margin_cents * n for name, n in shorts.items())
        return cents + min(
            (self._wood(burns) + self._wages(made, burns) for burns in self._burns(made)), default=float("inf")
        )

    # Room

    def _fits(self, made: tuple[Way, ...]) -> bool:
        (shelf,), (cabinet,) = self.s.site.rest_shelves, self.s.site.hold_cabinets
        size = {**self.room, **self.ovens, "rest": shelf.spaces, "hold": cabinet.spaces}
        taken: defaultdict[tuple[str, int], float] = defaultdict(float)
        for way in made:
            cut = self.cuts[way.cut]
            visits = [(place, first, last, cut.spaces) for place, first, last in way.stays()]
            visits.append(("rest", way.early, way.late + cut.rest_min // 60, cut.rest_spaces))
            visits.append(("hold", way.hold_from, way.served, cut.hold_spaces))
            for place, first, last, spaces in visits:
                for hour in range(first, last):
                    taken[place, hour] += spaces
        return all(spaces <= size[place] for (place, _), spaces in taken.items())

    # Fires

    def _burns(self, made: tuple[Way, ...]) -> Iterator[tuple[Burn, ...]]:
        """Every way to burn for the loads, out after the last of them: each pause is burnt through or not."""
        each = []
        for box in self.s.site.fireboxes:
            accepted: dict[int, set[int]] = {}
            for way in made:
                for place, first, last, band in self._heated(way):
                    if self.fires.get(place) == box.name:
                        for hour in range(first, last):
                            fine = {f for f in box.setpoints_f if band[0] <= f <= band[1]}
                            accepted[hour] = accepted.get(hour, set(box.setpoints_f)) & fine
            each.append(list(self._burns_of(box, accepted)))
        for some in product(*each):
            yield tuple(chain(*some))

    def _heated(self, way: Way) -> Iterator[tuple[str, int, int, tuple[int, int]]]:
        (recipe,) = self.cuts[way.cut].recipes
        bands = [(recipe.low_f, recipe.high_f), recipe.finish_band_f]
        for (place, first, last), band in zip(way.stays(), bands, strict=False):
            yield place, first, last, band

    def _burns_of(self, box: Firebox, accepted: dict[int, set[int]]) -> Iterator[tuple[Burn, ...]]:
        if not accepted:
            yield ()
            return
        hours = sorted(accepted)
        warm, clean = box.warm_up_min // 60, box.clean_out_min // 60
        # A pause may be spent cold if there is time to clean out, at least an hour, and to warm up again.
        pauses = [(a, b) for a, b in pairwise(hours) if b - a - 1 >= warm + max(clean, 1)]
        for cold in chain(*(combinations(pauses, n) for n in range(len(pauses) + 1))):
            starts = [hours[0], *(b for _, b in cold)]
            ends = [*(a for a, _ in cold), hours[-1]]
            runs = [range(a, b + 1) for a, b in zip(starts, ends, strict=True)]
            if not all(self._setpoint_path(box, run, accepted) for run in runs):
                continue
            # It may be lit sooner than it must be, while somebody has the time.
            soonest = [0, *(run.stop + max(clean, 1) for run in runs[:-1])]
            lits = [range(first, run.start - warm + 1) for first, run in zip(soonest, runs, strict=True)]
            for lit in product(*lits):
                yield tuple(
                    Burn(box.name, at, run.stop, again=i > 0) for i, (at, run) in enumerate(zip(lit, runs, strict=True))
                )

    def _setpoint_path(self, box: Firebox, run: range, accepted: dict[int, set[int]]) -> bool:
        """Some setpoint at each hour of a burn suits what is on; in the hours before a change the new one does too."""

        def suits(setpoint: int, hour: int) -> bool:
            return hour not in accepted or setpoint in accepted[hour]

        for path in product(box.setpoints_f, repeat=len(run)):
            held = dict(zip(run, path, strict=True))
            fine = all(suits(held[hour], hour) for hour in run)
            changes = [hour for hour in run[1:] if held[hour] != held[hour - 1]]
            if fine and all(
                suits(held[at], hour) for at in changes for hour in range(max(run.start, at - CHANGE_H), at)
            ):
                return True
        return False

    def _wood(self, burns: tuple[Burn, ...]) -> float:
        pounds = sum(self.s.site.firebox(b.box).wood_lb_per_h * (b.out - b.lit) for b in burns)
        return pounds * self.s.site.wood_cents_per_lb

    # People

    def _crews(self) -> Iterator[tuple[int, list[list[frozenset[Skill]]]]]:
        """Every lawful set of shifts: its wages, and the skills of the people there, by hour."""
        crew = self.s.crew
        options = [(p, q) for p in crew.people for q in crew.patterns if not p.patterns or q.name in p.patterns]
        for some in chain(*(combinations(options, n) for n in range(len(options) + 1))):
            spans = [(p, q.starts.hour, q.starts.hour + q.length_min // 60) for p, q in some]
            if any(
                a[0].name == b[0].name
                and a[1] < b[2] + crew.least_rest_min / 60
                and b[1] < a[2] + crew.least_rest_min / 60
                for a, b in combinations(spans, 2)
            ):
                continue
            wages = sum(p.wage_cents_per_h * (last - first) for p, first, last in spans)
            yield wages, [[frozenset(p.skills) for p, a, b in spans if a <= hour < b] for hour in range(CLOSES)]

    def _wages(self, made: tuple[Way, ...], burns: tuple[Burn, ...]) -> float:
        """Wages of the cheapest set of shifts that does the work."""
        asked: defaultdict[tuple[int, Skill], float] = defaultdict(float)
        fires = [sum(burn.lit <= hour < burn.out for burn in burns) for hour in range(CLOSES)]
        pulled = [any(way.early <= hour < max(way.late, way.early + 1) for way in made) for hour in range(CLOSES)]
        for hour in range(OPENS, CLOSES):
            asked[hour, "counter"] += HANDS_MIN
        for burn in burns:
            self._fire_work(burn, asked)
        for way in made:
            self._piece_work(way, asked)
        site = self.s.site
        for hour in range(CLOSES):
            if asked[hour, "wrap"] > site.wrap_tables * 60 or asked[hour, "slice"] > site.cutting_boards * 60:
                return float("inf")
        work = tuple(sorted((hour, skill, round(minutes, 6)) for (hour, skill), minutes in asked.items() if minutes))
        return self.cheapest(work, tuple(fires), tuple(pulled))

    def _fire_work(self, burn: Burn, asked: defaultdict[tuple[int, Skill], float]) -> None:
        asked[burn.lit, "fire"] += LIT_MIN
        for hour in range(burn.lit, burn.out):
            asked[hour, "fire"] += TENDED_MIN
        clean = self.s.site.firebox(burn.box).clean_out_min // 60
        for hour in range(burn.lit - clean, burn.lit) if burn.again else ():
            asked[hour, "fire"] += HANDS_MIN

    def _piece_work(self, way: Way, asked: defaultdict[tuple[int, Skill], float]) -> None:
        hands = self.cuts[way.cut].hands
        (ready,) = {self._hour(d.ready_by_at) for d in self.s.weekend.demands() if d.cut == way.cut}
        asked[way.load, "pit"] += hands.load_min
        if way.wrap is not None:
            asked[way.wrap, "wrap"] += hands.wrap_min
        pulls = range(way.early, max(way.late, way.early + 1))
        for hour in pulls:
            asked[hour, "pit"] += hands.pull_min / len(pulls)
        for hour in range(ready, way.served):
            asked[hour, "slice"] += hands.slice_min / (way.served - ready)

    def _cheapest(
        self, work: tuple[tuple[int, Skill, float], ...], fires: tuple[int, ...], pulled: tuple[bool, ...]
    ) -> float:
        for wages, there in self.crews:
            if all(self._enough(work, fires[hour], pulled[hour], there[hour], hour) for hour in range(CLOSES)):
                return wages
        return float("inf")

    def _enough(
        self,
        work: tuple[tuple[int, Skill, float], ...],
        fires: int,
        pulled: bool,
        there: list[frozenset[Skill]],
        hour: int,
    ) -> bool:
        """People for the fires and the pulls, and minutes for every set of skills (Hall's condition)."""
        if fires > self.s.crew.fires_per_person * sum("fire" in skills for skills in there):
            return False
        if pulled and not any("pit" in skills for skills in there):
            return False
        asked = {skill: minutes for h, skill, minutes in work if h == hour}
        for some in chain(*(combinations(asked, n) for n in range(1, len(asked) + 1))):
            able = sum(bool(skills & set(some)) for skills in there)
            if sum(asked[skill] for skill in some) > HANDS_MIN * able + 1e-6:
                return False
        return True


# The comparison


@cache
def proof_of(seed: int) -> Proof:
    """The same weekend by the flow model, from a first plan."""
    grid = build_grid(weekend(seed), 60)
    return prove(grid, next(iter(first_plans(grid))).board, Effort(gap=0.0))


@pytest.mark.parametrize("seed", SEEDS)
def test_no_plan_of_all_is_cheaper(seed: int) -> None:
    least = Everything(weekend(seed)).least_cents()
    proof = proof_of(seed)
    assert proof.bound == pytest.approx(least, abs=0.01)
    assert proof.cents == pytest.approx(least, abs=0.01)


def test_the_weekends_are_no_trifles() -> None:
    boards = [proof_of(seed).board for seed in SEEDS]
    assert sum(len(board.placed) > 0 for board in boards) > len(SEEDS) // 2
    assert sum(sum(board.made()) < sum(d.pieces for d in board.grid.demands) for board in boards) > 0
    assert sum(any(load.wrap_step is not None for load in board.placed) for board in boards) > 1
    assert sum(any(load.wrap_step is None for load in board.placed) for board in boards) > 1
