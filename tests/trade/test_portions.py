"""From raw meat to portions: the ranges of the yield tables, and a note where the menu counts on something else."""

from __future__ import annotations

from dataclasses import replace

import pytest
import report_kitchen as kitchen
from trade.test_orders import changed

from scheduler.trade.orders import needs_of
from scheduler.trade.portions import CutPortions, portions_of
from scheduler.trade.yields import CUT_YIELD, TRIM_FAT, yield_chain

SCENARIO = kitchen.scenario()
NEEDS = needs_of(kitchen.plan(SCENARIO), SCENARIO)


def of(cut: str, found: tuple[CutPortions, ...]) -> CutPortions:
    [one] = [each for each in found if each.cut == cut]
    return one


def test_all_pieces_of_a_cut_go_the_way_of_its_yield() -> None:
    brisket = of("packer-brisket", portions_of(NEEDS, SCENARIO))
    pieces = sum(need.pieces for need in NEEDS if need.cut == "packer-brisket")
    chain = yield_chain(CUT_YIELD["packer brisket"], pieces, 10)
    assert (brisket.raw_lb, brisket.trimmed_lb, brisket.portions) == (pieces * 10, chain.trimmed_lb, chain.portions)
    assert brisket.menu_portions == pieces * 10
    assert brisket.raw_lb > brisket.trimmed_lb[2] > brisket.cooked_lb[2]


@pytest.mark.parametrize(("portions", "word"), [(5, "fewer"), (10, ""), (20, ""), (30, "more")])
def test_the_note_tells_a_menu_that_counts_on_too_much_or_too_little(portions: float, word: str) -> None:
    # A 10 lb brisket gives 3.8 to 5.2 lb at 1/4 to 1/2 lb an adult: 7.6 to 20.8 portions.
    found = of("packer-brisket", portions_of(NEEDS, changed(SCENARIO, "packer-brisket", portions=portions)))
    assert (f"{word} than the " in found.note) if word else found.note == ""


def test_fat_gives_tallow_never_more_than_its_fat() -> None:
    fat = of("half chicken", portions_of(NEEDS, changed(SCENARIO, "half chicken", family="fat")))
    assert fat.portions is None
    assert fat.note == ""
    assert fat.cooked_lb[2] <= fat.raw_lb * TRIM_FAT


def test_a_cut_that_no_table_knows_is_left_out() -> None:
    named = tuple(need for need in NEEDS if need.cut == "pork butt")
    unknown = changed(SCENARIO, "pork butt", name="lamb shoulder")
    assert portions_of([], unknown) == ()
    assert portions_of([replace(need, cut="lamb shoulder") for need in named], unknown) == ()
