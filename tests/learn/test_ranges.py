"""Learning ranges: recovery of known ones, shrinkage, cooks cut off, odd cooks, effects of places and people."""

from __future__ import annotations

import numpy as np
import pytest
from learn_kitchen import CORNER, MENU, TRUTH, cook, drawn, side

from scheduler.learn.posterior import posterior
from scheduler.learn.ranges import learn
from scheduler.model.base import Range
from scheduler.model.menu import Learned, Menu

REPEATS = 200


@pytest.mark.parametrize("count", [20, 60, 200])
def test_known_ranges_are_recovered(count: int) -> None:
    rng = np.random.default_rng(count)
    held, own, naive = np.zeros(3), np.zeros((REPEATS, 3)), np.zeros((REPEATS, 3))
    for repeat in range(REPEATS):
        times, done = drawn(rng, count)
        found = posterior(times, done, side())
        figures = found.early, found.likely, found.late
        held += [figure.holds(true) for figure, true in zip(figures, TRUTH, strict=True)]
        own[repeat] = [figure.middle for figure in figures]
        naive[repeat] = np.percentile(times, (10, 50, 90))
    error = np.sqrt(((own - TRUTH) ** 2).mean(axis=0))
    plain = np.sqrt(((naive - TRUTH) ** 2).mean(axis=0))
    print(f"{count} cooks: held {held / REPEATS}, off by {error.round(1)} min; naive quantiles by {plain.round(1)} min")
    assert (held >= 0.9 * REPEATS).all()
    assert (error < plain).all()


def test_without_cooks_the_menu_stands() -> None:
    found = posterior(np.array([]), np.array([], dtype=np.bool_), side())
    assert [round(f.middle) for f in (found.early, found.likely, found.late)] == pytest.approx(MENU, abs=1)


def test_few_cooks_move_it_less_than_many() -> None:
    moved = []
    for count in (1, 4, 30):
        found = posterior(np.full(count, 600.0), np.ones(count, dtype=np.bool_), side())
        moved.append(found.likely.middle)
    assert MENU[1] < moved[0] < moved[1] < moved[2] < 610


def test_a_cook_that_was_cut_off_says_longer() -> None:
    times = np.array([450.0, 480.0, 500.0, 470.0, 600.0])
    ended = np.ones(5, dtype=np.bool_)
    cut = ended.copy()
    cut[4] = False
    whole, part, without = (
        posterior(times, ended, side()),
        posterior(times, cut, side()),
        posterior(times[:4], ended[:4], side()),
    )
    assert part.late.middle > whole.late.middle
    assert part.late.middle > without.late.middle
    early = posterior(np.array([450.0, 480.0, 500.0, 470.0, 100.0]), cut, side())
    assert early.likely.middle == pytest.approx(without.likely.middle, abs=2)  # a failure after 100 min says nothing


def test_a_slip_of_the_pen_is_named_and_hardly_moves_the_range() -> None:
    plain = [cook(minutes, n) for n, minutes in enumerate((430, 450, 470, 480, 500, 520, 440, 490, 510, 460, 475, 485))]
    slip = cook(2000, 40)
    [alone], [both] = learn(CORNER.menu, plain).ranges, learn(CORNER.menu, [*plain, slip]).ranges
    assert alone.odd == ()
    assert both.odd == (slip,)
    assert abs(both.found.likely_min - alone.found.likely_min) <= 10


def test_fewer_than_three_ended_cooks_change_nothing() -> None:
    cooks = [cook(700, 0), cook(720, 1), cook(800, 2, done=False)]
    [found] = learn(CORNER.menu, cooks).ranges
    assert not found.moved
    assert (found.ended, found.cut_off) == (2, 1)


def test_weights_and_racks_are_evened_out() -> None:
    # 3 % a lb and 0.8 % a degree: 13.5 lb at the reference rack takes 6 % longer, 15 F hotter 12 % shorter.
    heavy = [cook(465 * 1.06, n, weight_lb=13.5) for n in range(8)]
    hot = [cook(465 * 0.88, n, offset_f=15) for n in range(8)]
    plain = [cook(465, n) for n in range(8)]
    found = [learn(CORNER.menu, cooks).ranges[0].found for cooks in (heavy, hot, plain)]
    assert found[0] == found[1] == found[2]


def test_a_slow_smoker_is_told_and_a_single_one_is_not() -> None:
    rng = np.random.default_rng(5)
    cooks = [
        cook(465 * factor * (1 + 0.08 * rng.standard_normal()), n, smoker=name, rack="")
        for n in range(60)
        for name, factor in (("long", 1.08), ("short", 0.94))
    ]
    effects = {e.name: e.share for e in learn(CORNER.menu, cooks).effects if e.kind == "smoker"}
    assert 0.03 < effects["long"] < 0.09
    assert -0.09 < effects["short"] < -0.03
    assert learn(CORNER.menu, [c for c in cooks if c.smoker == "long"]).effects == ()


def test_learning_starts_from_what_was_before_it() -> None:
    cooks = [cook(600 + 10 * n, n) for n in range(10)]
    [first] = learn(CORNER.menu, cooks).ranges
    brisket = CORNER.menu.cut("packer brisket")
    recipe = brisket.recipe("250 paper")
    told = Learned(on=cooks[-1].at.date(), cooks=10, before=recipe.finish)
    recipes = tuple(
        r.model_copy(update={"finish": first.found, "learned": told}) if r.name == recipe.name else r
        for r in brisket.recipes
    )
    cuts = tuple(c.model_copy(update={"recipes": recipes}) if c.name == brisket.name else c for c in CORNER.menu.cuts)
    [again] = learn(Menu.model_construct(cuts=cuts), cooks).ranges
    assert again.found == first.found
    assert not again.moved
    assert again.before == Range(early_min=285, likely_min=465, late_min=645)


def test_the_order_of_cooks_does_not_matter() -> None:
    cooks = [cook(500 + 13 * (n % 7), n, smoker=("long", "short")[n % 2]) for n in range(20)]
    assert learn(CORNER.menu, cooks) == learn(CORNER.menu, cooks[::-1])
