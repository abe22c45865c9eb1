"""A weekend laid on a grid: places, streams, times, shifts."""

from __future__ import annotations

from datetime import datetime, time

import pytest
from audit_kitchen import kitchen, naive
from solve_kitchen import LOW, OVEN, SOUTH, TOP, grid_of

from scheduler.model.base import Range
from scheduler.model.crew import WEEKDAYS, Person, ShiftPattern
from scheduler.model.site import Rack
from scheduler.model.weekend import Away, OutOfUse, ServiceDay, Wave
from scheduler.solve.grid import Bin, Grid, Stream


def stream(grid: Grid, cut: str) -> Stream:
    (found,) = (stream for stream in grid.streams if stream.cut.name == cut)
    return found


# Places


def test_racks_that_differ_are_places_of_their_own() -> None:
    places = grid_of().places
    assert [(p.name, p.firebox, p.offset_f, p.oven_f) for p in places] == [
        ("north", 0, 0, None),
        ("north", 0, 10, None),
        ("south", 1, 0, None),
        ("oven", None, 0, 250),
    ]
    assert places[TOP].bins == (Bin("top", 400),)
    assert places[OVEN].bins == (Bin(None, 100),)
    assert set(places[OVEN].cap) == {100}


def test_racks_that_are_alike_are_one_place() -> None:
    twin = Rack(name="middle", spaces=2.5)
    (north, south) = kitchen().scenario.site.smokers
    grid = grid_of(kitchen().site(smokers=(north.model_copy(update={"racks": (*north.racks, twin)}), south)))
    assert grid.places[TOP].bins == (Bin("top", 400), Bin("middle", 250))
    assert set(grid.places[TOP].cap) == {650}
    brisket = grid.scenario.menu.cut("brisket")
    assert grid.places[TOP].pieces_cap(brisket) == 6, "2.5 spaces take two whole briskets"


def test_a_cut_fits_where_the_rack_says_so_and_where_a_piece_has_room() -> None:
    grid = grid_of()
    brisket, chicken = (grid.scenario.menu.cut(name) for name in ("brisket", "chicken"))
    assert [p.takes(brisket) for p in grid.places] == [True, False, True, True]
    assert [p.takes(chicken) for p in grid.places] == [True, True, True, True]
    big = grid_of(kitchen().cut("brisket", spaces=1.01)).scenario.menu.cut("brisket")
    assert [p.takes(big) for p in grid.places] == [True, False, True, False]


@pytest.mark.parametrize(
    ("place", "closed"), [("north", {TOP, LOW}), ("oak", {TOP, LOW}), ("south", {SOUTH}), ("oven", {OVEN})]
)
def test_a_place_out_of_use_has_no_room_in_the_steps_touched(place: str, closed: set[int]) -> None:
    window = OutOfUse(place=place, from_at=naive("4:10"), until_at=naive("5:05"))
    grid = grid_of(kitchen().weekend(out_of_use=(window,)))
    for p in grid.places:
        gone = [step for step in range(grid.steps) if p.cap[step] == 0]
        assert gone == (list(range(16, 21)) if p.index in closed else [])


def test_an_open_end_of_a_breakdown_is_the_end_of_the_weekend() -> None:
    broken = (OutOfUse(place="shelf", from_at=naive("12:00")), OutOfUse(place="cabinet", until_at=naive("1:00")))
    grid = grid_of(kitchen().weekend(out_of_use=broken))
    assert [step for step in range(grid.steps) if grid.rest[0].cap[step]] == list(range(48))
    assert [step for step in range(grid.steps) if not grid.hold[0].cap[step]] == list(range(4))


def test_cabinets_too_hot_or_too_cold_for_a_cut_are_not_for_it() -> None:
    grid = grid_of(kitchen().cut("brisket", hold_low_f=151).cut("chicken", hold_high_f=149))
    assert grid.cabinets_for(grid.scenario.menu.cut("brisket")) == []
    assert grid.cabinets_for(grid.scenario.menu.cut("chicken")) == []
    assert grid_of().cabinets_for(grid_of().scenario.menu.cut("brisket")) == [0]


# Streams


