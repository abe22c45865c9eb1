"""A small invented kitchen and a hand-made plan for it that keeps every rule, to be broken one thing at a time.

One Saturday. The north smoker (firebox oak) takes four briskets at night and four half chickens in the morning; one
brisket finishes in the oven. The rack, the oven, the rest shelf and the holding cabinet are all exactly full at their
fullest, and one brisket is short. `Kitchen` is a scenario and a plan; every method returns a changed copy.

    oak  lit 1:00 am, warm 2:00, 225 F, to 250 F from 7:30, out 10:00
    BR01 3 briskets on north/top, 2:00, wrapped 5:30, done 7:00 to 8:30, for Sat 11:00
    BR02 1 brisket  on north/top, 2:15, wrapped 5:45 into the oven, done 7:15 to 8:45, for the order at noon
    CH01 4 half chickens on north/low, 7:30, done 8:50 to 9:30, for Sat 11:00
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from pydantic import BaseModel

from scheduler.audit import Breach, audit, price
from scheduler.model.base import Range
from scheduler.model.crew import WEEKDAYS, Crew, Person, ShiftPattern
from scheduler.model.menu import Cut, Hands, Menu, Recipe
from scheduler.model.plan import Certificate, Cost, Fire, Load, Plan, Setpoint, Shift, Short, Task
from scheduler.model.scenario import Scenario
from scheduler.model.site import Firebox, HoldCabinet, Oven, Rack, RestShelf, Site, Smoker
from scheduler.model.weekend import Order, ServiceDay, Wave, Weekend

ZONE = "America/Chicago"
_M = TypeVar("_M", bound=BaseModel)


def naive(clock: str, day: int = 18) -> datetime:
    """Local time on a day of April 2026; the 18th is a Saturday."""
    return datetime.combine(datetime(2026, 4, day), time.fromisoformat(clock.zfill(5)))


def t(clock: str, day: int = 18) -> datetime:
    """The same, aware."""
    return naive(clock, day).replace(tzinfo=ZoneInfo(ZONE))


def site() -> Site:
    """Two smokers on a firebox each, an oven, a rest shelf, a holding cabinet."""
    oak = Firebox(
        name="oak",
        setpoints_f=(225, 250, 275),
        warm_up_min=60,
        tend_every_min=60,
        tend_min=5,
        light_min=10,
        clean_out_min=60,
        setpoint_change_min=30,
        wood_lb_per_h=10,
    )
    return Site(
        name="invented kitchen",
        fireboxes=(oak, oak.model_copy(update={"name": "hickory"})),
        smokers=(
            Smoker(
                name="north",
                firebox="oak",
                racks=(
                    Rack(name="top", spaces=4),
                    Rack(name="low", spaces=2, offset_f=10, fits=("chicken",)),
                ),
            ),
            Smoker(name="south", firebox="hickory", racks=(Rack(name="only", spaces=4),)),
        ),
        ovens=(Oven(name="oven", spaces=1, oven_f=250),),
        rest_shelves=(RestShelf(name="shelf", spaces=4),),
        hold_cabinets=(HoldCabinet(name="cabinet", spaces=6, hold_f=150),),
        wrap_tables=1,
        cutting_boards=1,
        wood_cents_per_lb=30,
    )


def menu() -> Menu:
    """Brisket, wrapped, and half chicken, not wrapped."""
    brisket = Cut(
        name="brisket",
        code="BR",
        family="beef",
        raw_low_lb=12,
        raw_high_lb=12,
        spaces=1,
        rest_spaces=1,
        hold_spaces=1,
        done_f=203,
        rest_min=30,
        hold_max_min=480,
        hold_free_min=60,
        hold_loss_cents_per_h=100,
        move_cents=50,
        portions=20,
        price_cents=1000,
        cost_cents=8000,
        hands=Hands(load_min=2.5, wrap_min=2.5, pull_min=1, slice_min=5),
        recipes=(
            Recipe(
                name="paper",
                low_f=225,
                high_f=260,
                wrap_kind="paper",
                wrap_from_min=180,
                wrap_to_min=240,
                finish=Range(early_min=90, likely_min=120, late_min=180),
                finish_low_f=225,
                finish_high_f=275,
                oven_ok=True,
                ref_weight_lb=12,
            ),
        ),
    )
    chicken = Cut(
        name="chicken",
        code="CH",
        family="poultry",
        raw_low_lb=2,
        raw_high_lb=2,
        spaces=0.5,
        rest_spaces=0,
        hold_spaces=0.5,
        done_f=165,
        rest_min=10,
        hold_max_min=300,
        hold_free_min=60,
        hold_loss_cents_per_h=20,
        portions=2,
        price_cents=700,
        cost_cents=500,
        hands=Hands(load_min=0.5, pull_min=0.5, slice_min=1),
        recipes=(
            Recipe(
                name="plain",
                low_f=240,
                high_f=290,
                wrap_kind="none",
                finish=Range(early_min=80, likely_min=90, late_min=120),
                ref_weight_lb=2,
            ),
        ),
    )
    return Menu(cuts=(brisket, chicken))


def crew() -> Crew:
    """One at night, one by day, one at the counter."""
    return Crew(
        people=(
            Person(name="Ana", skills=("fire", "pit", "wrap"), wage_cents_per_h=2000),
            Person(name="Ben", skills=("fire", "pit", "slice"), wage_cents_per_h=1800),
            Person(name="Cal", skills=("counter", "slice"), wage_cents_per_h=1500),
        ),
        patterns=(
            ShiftPattern(name="night", starts=time(0, 30), length_min=600, days=WEEKDAYS),
            ShiftPattern(name="day", starts=time(6), length_min=510, days=WEEKDAYS),
            ShiftPattern(name="service", starts=time(10), length_min=300, days=WEEKDAYS),
        ),
        longest_shift_min=600,
        least_rest_min=480,
        hand_minutes_per_h=50,
        fires_per_person=2,
    )


def weekend() -> Weekend:
    """One day of selling, two waves and an order."""
    return Weekend(
        name="invented Saturday",
        invented=True,
        timezone=ZONE,
        plan_from=naive("0:00"),
        days=(ServiceDay(opens=naive("11:00"), closes=naive("14:00"), counter_hands=1),),
        waves=(
            Wave(cut="brisket", at=naive("11:00"), pieces=4),
            Wave(cut="chicken", at=naive("11:00"), pieces=4),
        ),
        orders=(Order(name="Oak table", cut="brisket", at=naive("12:00"), pieces=1, broken_promise_cents=500),),
    )


def loads() -> tuple[Load, ...]:
    """The three loads."""
    first = Load(
        code="BR01",
        cut="brisket",
        recipe="paper",
        wave="Sat 11:00",
        pieces=3,
        smoker="north",
        rack="top",
        load_at=t("2:00"),
        wrap_at=t("5:30"),
        wrap_kind="paper",
        finish_place="north",
        finish_rack="top",
        early_done_at=t("7:00"),
        likely_done_at=t("7:30"),
        late_done_at=t("8:30"),
        rest_place="shelf",
        hold_place="cabinet",
        hold_from_at=t("7:30"),
        ready_by_at=t("11:00"),
        served_until_at=t("14:00"),
    )
    second = first.model_copy(
        update={
            "code": "BR02",
            "wave": "order Oak table",
            "pieces": 1,
            "load_at": t("2:15"),
            "wrap_at": t("5:45"),
            "finish_place": "oven",
            "finish_rack": None,
            "early_done_at": t("7:15"),
            "likely_done_at": t("7:45"),
            "late_done_at": t("8:45"),
            "hold_from_at": t("7:45"),
            "ready_by_at": t("12:00"),
            "served_until_at": t("12:30"),
        }
    )
    third = Load(
        code="CH01",
        cut="chicken",
        recipe="plain",
        wave="Sat 11:00",
        pieces=4,
        smoker="north",
        rack="low",
        load_at=t("7:30"),
        wrap_at=None,
        wrap_kind="none",
        finish_place="north",
        finish_rack="low",
        early_done_at=t("8:50"),
        likely_done_at=t("9:00"),
        late_done_at=t("9:30"),
        rest_place=None,
        hold_place="cabinet",
        hold_from_at=t("9:00"),
        ready_by_at=t("11:00"),
        served_until_at=t("14:00"),
    )
    return first, second, third


def ana(kind: Any, at: str, minutes: int, *codes: str, pieces: int = 0, place: str = "") -> Task:
    """A task of Ana's, shift S1."""
    return Task(at=t(at), minutes=minutes, kind=kind, person="Ana", shift="S1", loads=codes, pieces=pieces, place=place)


