"""Come-up of a cut on a rack, before it is put there: known cuts only, the centre where it is not intact."""

from __future__ import annotations

import pytest
import report_kitchen as kitchen

from scheduler.model.menu import Cut
from scheduler.trade.come_up import slow_come_up
from scheduler.trade.cooking import Conditions
from scheduler.trade.cut_heat import CUT_HEAT
from scheduler.trade.probe_curve import come_up


def cut(**values: object) -> Cut:
    return kitchen.menu().cuts[0].model_copy(update={"name": "packer brisket", **values})


def test_an_intact_piece_is_judged_by_its_surface_and_another_by_its_centre() -> None:
    assert slow_come_up(cut(), 12, 225) is None
    why = slow_come_up(cut(intact=False), 12, 225)
    assert why is not None
    assert why.endswith("hours between 50 F and 130 F are more than 6 (FSIS-GD-2021-14 p. 24)")
    assert slow_come_up(cut(intact=False), 12, 250) is None


def test_it_is_the_late_centre_of_the_curve_without_a_wrap() -> None:
    times = come_up(CUT_HEAT["packer brisket"], Conditions(weight_lb=12, pit_f=225, wrap="none", done_f=135))
    assert times.centre.late_min > 360 >= times.centre.likely_min
    assert f"{times.centre.late_min / 60:.1f} hours" in str(slow_come_up(cut(intact=False), 12, 225))


def test_heavier_and_cooler_is_slower() -> None:
    needled = cut(intact=False)
    assert slow_come_up(needled, 9, 225) is None
    assert slow_come_up(needled, 14, 225) is not None
    assert slow_come_up(needled, 12, 100) == slow_come_up(needled, 12, 180)  # colder than the curve goes


@pytest.mark.parametrize("values", [{"name": "lamb shoulder"}, {"family": "fat"}])
def test_nothing_is_said_of_fat_and_of_cuts_that_are_not_known(values: dict[str, str]) -> None:
    assert slow_come_up(cut(intact=False, **values), 30, 180) is None


def test_sausage_is_never_intact() -> None:
    link = cut(name="sausage", family="sausage")
    assert slow_come_up(link, 0.3, 180) is None
    assert slow_come_up(link, 60, 180) == slow_come_up(link.model_copy(update={"intact": False}), 60, 180) is not None