def test_where_and_at_which_setpoints_brisket_cooks() -> None:
    brisket = stream(grid_of(), "brisket")
    assert [(s.place, s.wrap_from_min, s.wrap_to_min, sorted(s.levels)) for s in brisket.smoke] == [
        (TOP, 180, 240, [225, 250]),
        (SOUTH, 180, 240, [225, 250]),
    ]
    assert [(f.place, sorted(f.levels)) for f in brisket.finish] == [
        (TOP, [225, 250, 275]),
        (SOUTH, [225, 250, 275]),
        (OVEN, []),
    ]
    assert brisket.finish[0].took == Range(early_min=90, likely_min=120, late_min=180)


def test_an_unwrapped_cut_has_no_smoke_before_the_wrap_and_stays_out_of_the_oven() -> None:
    chicken = stream(grid_of(), "chicken")
    assert chicken.smoke == ()
    # The low rack is 10 F hotter than the setpoint, so that a setpoint of 230 to 280 F would be right for it.
    assert [(f.place, sorted(f.levels)) for f in chicken.finish] == [(p, [250, 275]) for p in (TOP, LOW, SOUTH)]


@pytest.mark.parametrize("band", [(255, 265), (261, 270)])
def test_an_oven_at_the_wrong_heat_is_no_place_to_finish(band: tuple[int, int]) -> None:
    grid = grid_of(kitchen().recipe("brisket", finish_low_f=band[0], finish_high_f=band[1]))
    assert all(stream.cut.name != "brisket" for stream in grid.streams), "no setpoint either"


def test_a_setpoint_at_which_needled_meat_comes_up_too_slowly_is_none_for_it() -> None:
    # FSIS-GD-2021-14 p. 24: 6 hours from 50 F to 130 F, of the centre where the meat is not intact.
    needled = kitchen().cut("brisket", imps="120", intact=False)
    assert {f for smoke in stream(grid_of(needled), "brisket").smoke for f in smoke.levels} == {250}
    whole = kitchen().cut("brisket", imps="120")
    assert {f for smoke in stream(grid_of(whole), "brisket").smoke for f in smoke.levels} == {225, 250}


def test_what_nobody_wants_is_not_laid_out() -> None:
    (wave, _) = kitchen().scenario.weekend.waves
    grid = grid_of(kitchen().weekend(waves=(wave, Wave(cut="chicken", at=wave.at, pieces=0))))
    assert [stream.cut.name for stream in grid.streams] == ["brisket"]


def test_a_heavier_piece_takes_longer_on_the_grid_too() -> None:
    heavy = kitchen().recipe("brisket", slower_pct_per_lb=6.25).weekend(weights_lb={"brisket": 14.0})
    assert stream(grid_of(heavy), "brisket").finish[0].took == Range(early_min=101, likely_min=135, late_min=203)


# Times


def test_the_window_in_which_the_finish_may_start() -> None:
    grid = grid_of()
    brisket = stream(grid, "brisket")
    # Ready 11:00 = 660, less 180 late and 30 rest: 450. Held at most 480 to 14:00 = 840: 240 with 90 early and 30 rest.
    assert grid.finish_steps(brisket, brisket.finish[0], 0) == range(16, 31)
    assert grid.finish_steps(brisket, brisket.finish[0], 1) == range(0), "another cut's wave"
    late = grid_of(kitchen().cut("brisket", rest_min=31))
    assert late.finish_steps(late.streams[0], late.streams[0].finish[0], 0) == range(16, 30)
    short = grid_of(kitchen().cut("brisket", hold_max_min=479))
    assert short.finish_steps(short.streams[0], short.streams[0].finish[0], 0) == range(17, 31)


def test_quality_lost_is_counted_from_the_free_time_on() -> None:
    grid = grid_of()
    brisket = stream(grid, "brisket")
    # From step 22 (5:30): done 7:00 at the earliest, held from 7:30, 210 min to 11:00, 60 of them free.
    assert grid.hold_cents_per_piece(brisket, brisket.finish[0], 0, 22) == pytest.approx(250)
    assert grid.hold_cents_per_piece(brisket, brisket.finish[0], 0, 32) == 0


def test_steps_touched() -> None:
    grid = grid_of()
    assert grid.touched(30, 60) == range(2, 4)
    assert grid.touched(31, 61) == range(2, 5)
    assert grid.touched(44, 45) == range(2, 3)
    assert grid.touched(45, 45) == range(3, 4), "a moment touches the step that it starts"
    assert (grid.down(29), grid.up(29), grid.up(30)) == (1, 2, 2)