def ben(kind: Any, at: str, minutes: int, *codes: str, pieces: int = 0, place: str = "") -> Task:
    """A task of Ben's, shift S2."""
    return ana(kind, at, minutes, *codes, pieces=pieces, place=place).model_copy(
        update={"person": "Ben", "shift": "S2"}
    )


def cal(kind: Any, at: str, minutes: int, *codes: str) -> Task:
    """A task of Cal's, shift S3."""
    return ana(kind, at, minutes, *codes).model_copy(update={"person": "Cal", "shift": "S3"})


def tasks() -> tuple[Task, ...]:
    """All work of the plan."""
    return (
        ana("light", "1:00", 10, place="oak"),
        *(ana("tend", f"{hour}:00", 5, place="oak") for hour in range(2, 10)),
        ana("load", "2:05", 8, "BR01", pieces=3),
        ana("load", "2:15", 3, "BR02", pieces=1),
        ana("wrap", "5:30", 8, "BR01", pieces=3),
        ana("wrap", "5:45", 3, "BR02", pieces=1),
        ben("load", "7:30", 2, "CH01", pieces=4),
        ben("pull", "7:15", 4, "BR01", "BR02"),
        ben("pull", "8:15", 4, "BR01", "BR02"),
        ben("pull", "9:10", 2, "CH01"),
        ben("slice", "11:00", 15, "BR01", pieces=3),
        ben("slice", "11:20", 4, "CH01", pieces=4),
        ben("slice", "12:00", 5, "BR02", pieces=1),
        cal("counter", "11:00", 180),
    )


