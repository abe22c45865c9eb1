"""An invented kitchen and a plan for it, made by hand, to test what is printed: two smokers, an oven, two days.

The plan obeys the meaning of the model's fields closely enough to look like a real one; it is not audited here.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from math import ceil
from zoneinfo import ZoneInfo

from scheduler.model.base import Range
from scheduler.model.clock import add_min, localize
from scheduler.model.crew import SKILL_OF, Crew, Person, ShiftPattern, TaskKind
from scheduler.model.menu import Cut, Hands, Menu, Recipe
from scheduler.model.plan import Certificate, Cost, Fire, Load, Plan, Relief, Setpoint, Shift, Short, Task
from scheduler.model.scenario import Scenario
from scheduler.model.site import Firebox, HoldCabinet, Oven, Rack, RestShelf, Site, Smoker
from scheduler.model.weekend import Order, ServiceDay, Wave, Weekend
from scheduler.trade.stage import finish_range

GRID = 15
SATURDAY = datetime(2026, 6, 13)


def site() -> Site:
    """Two smokers, each on its own fire, one oven, one shelf, two cabinets."""

    def box(name: str, wood: int) -> Firebox:
        return Firebox(
            name=name,
            setpoints_f=(250, 275),
            warm_up_min=90,
            tend_every_min=45,
            tend_min=4,
            light_min=12,
            clean_out_min=30,
            setpoint_change_min=30,
            wood_lb_per_h=wood,
        )

    north = Smoker(
        name="north",
        firebox="north box",
        racks=(
            Rack(name="top", spaces=6, offset_f=10),
            Rack(name="middle", spaces=8),
            Rack(name="bottom", spaces=8),
        ),
    )
    south = Smoker(
        name="south",
        firebox="south box",
        racks=(Rack(name="1", spaces=6), Rack(name="2", spaces=6, offset_f=-10)),
    )
    return Site(
        name="Test yard (invented)",
        fireboxes=(box("north box", 20), box("south box", 16)),
        smokers=(north, south),
        ovens=(Oven(name="oven", spaces=6, oven_f=260),),
        rest_shelves=(RestShelf(name="rest shelf A", spaces=24),),
        hold_cabinets=(
            HoldCabinet(name="tall", spaces=20, hold_f=150),
            HoldCabinet(name="low", spaces=18, hold_f=145),
        ),
        wrap_tables=2,
        cutting_boards=2,
        power_slicer=True,
        wood_cents_per_lb=20,
    )


def _cut(
    name: str,
    code: str,
    done_f: int,
    rest_min: int,
    finish: tuple[int, int, int],
    *,
    wrap: tuple[int, int] | None = None,
    spaces: float = 1.0,
    slice_min: float = 1.0,
) -> Cut:
    early, likely, late = finish
    recipe = Recipe(
        name="plain",
        low_f=235,
        high_f=290,
        wrap_kind="paper" if wrap else "none",
        wrap_from_min=wrap[0] if wrap else 0,
        wrap_to_min=wrap[1] if wrap else 0,
        finish=Range(early_min=early, likely_min=likely, late_min=late),
        oven_ok=wrap is not None,
        ref_weight_lb=10,
        faster_pct_per_f=0.5,
    )
    return Cut(
        name=name,
        code=code,
        family="beef",
        raw_low_lb=9,
        raw_high_lb=11,
        spaces=spaces,
        rest_spaces=spaces,
        hold_spaces=spaces,
        done_f=done_f,
        rest_min=rest_min,
        hold_max_min=600,
        portions=10,
        price_cents=1200,
        cost_cents=5000,
        hands=Hands(load_min=0.7, wrap_min=2.5 if wrap else 0, pull_min=1, slice_min=slice_min),
        recipes=(recipe,),
    )


def menu() -> Menu:
    """Six cuts."""
    return Menu(
        cuts=(
            _cut("packer-brisket", "BR", 203, 60, (285, 405, 525), wrap=(330, 420), slice_min=5),
            _cut("pork butt", "PB", 202, 60, (225, 330, 435), wrap=(270, 360), spaces=0.75, slice_min=6),
            _cut("spare-ribs", "SR", 198, 20, (90, 120, 165), wrap=(150, 210), spaces=0.5),
            _cut("turkey-breast", "TB", 165, 30, (135, 180, 225), spaces=0.5),
            _cut("half chicken", "HC", 175, 10, (90, 120, 150), spaces=0.4, slice_min=0),
            _cut("sausage", "SA", 160, 5, (45, 66, 90), spaces=0.1, slice_min=0),
        )
    )


def crew() -> Crew:
    """Five people and four patterns, one of them under 18."""
    days = ("fri", "sat", "sun")
    return Crew(
        people=(
            Person(name="Rosa", skills=("fire", "pit", "wrap", "slice"), wage_cents_per_h=2600),
            Person(name="Dell", skills=("fire", "pit", "wrap"), wage_cents_per_h=2300),
            Person(name="Otis", skills=("fire", "pit", "wrap", "slice"), wage_cents_per_h=2000),
            Person(name="Pia", skills=("wrap", "slice", "counter"), wage_cents_per_h=1900),
            Person(name="Juno", skills=("slice", "counter"), wage_cents_per_h=1400, birth_years=(2009, 2009)),
        ),
        patterns=(
            ShiftPattern(name="evening", starts=time(14), length_min=510, days=days),
            ShiftPattern(name="night", starts=time(22), length_min=540, days=days),
            ShiftPattern(name="opening", starts=time(6), length_min=540, days=days),
            ShiftPattern(name="day", starts=time(10), length_min=480, days=days),
        ),
        longest_shift_min=600,
        least_rest_min=480,
    )


WAVES: tuple[tuple[str, int, int, int, int], ...] = (
    # cut, day after Saturday, hour, pieces, hours served
    ("packer-brisket", 0, 11, 8, 3),
    ("packer-brisket", 0, 14, 6, 3),
    ("pork butt", 0, 11, 6, 6),
    ("spare-ribs", 0, 11, 8, 3),
    ("turkey-breast", 0, 12, 6, 2),
    ("half chicken", 0, 12, 12, 1),
    ("sausage", 0, 11, 30, 3),
    ("packer-brisket", 1, 11, 9, 5),
    ("pork butt", 1, 11, 4, 5),
    ("spare-ribs", 1, 11, 8, 2),
    ("sausage", 1, 12, 25, 2),
)


def weekend(start: datetime, timezone: str, *, name: str, clock: str) -> Weekend:
    """Saturday and Sunday from the Saturday at midnight in `start`."""
    waves = []
    for cut, day, hour, pieces, served in WAVES:
        at = start + timedelta(days=day, hours=hour)
        waves.append(Wave(cut=cut, at=at, pieces=pieces, until=at + timedelta(hours=served)))
    return Weekend(
        name=name,
        invented=True,
        timezone=timezone,
        plan_from=start - timedelta(hours=12),
        clock=clock,
        days=(
            ServiceDay(opens=start + timedelta(hours=11), closes=start + timedelta(hours=17), counter_hands=1),
            ServiceDay(opens=start + timedelta(days=1, hours=11), closes=start + timedelta(days=1, hours=16)),
        ),
        waves=tuple(waves),
        orders=(Order(name="Blue porch", cut="pork butt", at=start + timedelta(hours=13), pieces=2),),
    )


@dataclass(frozen=True)
class Wish:
    """A load as written down by hand."""

    code: str
    cut: str
    wave: str
    pieces: int
    rack: tuple[str, str]
    day: int
    load: tuple[int, int]
    wrap_after_min: int = 0
    finish: tuple[str, str | None] | None = None
    hold: str = "tall"


WISHES: tuple[Wish, ...] = (
    Wish("BR01", "packer-brisket", "Sat 11:00", 5, ("north", "middle"), -1, (16, 30), 375),
    Wish("BR02", "packer-brisket", "Sat 11:00", 3, ("north", "middle"), -1, (16, 30), 390, ("oven", None)),
    Wish("BR03", "packer-brisket", "Sat 14:00", 5, ("north", "bottom"), -1, (19, 30), 375, None, "low"),
    Wish("BR04", "packer-brisket", "Sat 14:00", 1, ("south", "1"), -1, (20, 0), 390, None, "low"),
    Wish("PB01", "pork butt", "Sat 11:00", 6, ("south", "2"), -1, (18, 15), 330, None, "low"),
    Wish("PB02", "pork butt", "order Blue porch", 2, ("south", "1"), -1, (20, 30), 315),
    Wish("SR01", "spare-ribs", "Sat 11:00", 5, ("north", "top"), 0, (4, 30), 180, ("oven", None)),
    Wish("SR02", "spare-ribs", "Sat 11:00", 3, ("north", "top"), 0, (4, 30), 195),
    Wish("TB01", "turkey-breast", "Sat 12:00", 6, ("south", "2"), 0, (7, 0)),
    Wish("HC01", "half chicken", "Sat 12:00", 12, ("south", "1"), 0, (9, 0), 0, None, "low"),
    Wish("SA01", "sausage", "Sat 11:00", 16, ("north", "top"), 0, (9, 15)),
    Wish("SA02", "sausage", "Sat 11:00", 14, ("south", "2"), 0, (9, 15), 0, None, "low"),
    Wish("BR05", "packer-brisket", "Sun 11:00", 6, ("north", "middle"), 0, (16, 30), 375),
    Wish("BR06", "packer-brisket", "Sun 11:00", 3, ("north", "bottom"), 0, (16, 45), 390, ("north", "bottom")),
    Wish("PB03", "pork butt", "Sun 11:00", 4, ("south", "1"), 0, (18, 30), 330, None, "low"),
    Wish("SR03", "spare-ribs", "Sun 11:00", 4, ("north", "top"), 1, (4, 45), 180),
    Wish("SR04", "spare-ribs", "Sun 11:00", 3, ("south", "2"), 1, (4, 30), 180, None, "low"),
    Wish("SA03", "sausage", "Sun 12:00", 15, ("south", "2"), 1, (10, 15), 0, None, "low"),
    Wish("SA04", "sausage", "Sun 12:00", 10, ("north", "top"), 1, (10, 15)),
)

FIRES: tuple[tuple[str, tuple[int, int, int], tuple[int, int, int], tuple[tuple[int, int, int, int], ...]], ...] = (
    # firebox, lit (day, hour, minute), out, later setpoints (day, hour, minute, F)
    ("north box", (-1, 15, 0), (0, 11, 30), ((0, 3, 0, 275),)),
    ("south box", (-1, 16, 30), (0, 12, 0), ()),
    ("north box", (0, 15, 0), (1, 12, 0), ((1, 3, 0, 275),)),
    ("south box", (0, 17, 0), (1, 12, 0), ()),
)

SHIFTS: tuple[tuple[str, str, int, int, int], ...] = (
    # person, pattern, day, hour, length
    ("Otis", "evening", -1, 14, 510),
    ("Rosa", "evening", -1, 14, 510),
    ("Dell", "night", -1, 22, 540),
    ("Rosa", "opening", 0, 6, 540),
    ("Pia", "day", 0, 10, 480),
    ("Juno", "day", 0, 10, 480),
    ("Otis", "evening", 0, 14, 510),
    ("Dell", "night", 0, 22, 540),
    ("Rosa", "opening", 1, 6, 540),
    ("Pia", "day", 1, 10, 480),
    ("Juno", "day", 1, 10, 480),
)


@dataclass
class _Crew:
    """Gives each job to the person on shift who is free and has done the least of it."""

    scenario: Scenario
    shifts: tuple[Shift, ...]
    tasks: list[Task] = field(default_factory=list)
    busy: dict[str, list[tuple[datetime, datetime]]] = field(default_factory=dict)

    def give(self, kind: TaskKind, at: datetime, minutes: int, **what: object) -> None:
        """A job at the first free minute of somebody in the hour after `at`; left out where nobody is free."""
        for late in range(60):
            start, end = add_min(at, late), add_min(at, late + minutes)
            for shift in sorted(self.shifts, key=lambda s: len(self.busy.get(s.code, []))):
                if self._free(shift, kind, start, end):
                    self.busy.setdefault(shift.code, []).append((start, end))
                    self.tasks.append(
                        Task(
                            at=start,
                            minutes=minutes,
                            kind=kind,
                            person=shift.person,
                            shift=shift.code,
                            **what,
                        )
                    )
                    return

    def _free(self, shift: Shift, kind: TaskKind, start: datetime, end: datetime) -> bool:
        if start < shift.starts_at or end > shift.ends_at:
            return False
        if SKILL_OF[kind] not in self.scenario.crew.person(shift.person).skills:
            return False
        return all(end <= a or start >= b for a, b in self.busy.get(shift.code, []))


def _loads(scenario: Scenario, start: datetime) -> tuple[Load, ...]:
    zone = scenario.weekend.zone
    demands = {(d.cut, d.wave): d for d in scenario.weekend.demands()}
    found = []
    for wish in WISHES:
        cut = scenario.menu.cut(wish.cut)
        recipe = cut.recipes[0]
        smoker, rack = wish.rack
        place, finish_rack = wish.finish or wish.rack
        load_at = localize(start + timedelta(days=wish.day, hours=wish.load[0], minutes=wish.load[1]), zone)
        wrap_at = add_min(load_at, wish.wrap_after_min) if wish.wrap_after_min else None
        offset = 0 if finish_rack is None else scenario.site.rack(place, finish_rack).offset_f
        took = finish_range(recipe, 10, offset)
        since = wrap_at or load_at
        demand = demands[wish.cut, wish.wave]
        found.append(
            Load(
                code=wish.code,
                cut=wish.cut,
                recipe=recipe.name,
                wave=wish.wave,
                pieces=wish.pieces,
                smoker=smoker,
                rack=rack,
                load_at=load_at,
                wrap_at=wrap_at,
                wrap_kind=recipe.wrap_kind,
                finish_place=place,
                finish_rack=finish_rack,
                early_done_at=add_min(since, took.early_min),
                likely_done_at=add_min(since, took.likely_min),
                late_done_at=add_min(since, took.late_min),
                rest_place="rest shelf A",
                hold_place=wish.hold,
                hold_from_at=add_min(since, took.early_min + cut.rest_min),
                ready_by_at=demand.ready_by_at,
                served_until_at=demand.served_until_at,
            )
        )
    return tuple(found)


def _fires(start: datetime, zone: ZoneInfo) -> tuple[Fire, ...]:
    def at(day: int, hour: int, minute: int) -> datetime:
        return localize(start + timedelta(days=day, hours=hour, minutes=minute), zone)

    found = []
    for firebox, lit, out, later in FIRES:
        ready = add_min(at(*lit), 90)
        setpoints = [Setpoint(from_at=ready, setpoint_f=250)]
        setpoints += [Setpoint(from_at=at(d, h, m), setpoint_f=f) for d, h, m, f in later]
        found.append(
            Fire(firebox=firebox, lit_at=at(*lit), ready_at=ready, out_at=at(*out), setpoints=tuple(setpoints))
        )
    return tuple(found)


def _work(crew: _Crew, loads: tuple[Load, ...], fires: tuple[Fire, ...]) -> None:
    _fire_work(crew, fires)
    for load in loads:
        cut = crew.scenario.menu.cut(load.cut)
        what = {"loads": (load.code,), "pieces": load.pieces}
        crew.give("load", load.load_at, max(1, ceil(load.pieces * cut.hands.load_min)), **what)
        if load.wrap_at is not None:
            crew.give("wrap", load.wrap_at, max(1, ceil(load.pieces * cut.hands.wrap_min)), **what)
    _probe_work(crew, loads)
    _service_work(crew, loads)


def _fire_work(crew: _Crew, fires: tuple[Fire, ...]) -> None:
    seen: set[str] = set()
    for fire in fires:
        box = crew.scenario.site.firebox(fire.firebox)
        if fire.firebox in seen:
            crew.give("clean", add_min(fire.lit_at, -45), 30, place=fire.firebox)
        seen.add(fire.firebox)
        crew.give("light", fire.lit_at, 12, place=fire.firebox)
        due = add_min(fire.lit_at, box.tend_every_min)
        while due < fire.out_at:
            crew.give("tend", due, 4, place=fire.firebox)
            due = add_min(due, box.tend_every_min)


def _probe_work(crew: _Crew, loads: tuple[Load, ...]) -> None:
    """Rounds every 45 minutes for all that may be done then."""
    moment, last = min(x.early_done_at for x in loads), max(x.late_done_at for x in loads)
    while moment <= last:
        due = tuple(x.code for x in loads if x.early_done_at <= moment <= x.late_done_at)
        if due:
            crew.give("pull", moment, min(14, 3 * len(due)), loads=due)
        moment = add_min(moment, 45)


def _service_work(crew: _Crew, loads: tuple[Load, ...]) -> None:
    for opens, closes in ((d.opens, d.closes) for d in crew.scenario.weekend.days):
        moment, end = crew.scenario.weekend.local(opens), crew.scenario.weekend.local(closes)
        while moment < end:
            crew.give("counter", moment, 15)
            moment = add_min(moment, 15)
    for cut in crew.scenario.menu.cuts:
        for wave in sorted({x.wave for x in loads if x.cut == cut.name and cut.hands.slice_min}):
            batch = tuple(x for x in loads if (x.cut, x.wave) == (cut.name, wave))
            moment, codes = batch[0].ready_by_at, tuple(x.code for x in batch)
            while moment < batch[0].served_until_at:
                crew.give("slice", moment, 6, loads=codes)
                moment = add_min(moment, 15)


def scenario(
    start: datetime = SATURDAY,
    timezone: str = "America/Chicago",
    *,
    name: str = "Test weekend",
    clock: str = "12h",
) -> Scenario:
    """The invented kitchen with the weekend whose Saturday is `start`."""
    return Scenario(site=site(), menu=menu(), crew=crew(), weekend=weekend(start, timezone, name=name, clock=clock))


def plan(of: Scenario, *, number: int = 1) -> Plan:
    """The plan by hand for that scenario."""
    zone = of.weekend.zone
    start = of.weekend.plan_from + timedelta(hours=12)
    loads, fires = _loads(of, start), _fires(start, zone)
    shifts = []
    for index, (person, pattern, day, hour, length) in enumerate(SHIFTS, 1):
        starts = localize(start + timedelta(days=day, hours=hour), zone)
        shifts.append(
            Shift(
                code=f"S{index:02d}",
                person=person,
                pattern=pattern,
                starts_at=starts,
                ends_at=add_min(starts, length),
            )
        )
    workers = _Crew(of, tuple(shifts))
    _work(workers, loads, fires)
    return Plan(
        number=number,
        scenario="test-weekend",
        scenario_hash="0123456789abcdef",
        invented=True,
        timezone=of.weekend.timezone,
        clock=of.weekend.clock,
        loads=loads,
        fires=fires,
        shifts=tuple(shifts),
        tasks=tuple(sorted(workers.tasks, key=lambda t: (t.at, t.person))),
        shorts=(Short(cut="spare-ribs", wave="Sun 11:00", pieces=1, why="the rest shelf is full from 9 to 11 am"),),
        reliefs=(
            Relief(limit="rest", change="one more rest shelf of 6 spaces", pieces=1, cents=9000),
            Relief(limit="hands", change="one more person with pit skill on Sunday morning", pieces=1, cents=2150),
        ),
        cost=Cost(shorts=7000, wages=196350, wood=28110, hold=1240, moves=120),
        certificate=Certificate(
            bound_cents=226400,
            gap=(232820 - 226400) / 232820,
            grid_min=GRID,
            seconds=20,
            stopped_by="time",
            seed=1,
        ),
    )