@pytest.mark.parametrize(("day", "opening"), [(8, 4), (1, 6)])
def test_minutes_are_elapsed_over_a_change_of_the_clocks(day: int, opening: int) -> None:
    # March 8 and November 1 of 2026, 2:00 am (tz database): from midnight to 5:00 it is 4 hours or 6.
    month = 3 if day == 8 else 11
    midnight = datetime(2026, month, day)
    five = midnight.replace(hour=5)
    changed = kitchen().weekend(
        plan_from=midnight,
        days=(ServiceDay(opens=five, closes=five.replace(hour=7)),),
        waves=(Wave(cut="chicken", at=five, pieces=1),),
        orders=(),
    )
    grid = grid_of(changed)
    assert grid.ready_min == (opening * 60,)
    assert grid.steps == (opening + 2) * 4
    (night,) = {(o.start_min, o.end_min) for o in grid.shifts if o.pattern.name == "night"}
    assert night == (30, 630), "half past midnight is before the change; the shift lasts ten hours by any clock"


# Shifts


def names(grid: Grid, pattern: str) -> set[str]:
    return {option.person.name for option in grid.shifts if option.pattern.name == pattern}


def test_everybody_can_be_called_in_for_every_shift() -> None:
    grid = grid_of()
    assert {(o.person.name, o.pattern.name) for o in grid.shifts} == {
        (name, pattern) for name in ("Ana", "Ben", "Cal") for pattern in ("night", "day", "service")
    }
    (ana,) = (o for o in grid.shifts if (o.person.name, o.pattern.name) == ("Ana", "night"))
    assert (ana.start_min, ana.end_min, ana.wage_cent_min) == (30, 630, 600 * 2000)


def test_nobody_is_called_in_where_they_cannot_come() -> None:
    assert names(grid_of(kitchen().person("Ana", patterns=("day",))), "night") == {"Ben", "Cal"}
    assert names(grid_of(kitchen().person("Ana", days=("sun",))), "night") == {"Ben", "Cal"}
    assert names(grid_of(kitchen().pattern("night", days=("sun",))), "night") == set()
    assert names(grid_of(kitchen().weekend(plan_from=naive("0:31"))), "night") == set()
    away = Away(person="Ben", from_at=naive("14:29"), until_at=naive("18:00"))
    assert names(grid_of(kitchen().weekend(away=(away,))), "day") == {"Ana", "Cal"}
    just = Away(person="Ben", from_at=naive("14:30"), until_at=naive("18:00"))
    assert names(grid_of(kitchen().weekend(away=(just,))), "day") == {"Ana", "Ben", "Cal"}


def young(first: int, last: int, skills: tuple[str, ...]) -> Grid:
    """The kitchen with somebody of 15, or of 16 and 17, added; the machine slices."""
    dee = Person.model_validate(
        {"name": "Dee", "skills": skills, "wage_cents_per_h": 900, "birth_years": (first, last)}
    )
    crew = kitchen().scenario.crew
    evening = ShiftPattern(name="evening", starts=time(11), length_min=481, days=WEEKDAYS)
    changed = kitchen().crew(people=(*crew.people, dee), patterns=(*crew.patterns, evening))
    return grid_of(changed.site(power_slicer=True))


def test_skills_that_the_law_bars_are_not_counted() -> None:
    # 29 CFR 570.33, 570.34, 570.61: no fire and no pit under 16, no power slicer under 18.
    grid = young(2009, 2009, ("fire", "pit", "wrap", "slice", "counter"))
    assert {o.skills for o in grid.shifts if o.person.name == "Dee"} == {frozenset({"fire", "pit", "wrap", "counter"})}
    grid = young(2011, 2011, ("fire", "pit", "wrap", "slice", "counter"))
    assert {o.skills for o in grid.shifts if o.person.name == "Dee"} == {frozenset({"counter"})}
    assert not [o for o in young(2011, 2011, ("fire", "slice")).shifts if o.person.name == "Dee"]


def test_hours_that_the_law_bars_are_no_shifts() -> None:
    # 29 CFR 570.35: 7 am to 7 pm in April, 8 hours on a Saturday.
    assert {o.pattern.name for o in young(2011, 2011, ("counter",)).shifts if o.person.name == "Dee"} == {"service"}
    assert {o.pattern.name for o in young(2009, 2009, ("counter",)).shifts if o.person.name == "Dee"} == {
        "night",
        "day",
        "service",
        "evening",
    }
