"""Optima of small random weekends against PyJobShop, a general-purpose library for scheduling (pyjobshop.org).

Outside source: PyJobShop 0.0.9, which makes intervals of the stages of each piece, and has CP-SAT solve them. It shares
nothing with the flow model of the solver, which counts pieces and has no intervals. Both are solved to the end.

The part of the problem that the library can express: fixed durations; racks, ovens, the rest shelf and the cabinet as
renewable resources; pit hands and wrap tables by the step; the warm-up and breakdowns as tasks that fill a rack; waves
as deadlines; hold limits; recipes and places as modes. What a piece costs that is not made, or is moved, is the
earliness of a task whose length depends on the way chosen, and quality lost is the earliness of the rest. Fires burn
all day for nothing, and everybody is always there for nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from functools import cache
from itertools import pairwise
from random import Random

import pytest
from pyjobshop import Model, SolveStatus
from pyjobshop.ProblemData import Mode, Renewable, Task
from solve_kitchen import plan_of

from scheduler.audit import audit
from scheduler.model.base import Range, hundredths
from scheduler.model.crew import WEEKDAYS, Crew, Person, ShiftPattern, Skill
from scheduler.model.menu import Cut, Hands, Menu, Recipe
from scheduler.model.scenario import Scenario
from scheduler.model.site import Firebox, HoldCabinet, Oven, Rack, RestShelf, Site, Smoker
from scheduler.model.weekend import OutOfUse, ServiceDay, Wave, Weekend
from scheduler.solve.exact import Proof, prove
from scheduler.solve.grid import build_grid
from scheduler.solve.highs import Effort
from scheduler.solve.improve import first_plans

STEP_MIN = 30
MIDNIGHT = datetime(2026, 4, 18)
TENTHS = 10
"""Hand-minutes are counted in tenths, so that they are whole numbers."""
SEEDS = range(24)


# A random weekend


def weekend(seed: int) -> Scenario:
    """A kitchen of one or two smokers, one or two cuts, and four to twelve pieces wanted."""
    rng = Random(seed)
    menu = Menu(cuts=(_wrapped(rng), _bare(rng))[: 1 + (seed % 3 > 0)])
    site = _site(rng, seed)
    return Scenario(site=site, menu=menu, crew=_crew(rng), weekend=_calendar(rng, menu, site))


def _fixed(minutes: int) -> Range:
    return Range(early_min=minutes, likely_min=minutes, late_min=minutes)


def _wrapped(rng: Random) -> Cut:
    wrap_from = rng.choice((60, 90))
    recipe = Recipe(
        name="paper",
        low_f=225,
        high_f=300,
        wrap_kind="paper",
        wrap_from_min=wrap_from,
        wrap_to_min=wrap_from + rng.choice((0, 30, 60)),
        finish=_fixed(120),
        oven_ok=True,
        ref_weight_lb=12,
        faster_pct_per_f=1.25,
    )
    return Cut(
        name="brisket",
        code="BR",
        family="beef",
        raw_low_lb=12,
        raw_high_lb=12,
        spaces=1,
        rest_spaces=rng.choice((0.0, 1.0)),
        hold_spaces=1,
        done_f=203,
        rest_min=rng.choice((0, 30, 60)),
        hold_max_min=rng.choice((180, 240, 300)),
        hold_free_min=rng.choice((0, 30)),
        hold_loss_cents_per_h=rng.choice((40, 110, 600)),
        move_cents=rng.choice((0, 35, 80)),
        portions=10,
        price_cents=rng.choice((300, 900)),
        cost_cents=2000,
        hands=Hands(load_min=rng.choice((0.0, 4.0, 6.5)), wrap_min=rng.choice((0.0, 10.0, 15.0)), pull_min=2),
        recipes=(recipe,),
    )


def _bare(rng: Random) -> Cut:
    slow = Recipe(name="slow", low_f=225, high_f=300, wrap_kind="none", finish=_fixed(120), ref_weight_lb=2)
    quick = slow.model_copy(update={"name": "quick", "finish": _fixed(60), "low_f": 260})
    return Cut(
        name="chicken",
        code="CH",
        family="poultry",
        raw_low_lb=2,
        raw_high_lb=2,
        spaces=0.5,
        rest_spaces=0.5,
        hold_spaces=rng.choice((0.0, 0.5)),
        done_f=165,
        rest_min=30,
        hold_max_min=rng.choice((120, 210)),
        hold_loss_cents_per_h=rng.choice((20, 60)),
        portions=4,
        price_cents=rng.choice((400, 700)),
        cost_cents=500,
        hands=Hands(load_min=rng.choice((0.0, 2.0)), pull_min=rng.choice((0.0, 2.0))),
        recipes=(slow, quick) if rng.random() < 0.5 else (slow,),
    )


def _site(rng: Random, seed: int) -> Site:
    oak = Firebox(
        name="oak",
        setpoints_f=(250,),
        warm_up_min=rng.choice((0, 60)),
        tend_every_min=60,
        tend_min=0,
        light_min=0,
        clean_out_min=0,
        setpoint_change_min=0,
        wood_lb_per_h=10,
    )
    # A rack at the hot end takes 60 or 90 minutes where the others take 120; it is a place of its own.
    hot = Rack(name="hot end", spaces=rng.choice((1.0, 1.5)), offset_f=rng.choice((20, 40)))
    north = Smoker(name="north", firebox="oak", racks=(Rack(name="rack", spaces=rng.choice((1.0, 2.0))), hot))
    south = Smoker(name="south", firebox="hickory", racks=(Rack(name="rack", spaces=rng.choice((0.5, 1.0))),))
    two = seed % 2 == 1
    return Site(
        name="invented kitchen",
        fireboxes=(oak, oak.model_copy(update={"name": "hickory"})) if two else (oak,),
        smokers=(north, south) if two else (north,),
        ovens=(Oven(name="oven", spaces=1, oven_f=250),) if rng.random() < 0.6 else (),
        rest_shelves=(RestShelf(name="shelf", spaces=rng.choice((1.0, 2.0))),),
        hold_cabinets=(HoldCabinet(name="cabinet", spaces=rng.choice((2.0, 3.5)), hold_f=150),),
        wrap_tables=1,
        cutting_boards=1,
        wood_cents_per_lb=0,
    )


def _crew(rng: Random) -> Crew:
    """One person for each skill, two for the pit perhaps, in two shifts around the clock."""
    skills: list[Skill] = ["fire", "wrap", "pit"] + ["pit"] * rng.randint(0, 1)
    people = [Person(name=f"{skill} {i}", skills=(skill,), wage_cents_per_h=0) for i, skill in enumerate(skills)]
    return Crew(
        people=tuple(people),
        patterns=tuple(
            ShiftPattern(name=name, starts=time(hour), length_min=720, days=WEEKDAYS)
            for name, hour in (("morning", 0), ("evening", 12))
        ),
        longest_shift_min=720,
        least_rest_min=0,
        hand_minutes_per_h=60,
        fires_per_person=20,
    )


def _calendar(rng: Random, menu: Menu, site: Site) -> Weekend:
    def at(hours: float) -> datetime:
        return MIDNIGHT + timedelta(hours=hours)

    waves = []
    for cut in menu.cuts:
        first = rng.choice((6.5, 7.0, 7.5))
        second = first + rng.choice((0.5, 1.0, 2.0))
        waves.append(Wave(cut=cut.name, at=at(first), until=at(second), pieces=rng.randint(2, 3)))
        waves.append(Wave(cut=cut.name, at=at(second), until=at(second + 1), pieces=rng.randint(2, 3)))
    broken = OutOfUse(place=rng.choice([*(s.name for s in site.smokers), "cabinet"]), from_at=at(3), until_at=at(4))
    return Weekend(
        name="invented weekend",
        invented=True,
        timezone="America/Chicago",
        plan_from=MIDNIGHT,
        days=(ServiceDay(opens=at(6.5), closes=at(11), counter_hands=0),),
        waves=tuple(waves),
        out_of_use=(broken,) if rng.random() < 0.5 else (),
    )


# The same problem for PyJobShop, written from the scenario alone, in steps


@dataclass
class Place:
    """A rack or an oven."""

    smoker: str
    resource: Renewable
    size: int
    heat_f: int
    offset_f: int
    oven: bool


class Job:
    """The weekend as tasks, modes and resources."""

    def __init__(self, scenario: Scenario) -> None:
        self.scenario = scenario
        self.model = Model()
        self.places = [*self._racks(), *self._ovens()]
        site = scenario.site
        (shelf,), (cabinet,) = site.rest_shelves, site.hold_cabinets
        self.shelf = self._room(shelf.name, shelf.spaces)
        self.cabinet = self._room(cabinet.name, cabinet.spaces)
        pit = sum("pit" in person.skills for person in scenario.crew.people)
        self.pit = self.model.add_renewable(pit * STEP_MIN * TENTHS)
        self.tables = self.model.add_renewable(site.wrap_tables * STEP_MIN * TENTHS)
        for demand in scenario.weekend.demands():
            cut = scenario.menu.cut(demand.cut)
            ready, served = self._step(demand.ready_by_at), self._step(demand.served_until_at)
            # Pieces of a wave are alike, so they may be numbered in order of time; those that are short come last.
            for one, other in pairwise([self._piece(cut, ready, served) for _ in range(demand.pieces)]):
                self.model.add_start_before_start(one, other)
        self.model.set_objective(weight_total_earliness=1)

    def optimum(self) -> int:
        """Least cost, cents."""
        result = self.model.solve(num_workers=1, display=False)
        assert result.status == SolveStatus.OPTIMAL
        return round(result.objective)

    def _step(self, moment: datetime) -> int:
        minutes = (moment.replace(tzinfo=None) - MIDNIGHT) // timedelta(minutes=1)
        assert minutes % STEP_MIN == 0
        return minutes // STEP_MIN

    # Resources

    def _fill(self, resource: Renewable, size: int, first: int, last: int) -> None:
        """Nothing else on a resource between two steps."""
        if first < last:
            task = self.model.add_task(earliest_start=first, latest_start=first)
            self.model.add_mode(task, resource, last - first, size)

    def _room(self, name: str, spaces: float, *also: str) -> Renewable:
        resource = self.model.add_renewable(hundredths(spaces), name=name)
        for out in self.scenario.weekend.out_of_use:
            if out.place in (name, *also):
                assert out.from_at is not None
                assert out.until_at is not None
                self._fill(resource, hundredths(spaces), self._step(out.from_at), self._step(out.until_at))
        return resource

    def _racks(self) -> list[Place]:
        found = []
        for smoker in self.scenario.site.smokers:
            firebox = self.scenario.site.firebox(smoker.firebox)
            (setpoint,) = firebox.setpoints_f
            for rack in smoker.racks:
                resource = self._room(f"{smoker.name} {rack.name}", rack.spaces, smoker.name)
                size = hundredths(rack.spaces)
                self._fill(resource, size, 0, firebox.warm_up_min // STEP_MIN)
                heat = setpoint + rack.offset_f
                found.append(Place(smoker.name, resource, size, heat, rack.offset_f, oven=False))
        return found

    def _ovens(self) -> list[Place]:
        return [
            Place(oven.name, self._room(oven.name, oven.spaces), hundredths(oven.spaces), oven.oven_f, 0, oven=True)
            for oven in self.scenario.site.ovens
        ]

    # One piece: its stages one after another, each at no time and nowhere if the piece is short

    def _piece(self, cut: Cut, ready: int, served: int) -> Task:
        model = self.model
        rest, rested = self._stage(cut.rest_min // STEP_MIN, self.shelf, hundredths(cut.rest_spaces), latest_end=ready)
        hold = model.add_task(
            earliest_start=served - cut.hold_max_min // STEP_MIN,
            earliest_end=served,
            latest_end=served,
            allow_idle=True,
        )
        held = model.add_mode(hold, self.cabinet, 0, hundredths(cut.hold_spaces))
        model.add_mode(hold, [], 0)
        model.add_end_at_start(rest, hold)
        finish, smoke = model.add_task(), model.add_task()
        model.add_end_at_start(smoke, finish)
        model.add_end_at_start(finish, rest)
        hands = [
            self._hands(smoke, self.pit, cut.hands.load_min),
            self._hands(rest, self.pit, cut.hands.pull_min),
        ]
        if cut.recipes[0].wrapped:
            hands.append(self._hands(finish, self.tables, cut.hands.wrap_min))
        self._ways(cut, smoke, finish, [rested, held, *hands])
        self._quality(cut, rest, ready)
        return finish

    def _stage(self, steps: int, resource: Renewable, size: int, latest_end: int) -> tuple[Task, Mode]:
        task = self.model.add_task(latest_end=latest_end)
        real = self.model.add_mode(task, resource, steps, size)
        self.model.add_mode(task, [], 0)
        return task, real

    def _hands(self, at: Task, who: Renewable, minutes: float) -> Mode:
        """Work of one step at the start of a stage."""
        task = self.model.add_task()
        real = self.model.add_mode(task, who, 1, round(minutes * TENTHS))
        self.model.add_mode(task, [], 0)
        self.model.add_start_at_start(at, task)
        return real

    def _ways(self, cut: Cut, smoke: Task, finish: Task, always: list[Mode]) -> None:
        """Recipes and places as modes of a task of its own, as long as a large number less the price of the way."""
        model = self.model
        large = cut.margin_cents + cut.move_cents
        way = model.add_task(model.add_job(due_date=large), latest_start=0)
        model.add_mode(way, [], large - cut.margin_cents, name="short")
        nowhere = [model.add_mode(task, [], 0) for task in (smoke, finish)]
        size = hundredths(cut.spaces)
        places = [place for place in self.places if place.size >= size]
        for recipe in cut.recipes:
            low, high = recipe.finish_band_f
            ends = [p for p in places if low <= p.heat_f <= high and (recipe.oven_ok or not p.oven)]
            begins = [p for p in places if not p.oven and recipe.low_f <= p.heat_f <= recipe.high_f]
            at = {id(p): model.add_mode(finish, p.resource, self._took(recipe, p), size) for p in ends}
            if not recipe.wrapped:
                for end in ends:
                    chosen = model.add_mode(way, [], large)
                    for needed in (nowhere[0], at[id(end)], *always):
                        model.add_mode_dependency(chosen, [needed])
                continue
            for begin in begins:
                smoked = [model.add_mode(smoke, begin.resource, n, size) for n in self._delays(recipe, begin)]
                for end in ends if smoked else []:
                    moved = cut.move_cents if begin.smoker != end.smoker else 0
                    chosen = model.add_mode(way, [], large - moved)
                    model.add_mode_dependency(chosen, smoked)
                    for needed in (at[id(end)], *always):
                        model.add_mode_dependency(chosen, [needed])

    def _took(self, recipe: Recipe, place: Place) -> int:
        minutes = recipe.finish.late_min * (1 - recipe.faster_pct_per_f * place.offset_f / 100)
        assert minutes % STEP_MIN == 0
        return round(minutes) // STEP_MIN

    def _delays(self, recipe: Recipe, place: Place) -> list[int]:
        """Steps from the loading to the wrap."""
        factor = 1 - recipe.faster_pct_per_f * place.offset_f / 100
        first, last = (round(m * factor) for m in (recipe.wrap_from_min, recipe.wrap_to_min))
        return [n for n in range(1, last // STEP_MIN + 1) if first <= n * STEP_MIN <= last]

    def _quality(self, cut: Cut, rest: Task, ready: int) -> None:
        """Cents for each step that the hold begins before the wave, beyond what is free."""
        each = cut.hold_loss_cents_per_h * STEP_MIN
        assert each % 60 == 0
        job = self.model.add_job(weight=each // 60, due_date=ready - cut.hold_free_min // STEP_MIN)
        task = self.model.add_task(job)
        self.model.add_mode(task, [], 0)
        # It ends with the rest; a job can't share a task with another, so this one stands for it.
        self.model.add_end_at_end(rest, task)


@cache
def proof_of(seed: int) -> Proof:
    """The weekend solved by the flow model, to the end."""
    grid = build_grid(weekend(seed), STEP_MIN)
    return prove(grid, next(iter(first_plans(grid))).board, Effort(gap=0.0))


@pytest.mark.parametrize("seed", SEEDS)
def test_the_optimum_is_that_of_pyjobshop(seed: int) -> None:
    proof = proof_of(seed)
    assert proof.proven
    assert round(proof.cents) == Job(weekend(seed)).optimum()
    assert audit(plan_of(proof.board), weekend(seed)) == ()


def test_the_weekends_are_no_trifles() -> None:
    plans = [plan_of(proof_of(seed).board) for seed in SEEDS]
    assert sum(load.pieces for plan in plans for load in plan.loads) > 6 * len(SEEDS)
    for part in ("shorts", "moves", "hold"):
        assert sum(getattr(plan.cost, part) > 0 for plan in plans) >= len(SEEDS) // 4, part
