"""Whether plans keep their promise."""

from __future__ import annotations

from statistics import NormalDist

import pytest
from learn_kitchen import CORNER, cook

from scheduler.learn.calibration import calibrate, place_in_range, planned_of, ratio_of, warnings
from scheduler.model.menu import Menu

MENU: Menu = CORNER.menu


def test_place_in_range() -> None:
    planned = (285, 465, 645)
    assert [place_in_range(m, planned) for m in (285, 465, 645, 375, 735)] == [-1, 0, 1, -0.5, 1.5]


def test_a_kept_promise_gives_no_warning() -> None:
    even = [NormalDist().inv_cdf((n + 0.5) / 80) for n in range(80)]
    cooks = [cook(465 + 180 * z / 1.2816, n) for n, z in enumerate(even)]
    whole = calibrate(MENU, cooks)[0]
    assert whole.before_early.low < 0.1 < whole.before_early.high
    assert whole.after_late.low < 0.1 < whole.after_late.high
    assert warnings(calibrate(MENU, cooks)) == ()


def test_a_broken_promise_is_told_by_cut_and_smoker() -> None:
    good = [cook(465 + 20 * (n % 5), n, smoker="short") for n in range(20)]
    bad = [cook(660 + n, n) for n in range(20)]
    found = {kept.name: kept for kept in calibrate(MENU, [*good, *bad])}
    assert found["short"].after_late.share == 0
    assert found["long"].after_late.share == 1
    assert found["all cooks"].after_late.share == 0.5
    assert any(line.startswith("Long: 100% were done after late") for line in warnings(tuple(found.values())))
    assert not any(line.startswith("Short") for line in warnings(tuple(found.values())))


def test_the_bound_itself_keeps_the_promise() -> None:
    found = calibrate(MENU, [cook(645, n) for n in range(5)] + [cook(285, n) for n in range(5)])[0]
    assert (found.before_early.share, found.after_late.share) == (0, 0)


def test_cooks_cut_off_after_late_count_as_late_and_before_count_as_far_as_they_went() -> None:
    cooks = [cook(465, n) for n in range(8)] + [cook(700, 8, done=False), cook(701, 9, done=False)]
    assert calibrate(MENU, cooks)[0].after_late.share == pytest.approx(0.2)
    soon = [cook(465, n) for n in range(8)] + [cook(100, 8, done=False), cook(100, 9, done=False)]
    assert calibrate(MENU, soon)[0].after_late.share == pytest.approx(0)


def test_the_plan_counts_before_the_menu() -> None:
    assert planned_of(MENU, cook(400, planned=(1, 2, 3))) == (1, 2, 3)
    assert planned_of(MENU, cook(400)) == (285, 465, 645)


def test_minutes_of_hands_against_plan() -> None:
    found = ratio_of("wrap", [11, 12, 13, 12], [10, 10, 10, 10])
    assert found is not None
    assert found.off
    assert found.ratio == pytest.approx((11 * 12 * 13 * 12) ** 0.25 / 10)
    assert ratio_of("wrap", [11], [10]) is None
