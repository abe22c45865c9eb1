"""The scenario folders that come with the program: complete, invented, and what they say they are."""

from __future__ import annotations

import re
from collections import Counter
from datetime import datetime, timedelta
from pathlib import Path
from typing import get_args

import pytest
from books.mistakes import SCENARIOS, copy_of

from scheduler.books import read_scenario, read_scenario_dump, scenario_dump, scenario_hash, write_text
from scheduler.errors import InputError
from scheduler.model.menu import Cut, Recipe
from scheduler.model.scenario import Scenario
from scheduler.model.site import Place
from scheduler.model.weekend import Demand
from scheduler.trade.minors import youngest_age
from scheduler.trade.stage import finish_range, wrap_window_min

NAMES = sorted(folder.name for folder in SCENARIOS.iterdir())
GRID = 15

HOURS_ON_THE_PIT: dict[tuple[str, int], tuple[float, float, float]] = {
    # Low, likely, high, hours from loading to done at a setpoint. Common practice, no source.
    ("packer brisket", 250): (11, 14, 17),
    ("packer brisket", 275): (9, 11, 14),
    ("pork butt", 250): (9, 11, 14),
    ("pork butt", 275): (7, 9, 11),
    ("spare ribs", 250): (4.5, 5.25, 6.5),
    ("spare ribs", 275): (3.5, 4.5, 5.5),
    ("beef plate ribs", 250): (7, 8, 10),
    ("beef plate ribs", 275): (5.5, 7, 8.5),
    ("turkey breast", 250): (2.25, 3, 4),
    ("turkey breast", 275): (2, 2.5, 3.25),
    ("half chicken", 275): (1.5, 2, 2.5),
    ("sausage", 250): (1, 1.5, 2.25),
    ("sausage", 275): (0.75, 1.1, 1.5),
}


@pytest.fixture(params=NAMES)
def scenario(request: pytest.FixtureRequest) -> Scenario:
    """Each scenario in turn."""
    return read_scenario(SCENARIOS / request.param)


@pytest.fixture(scope="module")
def harvest() -> Scenario:
    """The real one."""
    return read_scenario(SCENARIOS / "harvest-weekend")


def pieces(scenario: Scenario) -> Counter[str]:
    """Pieces asked for, by cut."""
    count: Counter[str] = Counter()
    for demand in scenario.weekend.demands():
        count[demand.cut] += demand.pieces
    return count


def ways(scenario: Scenario, demand: Demand) -> list[tuple[str, int]]:
    """Recipes and racks by which a piece can be in time for its wave and not too old at the end of it, on the grid."""
    cut = scenario.menu.cut(demand.cut)
    clock = scenario.weekend.timeline
    ready, until = clock.minute(demand.ready_by_at), clock.minute(demand.served_until_at)
    found = []
    for recipe in cut.recipes:
        for smoker in scenario.site.smokers:
            warm_up = scenario.site.firebox(smoker.firebox).warm_up_min
            for rack in smoker.racks:
                heats = [s + rack.offset_f for s in scenario.site.firebox(smoker.firebox).setpoints_f]
                if (rack.fits and cut.name not in rack.fits) or not any(
                    recipe.low_f <= h <= recipe.high_f for h in heats
                ):
                    continue
                if _in_time(scenario, cut, recipe, rack.offset_f, (warm_up, ready, until)):
                    found.append((recipe.name, rack.offset_f))
    return found


def _in_time(scenario: Scenario, cut: Cut, recipe: Recipe, offset: int, times: tuple[int, int, int]) -> bool:
    start, ready, until = times
    weight = scenario.weight_lb(cut)
    stage = finish_range(recipe, weight, offset)
    wrap = wrap_window_min(recipe, weight, offset)[1] // GRID * GRID
    load = (ready - cut.rest_min - stage.late_min - wrap) // GRID * GRID
    return load >= start and until - (load + wrap + stage.early_min + cut.rest_min) <= cut.hold_max_min


def test_every_scenario_is_marked_invented(scenario: Scenario) -> None:
    assert scenario.weekend.invented
    assert "(invented)" in scenario.site.name


@pytest.mark.parametrize("name", NAMES)
def test_every_file_says_that_it_is_invented_and_marks_its_figures(name: str) -> None:
    for file in ("site", "menu", "crew", "weekend"):
        text = (SCENARIOS / name / f"{file}.toml").read_text(encoding="utf-8")
        assert "nvented" in text.split("\n\n")[0] + text.split("\n\n")[1]
    menu = (SCENARIOS / name / "menu.toml").read_text(encoding="utf-8")
    assert "Marks: P = published, the source is named; C = common practice, no source." in menu
    assert "FDA Food Code 3-501.16(A)(1)" in menu


def test_every_wave_can_be_met_by_some_recipe_and_rack(scenario: Scenario) -> None:
    stuck = [f"{d.cut} {d.wave}" for d in scenario.weekend.demands() if not ways(scenario, d)]
    assert not stuck


def test_hours_on_the_pit_are_those_of_common_practice(harvest: Scenario) -> None:
    for (name, setpoint), hours in HOURS_ON_THE_PIT.items():
        cut = harvest.menu.cut(name)
        (recipe,) = (r for r in cut.recipes if r.low_f <= setpoint <= r.high_f)
        middle = (recipe.wrap_from_min + recipe.wrap_to_min) / 2
        finish = recipe.finish
        total = [(middle + m) / 60 for m in (finish.early_min, finish.likely_min, finish.late_min)]
        assert total == pytest.approx(hours), (name, setpoint)


