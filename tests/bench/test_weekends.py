"""Weekends of the benchmark: valid, always the same, and as large as they say."""

from __future__ import annotations

import pytest

from scheduler.bench.sizes import FAMILIES, VARIANTS
from scheduler.bench.weekends import Case
from scheduler.books.scenarios import problems_in, scenario_hash
from scheduler.model.scenario import Scenario
from scheduler.solve.shift_options import shift_options

CASES = [Case(family, variant, seed) for family in FAMILIES for variant in VARIANTS for seed in range(5)]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_the_books_accept_it(case: Case) -> None:
    scenario = case.scenario()
    assert problems_in(scenario) == ()
    assert Scenario.model_validate_json(scenario.model_dump_json(by_alias=True)) == scenario
    assert scenario.weekend.invented


@pytest.mark.parametrize("case", CASES[::7], ids=lambda case: case.name)
def test_it_is_always_the_same(case: Case) -> None:
    assert case.scenario() == case.scenario()


def test_known_weekends_have_not_changed() -> None:
    # Results of different days can be compared only while these stay; change them knowingly.
    assert scenario_hash(Case("S", "easy", 0).scenario()) == "b6d4346fc13c993d"
    assert scenario_hash(Case("XL", "shared firebox", 4).scenario()) == "9425ed31a44a1715"


def test_no_two_are_the_same() -> None:
    assert len({scenario_hash(case.scenario()) for case in CASES}) == len(CASES)


@pytest.mark.parametrize("family", FAMILIES)
def test_sizes_are_as_told(family: str) -> None:
    told = FAMILIES[family]
    weekend = Case(family, "easy", 1).scenario()
    pieces = {cut.name: 0 for cut in weekend.menu.cuts}
    for wave in weekend.weekend.waves:
        pieces[wave.cut] += wave.pieces
    assert pieces.pop("sausage") == told.sausages
    assert sum(pieces.values()) == told.pieces
    assert len(weekend.site.smokers) == told.smokers
    assert len(weekend.weekend.days) == told.days


def test_kitchens_grow_with_the_pieces() -> None:
    def per_piece(family: str) -> list[float]:
        scenario = Case(family, "easy", 0).scenario()
        racks = sum(rack.spaces for smoker in scenario.site.smokers for rack in smoker.racks)
        hold = sum(cabinet.spaces for cabinet in scenario.site.hold_cabinets)
        rest = sum(shelf.spaces for shelf in scenario.site.rest_shelves)
        people = len(scenario.crew.people)
        return [value / FAMILIES[family].pieces for value in (racks, hold, rest, people)]

    usual = per_piece("M")
    for family in ("L", "XL"):
        for mine, theirs in zip(per_piece(family), usual, strict=True):
            assert mine == pytest.approx(theirs, rel=0.12)


@pytest.mark.parametrize("case", CASES[::5], ids=lambda case: case.name)
def test_the_counter_can_be_manned(case: Case) -> None:
    scenario = case.scenario()
    weekend = scenario.weekend
    options = [option for option in shift_options(scenario, 4 * 24 * 60) if "counter" in option.skills]
    for day in weekend.days:
        for moment in (day.opens, day.closes):
            minute = weekend.timeline.minute(weekend.local(moment)) - (moment == day.closes)
            there = {o.person.name for o in options if o.start_min <= minute < o.end_min}
            assert len(there) >= day.counter_hands


def test_variants_are_tight_where_they_say() -> None:
    for family in ("M", "L", "XL"):
        of = {name: Case(family, name, 0).scenario() for name in VARIANTS}

        def hold(scenario: Scenario) -> float:
            return sum(cabinet.spaces for cabinet in scenario.site.hold_cabinets)

        assert hold(of["tight hold"]) < 0.6 * hold(of["easy"])
        assert len(of["tight hands"].crew.people) < len(of["easy"].crew.people)
        assert of["tight hands"].site.wrap_tables < of["easy"].site.wrap_tables
        assert of["tight fire"].crew.fires_per_person < of["easy"].crew.fires_per_person
        assert len(of["shared firebox"].site.fireboxes) == FAMILIES[family].smokers // 2
        assert {name: scenario.weekend.waves for name, scenario in of.items()} == dict.fromkeys(
            VARIANTS, of["easy"].weekend.waves
        )
