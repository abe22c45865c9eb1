"""From a plan to the buying list: every piece bought once, prepared the day before, thawed in time, with its wood."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest
import report_kitchen as kitchen

from scheduler.model.menu import Cut
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from scheduler.trade.buying import ITEMS
from scheduler.trade.known import heat_of, known_as
from scheduler.trade.orders import HARD_BURN, item_for, needs_of, orders_of, wood_order


def changed(scenario: Scenario, cut: str, **values: object) -> Scenario:
    """The scenario with something else said of a cut."""
    cuts = tuple(c.model_copy(update=values) if c.name == cut else c for c in scenario.menu.cuts)
    return scenario.model_copy(update={"menu": scenario.menu.model_copy(update={"cuts": cuts})})


def stocked(scenario: Scenario, **pieces: int) -> Scenario:
    names = {name.replace("_", " "): count for name, count in pieces.items()}
    return scenario.model_copy(update={"weekend": scenario.weekend.model_copy(update={"in_stock": names})})


@pytest.fixture(scope="module")
def scenario() -> Scenario:
    return kitchen.scenario()


@pytest.fixture(scope="module")
def plan(scenario: Scenario) -> Plan:
    return kitchen.plan(scenario)


def a_cut(scenario: Scenario, **values: object) -> Cut:
    return scenario.menu.cuts[0].model_copy(update=values)


@pytest.mark.parametrize(
    ("values", "known"),
    [
        ({"name": "packer-brisket"}, "packer brisket"),
        ({"name": "Packer Brisket"}, "packer brisket"),
        ({"name": "St. Louis ribs"}, "St. Louis ribs"),
        ({"name": "the big one", "imps": "120"}, "packer brisket"),
        ({"name": "fat trim pan", "family": "fat"}, "fat trim"),
        ({"name": "tallow", "family": "fat"}, "fat trim"),
        ({"name": "hot links", "family": "sausage"}, "sausage"),
        ({"name": "lamb shoulder"}, None),
    ],
)
def test_cuts_are_known_by_name_number_or_family(scenario: Scenario, values: dict[str, str], known: str | None) -> None:
    cut = a_cut(scenario, **values)
    assert known_as(cut) == known
    heat = heat_of(cut)
    assert (heat.name if heat else None) == known


def test_every_piece_of_the_plan_is_needed_on_its_local_day(plan: Plan, scenario: Scenario) -> None:
    needs = needs_of(plan, scenario)
    assert sum(need.pieces for need in needs) == sum(load.pieces for load in plan.loads)
    days = {(load.load_at.astimezone(scenario.weekend.zone).date(), load.cut) for load in plan.loads}
    assert {(need.load_on, need.cut) for need in needs} == days


def test_what_is_bought_covers_the_plan_and_costs_whole_cases(plan: Plan, scenario: Scenario) -> None:
    orders = orders_of(plan, scenario)
    for line in orders.lines:
        needed = sum(load.pieces for load in plan.loads if load.cut == line.cut)
        assert line.pieces - line.spare_pieces == needed
        assert line.pieces == line.cases * orders.items[line.cut].case_pieces
        # 10 lb a piece at $50.00 in this kitchen, so a whole case costs its pieces.
        assert line.cost_cents == line.pieces * 5000
    assert orders.cost_cents == sum(line.cost_cents for line in orders.lines)


def test_stock_is_bought_less_and_counted_once(plan: Plan, scenario: Scenario) -> None:
    all_butts = sum(load.pieces for load in plan.loads if load.cut == "pork butt")
    enough = orders_of(plan, stocked(scenario, pork_butt=all_butts))
    line = next(line for line in enough.lines if line.cut == "pork butt")
    assert (line.cases, line.cost_cents) == (0, 0)
    assert sum(need.in_stock for need in needs_of(plan, stocked(scenario, pork_butt=3))) == 3
    assert sum(day.pieces for day in enough.prep if day.cut == "pork butt") == all_butts


def test_prep_is_the_day_before_each_loading(plan: Plan, scenario: Scenario) -> None:
    orders = orders_of(plan, scenario)
    before = {(need.load_on - timedelta(days=1), need.cut, need.pieces) for need in needs_of(plan, scenario)}
    done = {(day.on, day.cut, day.pieces) for day in orders.prep}
    assert done == {job for job in before if job[1] != "sausage"}  # links are neither trimmed nor seasoned


def test_frozen_meat_thaws_in_time_and_fresh_meat_does_not(plan: Plan, scenario: Scenario) -> None:
    assert orders_of(plan, scenario).thaws == ()
    thaws = orders_of(plan, changed(scenario, "packer-brisket", frozen=True)).thaws
    loaded = sorted({need.load_on for need in needs_of(plan, scenario) if need.cut == "packer-brisket"})
    # 10 lb: 3 days in the cooler at a day for each 4 lb (USDA consumer advice, from memory), then the day of trimming.
    assert [thaw.on for thaw in thaws] == [day - timedelta(days=4) for day in loaded]
    assert [thaw.ready_on for thaw in thaws] == [day - timedelta(days=1) for day in loaded]


def test_the_cooler_holds_what_was_delivered_and_not_yet_loaded(plan: Plan, scenario: Scenario) -> None:
    orders = orders_of(plan, scenario)
    weights = [day.weight_lb for day in orders.cooler]
    for day in orders.cooler:
        came = sum(line.pieces for line in orders.lines if line.deliver_by <= day.on)
        loaded = sum(need.pieces for need in needs_of(plan, scenario) if need.load_on < day.on)
        assert day.weight_lb == (came - loaded) * 10  # every piece of this kitchen weighs 10 lb
    assert [day.cuft for day in orders.cooler] == pytest.approx([weight / 25 for weight in weights])


def test_wood_is_what_the_fires_burn_and_the_order_covers_a_hard_burn(plan: Plan, scenario: Scenario) -> None:
    wood = wood_order(plan, scenario)
    rate = {box.name: box.wood_lb_per_h for box in scenario.site.fireboxes}
    burnt = sum(rate[fire.firebox] * (fire.out_at - fire.lit_at).total_seconds() / 3600 for fire in plan.fires)
    assert wood.likely_lb == pytest.approx(burnt)
    assert wood.hard_lb == pytest.approx(burnt * HARD_BURN)
    # Seasoned red oak: 3,609 lb a cord (extension-type table).
    assert wood.cords * 3609 >= wood.hard_lb > (wood.cords - 0.25) * 3609
    assert round(HARD_BURN, 9) == 1.6
    assert wood_order(plan.model_copy(update={"fires": ()}), scenario).cords == 0


def test_the_menus_own_case_comes_first_and_an_unknown_cut_is_bought_by_the_piece(scenario: Scenario) -> None:
    assert item_for(a_cut(scenario, case_pieces=7)).case_pieces == 7
    known = item_for(a_cut(scenario))
    assert (known.cut, known.imps, known.case_pieces) == ("packer-brisket", "120", ITEMS["packer brisket"].case_pieces)
    other = item_for(a_cut(scenario, name="lamb shoulder", raw_low_lb=6, raw_high_lb=8))
    assert (other.case_pieces, other.bands_lb) == (1, ((6, 8),))
    assert other.trim_min[0] > 0


def test_own_trim_is_told_only_where_fat_is_rendered(plan: Plan, scenario: Scenario) -> None:
    assert orders_of(plan, scenario).own_trim is None
    trim = orders_of(plan, changed(scenario, "half chicken", family="fat")).own_trim
    assert trim is not None
    assert trim.needed_lb == sum(load.pieces for load in plan.loads if load.cut == "half chicken") * 10
    assert 0 < trim.trim_lb[0] < trim.trim_lb[1] < trim.trim_lb[2]


def test_a_plan_without_loads_needs_nothing(scenario: Scenario, plan: Plan) -> None:
    orders = orders_of(plan.model_copy(update={"loads": (), "fires": ()}), scenario)
    assert (orders.lines, orders.prep, orders.cooler, orders.wood.cords) == ((), (), (), 0)


def test_a_load_after_midnight_is_prepared_on_the_local_day_before(plan: Plan, scenario: Scenario) -> None:
    at = datetime(2026, 6, 13, 1, tzinfo=scenario.weekend.zone)
    load = plan.loads[0].model_copy(update={"load_at": at})
    [need] = needs_of(plan.model_copy(update={"loads": (load,)}), scenario)
    assert need.load_on == date(2026, 6, 13)