def shifts() -> tuple[Shift, ...]:
    """All three are called in."""
    return (
        Shift(code="S1", person="Ana", pattern="night", starts_at=t("0:30"), ends_at=t("10:30")),
        Shift(code="S2", person="Ben", pattern="day", starts_at=t("6:00"), ends_at=t("14:30")),
        Shift(code="S3", person="Cal", pattern="service", starts_at=t("10:00"), ends_at=t("15:00")),
    )


COST = Cost(
    shorts=12_000,  # one brisket: 20 portions of $10.00, less $80.00
    wages=42_800,  # 10 h at $20.00, 8.5 h at $18.00, 5 h at $15.00
    wood=2_700,  # 9 h of 10 lb at $0.30
    hold=1_155,  # 3 briskets 150 min at $1.00 an hour, one 195 min, 4 chickens 60 min at $0.20
    moves=50,  # one brisket to the oven
)
"""Worked out by hand."""


def plan() -> Plan:
    """The hand-made plan."""
    return Plan(
        scenario="invented Saturday",
        scenario_hash="0" * 16,
        invented=True,
        timezone=ZONE,
        clock="12h",
        loads=loads(),
        fires=(
            Fire(
                firebox="oak",
                lit_at=t("1:00"),
                ready_at=t("2:00"),
                out_at=t("10:00"),
                setpoints=(
                    Setpoint(from_at=t("2:00"), setpoint_f=225),
                    Setpoint(from_at=t("7:30"), setpoint_f=250),
                ),
            ),
        ),
        shifts=shifts(),
        tasks=tasks(),
        shorts=(Short(cut="brisket", wave="Sat 11:00", pieces=1, why="the rack is full"),),
        cost=COST,
        certificate=Certificate(
            bound_cents=None, gap=None, grid_min=15, seconds=1.0, stopped_by="rule of thumb", seed=0
        ),
    )


