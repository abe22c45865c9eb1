"""The promise of a plan tried out: random done times inside the ranges, and what then happens."""

from __future__ import annotations

import numpy as np
import pytest
from audit_kitchen import Kitchen, kitchen, naive, t
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.audit.outcomes import Each, Outcome, Shape, outcome_breaches, play, sample_breaches, sampler
from scheduler.model.base import Range
from scheduler.model.plan import Setpoint
from scheduler.model.weekend import OutOfUse

EARLY = Outcome({"BR01": (420,) * 3, "BR02": (435,), "CH01": (530,) * 4})
LATE = Outcome({"BR01": (510,) * 3, "BR02": (525,), "CH01": (570,) * 4})


def _codes(changed: Kitchen, outcome: Outcome | None = None) -> set[str]:
    if outcome is None:
        found = sample_breaches(changed.plan, changed.scenario, outcomes=200)
    else:
        found = outcome_breaches(changed.plan, changed.scenario, outcome)
    return {breach.code for breach in found}


@pytest.mark.parametrize("shape", ["uniform", "triangular"])
@pytest.mark.parametrize("each", ["piece", "load"])
def test_a_thousand_outcomes_of_the_good_plan_break_nothing(shape: Shape, each: Each) -> None:
    good = kitchen()
    assert sample_breaches(good.plan, good.scenario, outcomes=1000, shape=shape, each=each) == ()


def test_a_plan_without_loads_has_nothing_to_go_wrong() -> None:
    empty = kitchen().with_plan(loads=())
    assert sample_breaches(empty.plan, empty.scenario) == ()
    assert play(empty.plan, empty.scenario, np.random.default_rng(0)) == Outcome({})


@pytest.mark.parametrize("field", ["cut", "recipe", "smoker", "finish_place"])
def test_a_load_with_an_unknown_name_is_left_out(field: str) -> None:
    odd = kitchen().load("BR01", **{field: "nowhere"})
    assert [cook.code for cook in sampler(odd.plan, odd.scenario).cooks] == ["BR02", "CH01"]
    assert sample_breaches(odd.plan, odd.scenario, outcomes=5) == ()


def test_draws_fill_the_range_and_hold_the_extremes() -> None:
    drawn = sampler(kitchen().plan, kitchen().scenario)
    rows = drawn.draw(2000, np.random.default_rng(7))
    assert rows.shape == (2000, 8)
    early, late = np.array([420] * 3 + [435] + [530] * 4), np.array([510] * 3 + [525] + [570] * 4)
    assert (rows >= early).all()
    assert (rows <= late).all()
    assert drawn.outcome(rows[0]) == EARLY
    assert drawn.outcome(rows[1]) == LATE
    # A tenth of the draws sit on each end, beside those that fall there by themselves (1 in 91 for BR01).
    assert np.mean(rows[3:, 0] == 420) == pytest.approx(0.1 + 0.8 / 91, abs=0.03)
    assert np.mean(rows[3:, 0] == 510) == pytest.approx(0.1 + 0.8 / 91, abs=0.03)
    assert drawn.outcome(rows[2]).done_min["BR01"] == (420, 510, 420)
    assert set(range(420, 511)) == set(rows[:, 0].tolist())


def test_triangular_draws_lean_to_the_likely_time() -> None:
    drawn = sampler(kitchen().plan, kitchen().scenario)
    rows = drawn.draw(4000, np.random.default_rng(7), "triangular")
    inside = rows[3:, 0][(rows[3:, 0] > 420) & (rows[3:, 0] < 510)]
    # Mean of the triangle 420, 450, 510.
    assert float(inside.mean()) == pytest.approx(460, abs=2)


@pytest.mark.parametrize("shape", ["uniform", "triangular"])
def test_a_range_without_width_gives_its_one_time(shape: Shape) -> None:
    sure = kitchen().recipe("chicken", finish=Range(early_min=90, likely_min=90, late_min=90))
    rows = sampler(sure.plan, sure.scenario).draw(50, np.random.default_rng(1), shape)
    assert set(rows[:, 4:].ravel().tolist()) == {540}


def test_pieces_of_a_load_may_be_done_together() -> None:
    found = play(kitchen().plan, kitchen().scenario, np.random.default_rng(3), each="load")
    assert all(len(set(done)) == 1 for done in found.done_min.values())


def test_the_same_seed_gives_the_same_outcome() -> None:
    one, two = (play(kitchen().plan, kitchen().scenario, np.random.default_rng(5)) for _ in range(2))
    assert one == two
    assert one != play(kitchen().plan, kitchen().scenario, np.random.default_rng(6))