def test_the_real_one_is_as_large_as_it_must_be(harvest: Scenario) -> None:
    asked = pieces(harvest)
    assert set(asked) == {
        "packer brisket",
        "pork butt",
        "spare ribs",
        "beef plate ribs",
        "turkey breast",
        "half chicken",
        "sausage",
        "fat trim pan",
    }
    assert 190 <= sum(asked.values()) - asked["sausage"] <= 215
    assert 190 <= asked["sausage"] <= 215
    assert [f"{day.opens:%a}" for day in harvest.weekend.days] == ["Fri", "Sat", "Sun"]
    site = harvest.site
    assert (len(site.smokers), len(site.fireboxes), len(site.ovens), len(site.hold_cabinets)) == (4, 3, 1, 2)
    assert Counter(smoker.firebox for smoker in site.smokers).most_common(1)[0][1] == 2
    assert len(harvest.crew.people) == 9
    assert 2 <= len(harvest.weekend.orders) <= 3


def test_somebody_of_the_real_one_may_be_under_18(harvest: Scenario) -> None:
    ages = [
        youngest_age(person.birth_years, harvest.weekend.days[0].opens.date())
        for person in harvest.crew.people
        if person.birth_years
    ]
    assert ages == [16]
    assert harvest.site.power_slicer


def test_big_cuts_of_the_real_one_have_two_ways_to_cook(harvest: Scenario) -> None:
    for name in ("packer brisket", "pork butt"):
        recipes = harvest.menu.cut(name).recipes
        assert len(recipes) >= 2
        assert all(recipe.oven_ok for recipe in recipes)


def test_the_real_one_has_too_little_room_to_be_easy(harvest: Scenario) -> None:
    """At its busiest the kitchen must hold about as much as its cabinets have, whatever the fires do."""
    weekend, busy = harvest.weekend, weekend_noon(harvest)
    held = 0.0
    for demand in weekend.demands():
        cut = harvest.menu.cut(demand.cut)
        spread = min(r.finish.late_min - r.finish.early_min for r in cut.recipes)
        if demand.ready_by_at - timedelta(minutes=spread) <= busy < demand.served_until_at:
            held += demand.pieces * cut.hold_spaces
    room = sum(cabinet.spaces for cabinet in harvest.site.hold_cabinets)
    assert 0.85 * room <= held <= 1.1 * room


def weekend_noon(scenario: Scenario) -> datetime:
    """11 am on the second day of service."""
    return scenario.weekend.local(scenario.weekend.days[1].opens)


def test_the_small_one_is_small() -> None:
    scenario = read_scenario(SCENARIOS / "corner-saturday")
    assert len(scenario.weekend.days) == 1
    assert len(scenario.site.smokers) == 2
    assert 35 <= sum(pieces(scenario).values()) <= 45


def test_the_one_that_cannot_be_met_asks_for_more_than_its_cabinets_hold() -> None:
    scenario = read_scenario(SCENARIOS / "parade-day")
    at_noon = [d for d in scenario.weekend.demands() if d.ready_by_at.hour < 12 < d.served_until_at.hour]
    held = sum(d.pieces * scenario.menu.cut(d.cut).hold_spaces for d in at_noon)
    assert held > sum(cabinet.spaces for cabinet in scenario.site.hold_cabinets)


def test_the_autumn_one_crosses_the_clock_change() -> None:
    weekend = read_scenario(SCENARIOS / "first-frost").weekend
    start, end = weekend.local(weekend.plan_from), weekend.local(weekend.days[-1].closes)
    # US clocks go back on the first Sunday of November (15 U.S.C. 260a; from memory): November 1 in 2026.
    assert end.utcoffset() - start.utcoffset() == timedelta(hours=-1)  # type: ignore[operator]
    assert end.date() == datetime(2026, 11, 1).date()


def test_a_scenario_survives_its_dump(scenario: Scenario, tmp_path: Path) -> None:
    path = tmp_path / "scenario.json"
    write_text(path, scenario_dump(scenario))
    assert read_scenario_dump(path) == scenario
    assert scenario_hash(read_scenario_dump(path)) == scenario_hash(scenario)


def test_the_hash_is_of_the_content(harvest: Scenario, tmp_path: Path) -> None:
    folder = copy_of("harvest-weekend", tmp_path)
    for file in folder.iterdir():
        file.write_text("# a comment\n" + file.read_text(encoding="utf-8"), encoding="utf-8")
    assert scenario_hash(read_scenario(folder)) == scenario_hash(harvest)
    crew = folder / "crew.toml"
    crew.write_text(crew.read_text().replace("wage_cents_per_h = 2600", "wage_cents_per_h = 2601"))
    assert scenario_hash(read_scenario(folder)) != scenario_hash(harvest)
    assert re.fullmatch("[0-9a-f]{16}", scenario_hash(harvest))


def test_a_spoiled_dump_is_told(harvest: Scenario, tmp_path: Path) -> None:
    path = tmp_path / "scenario.json"
    path.write_text(scenario_dump(harvest).replace('"pieces":', '"peaces":', 1))
    with pytest.raises(InputError) as caught:
        read_scenario_dump(path)
    assert [p.sentence() for p in caught.value.problems] == [
        "scenario.json: weekend, wave (spare ribs, 2026-06-12T17:00:00), pieces: it is missing; add it.",
        "scenario.json: weekend, wave (spare ribs, 2026-06-12T17:00:00), peaces: no such setting is known; "
        "write pieces if that is meant.",
    ]


def test_the_places_of_a_site_are_of_every_kind() -> None:
    site = read_scenario(SCENARIOS / "harvest-weekend").site
    assert {type(place) for place in site.places} == set(get_args(Place))
    assert {place.name for place in site.places} == {
        place.name for _, value in site if isinstance(value, tuple) for place in value
    }