def _swap(items: Iterable[_M], field: str, value: str, changes: dict[str, Any]) -> tuple[_M, ...]:
    listed = list(items)
    assert any(getattr(item, field) == value for item in listed), f"no {value}"
    return tuple(item.model_copy(update=changes) if getattr(item, field) == value else item for item in listed)


@dataclass(frozen=True)
class Kitchen:
    """A scenario and a plan for it."""

    scenario: Scenario
    plan: Plan

    def breaches(self, reprice: bool = True) -> tuple[Breach, ...]:
        """What the audit finds; the plan's cost is set right first unless `reprice` is off."""
        plan = self.plan
        if reprice:
            plan = plan.model_copy(update={"cost": price(plan, self.scenario)})
        return audit(plan, self.scenario)

    def codes(self, reprice: bool = True) -> set[str]:
        """Codes of the breaches."""
        return {breach.code for breach in self.breaches(reprice)}

    def the(self, code: str) -> Breach:
        """The only breach of that code."""
        (found,) = (breach for breach in self.breaches() if breach.code == code)
        return found

    # The plan

    def with_plan(self, **changes: Any) -> Kitchen:
        """Fields of the plan changed."""
        return replace(self, plan=self.plan.model_copy(update=changes))

    def load(self, code: str, /, **changes: Any) -> Kitchen:
        """One load changed."""
        return self.with_plan(loads=_swap(self.plan.loads, "code", code, changes))

    def retimed(self, code: str, minutes: int) -> Kitchen:
        """One load with its loading and all that follows moved by so many minutes; its tasks are not."""
        names = ("load_at", "wrap_at", "early_done_at", "likely_done_at", "late_done_at", "hold_from_at")
        load = self.plan.load(code)
        moved = {n: getattr(load, n) + timedelta(minutes=minutes) for n in names if getattr(load, n) is not None}
        return self.load(code, **moved)

    def add_load(self, load: Load) -> Kitchen:
        """One more load."""
        return self.with_plan(loads=(*self.plan.loads, load))

    def fire(self, **changes: Any) -> Kitchen:
        """The first burn changed."""
        first, *rest = self.plan.fires
        return self.with_plan(fires=(first.model_copy(update=changes), *rest))

    def add_fire(self, firebox: str, lit: str, out: str, day: int = 18) -> Kitchen:
        """One more burn at 225 F."""
        lit_at = t(lit, day)
        ready_at = lit_at + timedelta(minutes=60)
        setpoints = (Setpoint(from_at=ready_at, setpoint_f=225),)
        fire = Fire(firebox=firebox, lit_at=lit_at, ready_at=ready_at, out_at=t(out, day), setpoints=setpoints)
        return self.with_plan(fires=(*self.plan.fires, fire))

    def shift(self, code: str, /, **changes: Any) -> Kitchen:
        """One shift changed."""
        return self.with_plan(shifts=_swap(self.plan.shifts, "code", code, changes))

    def add_shift(self, shift: Shift) -> Kitchen:
        """One more shift."""
        return self.with_plan(shifts=(*self.plan.shifts, shift))

    def task(self, kind: str, number: int, /, **changes: Any) -> Kitchen:
        """The task of that kind and number, from 0, changed."""
        chosen = [task for task in self.plan.tasks if task.kind == kind][number]
        return self.with_plan(
            tasks=tuple(task.model_copy(update=changes) if task is chosen else task for task in self.plan.tasks)
        )

    def drop_task(self, kind: str, number: int) -> Kitchen:
        """The plan without the task of that kind and number."""
        chosen = [task for task in self.plan.tasks if task.kind == kind][number]
        return self.with_plan(tasks=tuple(task for task in self.plan.tasks if task is not chosen))

    def add_tasks(self, *more: Task) -> Kitchen:
        """More tasks."""
        return self.with_plan(tasks=(*self.plan.tasks, *more))

    # The scenario

    def with_scenario(self, **changes: Any) -> Kitchen:
        """Parts of the scenario changed."""
        return replace(self, scenario=self.scenario.model_copy(update=changes))

    def site(self, **changes: Any) -> Kitchen:
        """Fields of the site changed."""
        return self.with_scenario(site=self.scenario.site.model_copy(update=changes))

    def firebox(self, name: str, /, **changes: Any) -> Kitchen:
        """One firebox changed."""
        return self.site(fireboxes=_swap(self.scenario.site.fireboxes, "name", name, changes))

    def rack(self, smoker: str, rack: str, /, **changes: Any) -> Kitchen:
        """One rack changed."""
        racks = _swap(self.scenario.site.smoker(smoker).racks, "name", rack, changes)
        return self.site(smokers=_swap(self.scenario.site.smokers, "name", smoker, {"racks": racks}))

    def oven(self, **changes: Any) -> Kitchen:
        """The oven changed."""
        return self.site(ovens=_swap(self.scenario.site.ovens, "name", "oven", changes))

    def shelf(self, **changes: Any) -> Kitchen:
        """The rest shelf changed."""
        return self.site(rest_shelves=_swap(self.scenario.site.rest_shelves, "name", "shelf", changes))

    def cabinet(self, **changes: Any) -> Kitchen:
        """The holding cabinet changed."""
        return self.site(hold_cabinets=_swap(self.scenario.site.hold_cabinets, "name", "cabinet", changes))

    def cut(self, name: str, /, **changes: Any) -> Kitchen:
        """One cut changed."""
        return self.with_scenario(menu=Menu(cuts=_swap(self.scenario.menu.cuts, "name", name, changes)))

    def recipe(self, cut: str, /, **changes: Any) -> Kitchen:
        """The only recipe of a cut changed."""
        (recipe,) = self.scenario.menu.cut(cut).recipes
        return self.cut(cut, recipes=(recipe.model_copy(update=changes),))

    def hands(self, cut: str, /, **changes: Any) -> Kitchen:
        """The hand-minutes of a cut changed."""
        return self.cut(cut, hands=self.scenario.menu.cut(cut).hands.model_copy(update=changes))

    def crew(self, **changes: Any) -> Kitchen:
        """Fields of the crew changed."""
        return self.with_scenario(crew=self.scenario.crew.model_copy(update=changes))

    def person(self, name: str, /, **changes: Any) -> Kitchen:
        """One person changed."""
        return self.crew(people=_swap(self.scenario.crew.people, "name", name, changes))

    def pattern(self, name: str, /, **changes: Any) -> Kitchen:
        """One shift pattern changed."""
        return self.crew(patterns=_swap(self.scenario.crew.patterns, "name", name, changes))

    def weekend(self, **changes: Any) -> Kitchen:
        """Fields of the weekend changed."""
        return self.with_scenario(weekend=self.scenario.weekend.model_copy(update=changes))

    def counter_hands(self, number: int) -> Kitchen:
        """So many people at the counter."""
        (day,) = self.scenario.weekend.days
        return self.weekend(days=(day.model_copy(update={"counter_hands": number}),))


def kitchen() -> Kitchen:
    """The kitchen with its plan that keeps every rule."""
    return Kitchen(Scenario(site=site(), menu=menu(), crew=crew(), weekend=weekend()), plan())


def idle() -> Kitchen:
    """The same kitchen with nobody at the counter and a plan that does nothing: everything is short."""
    short = [("brisket", "Sat 11:00", 4), ("brisket", "order Oak table", 1), ("chicken", "Sat 11:00", 4)]
    return (
        kitchen()
        .counter_hands(0)
        .with_plan(
            loads=(),
            fires=(),
            shifts=(),
            tasks=(),
            shorts=tuple(Short(cut=cut, wave=wave, pieces=n, why="closed") for cut, wave, n in short),
        )
    )