def test_done_times_come_from_the_recipe_and_not_from_the_plan() -> None:
    liar = kitchen().load("CH01", late_done_at=t("8:50"))
    assert sampler(liar.plan, liar.scenario).late.tolist() == [510, 525, 570]


def _next_on_the_rack(clock: str) -> Kitchen:
    """Two more chickens on BR01's rack, beside one brisket's worth of space, while BR01 may still be there."""
    more = kitchen().plan.load("CH01").model_copy(update={"code": "CH02", "rack": "top", "finish_rack": "top"})
    changed = kitchen().recipe("chicken", low_f=225).cabinet(spaces=8)
    return changed.add_load(more.model_copy(update={"load_at": t(clock), "pieces": 4}))


def test_outcome_overfull_only_if_the_last_load_is_late() -> None:
    # From 7:40 the rack has room for 2 spaces once two of the three briskets are off.
    changed = _next_on_the_rack("7:40")
    after = {"CH02": (550,) * 4}
    assert _codes(changed, Outcome({**EARLY.done_min, **after})) == set()
    assert _codes(changed, Outcome({**LATE.done_min, **after})) == {"outcome-overfull"}
    assert "rack-overfull" in changed.codes()
    found = outcome_breaches(changed.plan, changed.scenario, Outcome({**LATE.done_min, **after}))
    assert found[0].sentence == (
        "north, rack top has to hold 5 spaces but has 4 on Sat at 7:40 am in one outcome (BR01 and CH02)."
    )


def test_outcome_overfull_while_it_smokes() -> None:
    small = kitchen().rack("north", "top", spaces=3.5)
    (found,) = sample_breaches(small.plan, small.scenario, outcomes=5)
    assert (found.code, found.at, found.loads) == ("outcome-overfull", t("2:15"), ("BR01", "BR02"))
    # BR02 leaves the rack at its wrap, 5:45, so half a chicken's space is free from then on.
    early = kitchen().recipe("chicken", low_f=225).cabinet(spaces=8)
    chicken = (
        kitchen()
        .plan.load("CH01")
        .model_copy(update={"code": "CH02", "rack": "top", "finish_rack": "top", "pieces": 2, "load_at": t("5:45")})
    )
    after = Outcome({**EARLY.done_min, "CH02": (540, 540)})
    assert _codes(early.add_load(chicken), after) == set()
    sooner = early.add_load(chicken.model_copy(update={"load_at": t("5:44")}))
    assert _codes(sooner, after) == {"outcome-overfull"}


def test_outcome_overfull_in_the_cabinet_ends_with_the_serving() -> None:
    # The order's brisket leaves the full cabinet at 12:30; chicken done at 12:20 comes then, a minute sooner too soon.
    chicken = kitchen().plan.load("CH01").model_copy(update={"code": "CH02", "pieces": 2, "load_at": t("11:00")})
    for minute, full in ((740, False), (739, True)):
        after = Outcome({**EARLY.done_min, "CH02": (minute, minute)})
        assert ("outcome-overfull" in _codes(kitchen().add_load(chicken), after)) is full


def test_outcome_overfull_in_oven_shelf_and_cabinet() -> None:
    for changed in (kitchen().oven(spaces=0.5), kitchen().cabinet(spaces=5.99), kitchen().shelf(spaces=3.5)):
        assert _codes(changed) == {"outcome-overfull"}
    # The shelf is only full if all are done within the same half hour.
    apart = Outcome({"BR01": (420, 451, 482), "BR02": (513,), "CH01": (530,) * 4})
    assert _codes(kitchen().shelf(spaces=1), apart) == set()


def test_outcome_overfull_where_a_place_is_out_of_use() -> None:
    for place in ("north", "oak", "oven", "shelf", "cabinet"):
        broken = kitchen().weekend(out_of_use=(OutOfUse(place=place, from_at=naive("6:00"), until_at=naive("9:00")),))
        assert _codes(broken) == {"outcome-overfull"}
    later = kitchen().weekend(out_of_use=(OutOfUse(place="north", from_at=naive("9:30")),))
    assert _codes(later) == set()


def test_outcome_not_ready() -> None:
    slow = kitchen().cut("chicken", rest_min=91)
    assert _codes(slow, LATE) == {"outcome-not-ready"}
    assert _codes(slow, EARLY) == set()
    assert _codes(kitchen().cut("chicken", rest_min=90), LATE) == set()


def test_outcome_held_too_long() -> None:
    tender = kitchen().cut("chicken", hold_max_min=299)
    assert _codes(tender, EARLY) == {"outcome-held-too-long"}
    assert _codes(tender, LATE) == set()


def test_outcome_fire() -> None:
    out = kitchen().fire(out_at=t("9:29"))
    assert _codes(out, LATE) == {"outcome-fire"}
    assert _codes(out, EARLY) == set()
    assert _codes(kitchen().oven(oven_f=300)) == {"outcome-fire"}
    assert _codes(kitchen().load("BR01", load_at=t("1:59"))) == {"outcome-fire"}
    assert _codes(kitchen().recipe("chicken", low_f=261)) == {"outcome-fire"}
    assert _codes(kitchen().with_plan(fires=())) == {"outcome-fire"}


def test_outcome_fire_at_the_ends_of_the_band() -> None:
    for oven_f, codes in ((275, set()), (276, {"outcome-fire"}), (225, set()), (224, {"outcome-fire"})):
        assert _codes(kitchen().oven(oven_f=oven_f)) == codes
    for low, high, codes in (
        (260, 290, set()),
        (261, 290, {"outcome-fire"}),
        (240, 260, set()),
        (240, 259, {"outcome-fire"}),
    ):
        assert _codes(kitchen().recipe("chicken", low_f=low, high_f=high)) == codes


def test_outcome_fire_during_a_change_is_at_both_setpoints() -> None:
    # The change takes half an hour; before its wrap at 5:45 BR02 takes no more than 260 F.
    for clock, codes in (("6:15", set()), ("6:14", {"outcome-fire"})):
        setpoints = (Setpoint(from_at=t("2:00"), setpoint_f=225), Setpoint(from_at=t(clock), setpoint_f=275))
        assert _codes(kitchen().fire(setpoints=setpoints)) == codes
    # The old setpoint counts until the change is over, for chicken that needs 230 F or more from 7:30.
    for clock, codes in (("7:30", set()), ("7:31", {"outcome-fire"})):
        setpoints = (Setpoint(from_at=t("2:00"), setpoint_f=225), Setpoint(from_at=t(clock), setpoint_f=250))
        assert _codes(kitchen().fire(setpoints=setpoints)) == codes


def test_outcome_nobody() -> None:
    gap = kitchen().shift("S1", ends_at=t("7:30")).shift("S2", starts_at=t("8:30"))
    assert _codes(gap) == {"outcome-nobody"}
    assert _codes(gap, EARLY) == set()
    assert _codes(kitchen().with_plan(shifts=())) == {"outcome-nobody"}
    # A shift counts up to and from its very minute.
    pair = Outcome({**EARLY.done_min, "BR01": (450, 450, 510)})
    assert _codes(gap, pair) == set()
    for minute in (451, 509):
        assert _codes(gap, Outcome({**EARLY.done_min, "BR01": (450, minute, 510)})) == {"outcome-nobody"}


PROMISED = {
    "rack-overfull",
    "oven-overfull",
    "rest-overfull",
    "hold-overfull",
    "out-of-use",
    "not-ready",
    "held-too-long",
    "done-range",
    "hold-start",
    "load-without-fire",
    "rack-temperature",
    "oven-temperature",
    "setpoint-order",
    "pull-cover",
}
"""Rules that promise something for every outcome."""


@st.composite
def changed_kitchens(draw: st.DrawFn) -> Kitchen:
    """The good kitchen with loads moved and places made smaller or larger, sometimes past what they can bear."""
    found = kitchen()
    for code in ("BR01", "BR02", "CH01"):
        found = found.retimed(code, draw(st.integers(-2, 3)) * 15)
    found = found.rack("north", "top", spaces=draw(st.sampled_from([3, 4, 5])))
    found = found.cabinet(spaces=draw(st.sampled_from([5, 6, 7]))).shelf(spaces=draw(st.sampled_from([3, 4, 5])))
    return found.fire(out_at=t(draw(st.sampled_from(["9:15", "9:30", "10:30"]))))


@settings(deadline=None, max_examples=80)
@given(changed_kitchens(), st.integers(0, 5))
def test_what_the_rules_promise_holds_in_every_outcome(changed: Kitchen, seed: int) -> None:
    found = sample_breaches(changed.plan, changed.scenario, outcomes=60, seed=seed)
    if not changed.codes() & PROMISED:
        assert found == ()
    if found:
        assert changed.codes() & PROMISED
