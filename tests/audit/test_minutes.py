"""Hand-minutes as a whole, by hand: a person gives 50 minutes an hour, 12.5 in a step of 15."""

from __future__ import annotations

import pytest
from audit_kitchen import Kitchen, kitchen, t

from scheduler.audit.minutes import SKILLS, demand
from scheduler.audit.reading import look


def _asked(changed: Kitchen, step: int) -> dict[str, float]:
    minutes = demand(look(changed.plan, changed.scenario)).by_skill[step]
    return {skill: value for skill, value in zip(SKILLS, minutes, strict=True) if value}


def test_what_is_asked_in_a_step() -> None:
    good = kitchen()
    # 1:00: 10 min to light and 5 min an hour to tend. 2:00: three briskets to load at 2.5.
    assert _asked(good, 4) == pytest.approx({"fire": 11.25})
    assert _asked(good, 8) == pytest.approx({"fire": 1.25, "pit": 7.5})
    assert _asked(good, 22) == pytest.approx({"fire": 1.25, "wrap": 7.5})
    # 7:30: 4 x 0.5 to load, 3 pulls over the 6 steps of 7:00 to 8:30, 1 over those of 7:15 to 8:45.
    assert _asked(good, 30) == pytest.approx({"fire": 1.25, "pit": 2 + 3 / 6 + 1 / 6})
    # 8:50 to 9:30 touches 4 steps from 8:45, though it is 40 minutes.
    assert _asked(good, 35) == pytest.approx({"fire": 1.25, "pit": 4 * 0.5 / 3})
    # 12:00: 15 over 12 steps, 4 over 12 steps, 5 over 2 steps, and one person at the counter.
    assert _asked(good, 48) == pytest.approx({"slice": 15 / 12 + 4 / 12 + 5 / 2, "counter": 12.5})
    assert _asked(good, 56) == {}


def test_a_load_whose_time_is_sure_is_pulled_in_one_step() -> None:
    for clock, step in (("9:00", 36), ("9:10", 36)):
        sure = kitchen().load("CH01", early_done_at=t(clock), late_done_at=t(clock))
        assert _asked(sure, step)["pit"] == pytest.approx(2.0)
        assert "pit" not in _asked(sure, step + 1)


def test_hand_minutes_forbidden() -> None:
    # 7.5 + 1.25 are asked of Ana at 2:00; 35 minutes an hour leave her 8.75, 34 only 8.5.
    found = kitchen().crew(hand_minutes_per_h=34).counter_hands(0).firebox("oak", light_min=1)
    sentences = [b.sentence for b in found.breaches() if b.code == "hand-minutes"]
    assert sentences == [
        "Sat 2:00 to 2:15 am the work of fire and pit asks for up to 0.25 hand-minutes more in a step than the people "
        "on shift can give.",
        "Sat 5:30 to 5:45 am the work of fire and wrap asks for up to 0.25 hand-minutes more in a step than the people "
        "on shift can give.",
    ]


def test_hand_minutes_say_when_and_for_what() -> None:
    found = kitchen().crew(hand_minutes_per_h=34).counter_hands(0).firebox("oak", light_min=1).breaches()
    assert [(b.at, b.loads) for b in found if b.code == "hand-minutes"] == [
        (t("2:00"), ("BR01",)),
        (t("5:30"), ("BR01",)),
    ]


def test_hand_minutes_allowed() -> None:
    assert kitchen().crew(hand_minutes_per_h=35).firebox("oak", light_min=7).codes() == set()


def test_hand_minutes_looks_at_every_set_of_skills() -> None:
    # Two people on shift, 25 minutes in a step. Fire asks 20 and only Ana has it: the sum fits, the fire does not.
    busy = kitchen().person("Ben", skills=("pit", "slice")).firebox("oak", tend_every_min=15, tend_min=13)
    found = [breach for breach in busy.breaches() if breach.code == "hand-minutes"]
    assert all("the work of fire" in breach.sentence for breach in found)
    assert found


def test_hand_minutes_asks_for_whole_steps() -> None:
    # Ana's shift starts at 1:05, in the middle of the step in which the fire is lit.
    late = kitchen().pattern("night", starts=kitchen().plan.shifts[0].starts_at.time().replace(hour=1, minute=5))
    assert (
        "hand-minutes"
        in late.shift("S1", starts_at=kitchen().plan.shifts[0].starts_at.replace(hour=1, minute=5)).codes()
    )


def test_wrap_minutes_forbidden() -> None:
    # 3 x 5.5 = 16.5 minutes on one table in a step of 15.
    assert "wrap-minutes" in kitchen().hands("brisket", wrap_min=5.5).codes()
    found = kitchen().hands("brisket", wrap_min=5.5).the("wrap-minutes")
    assert (found.loads, found.at) == (("BR01",), t("5:30"))


def test_wrap_minutes_allowed() -> None:
    assert "wrap-minutes" not in kitchen().hands("brisket", wrap_min=5).codes()
    assert "wrap-minutes" not in kitchen().hands("brisket", wrap_min=5.5).site(wrap_tables=2).codes()


def test_slice_minutes_forbidden() -> None:
    # The order's one brisket is sliced in two steps: 27 minutes are 13.5 in each, beside 3 x 27 / 12 and 4 / 12.
    found = kitchen().hands("brisket", slice_min=27)
    assert "slice-minutes" in found.codes()
    assert found.the("slice-minutes").sentence == (
        "Sat 12:00 to 12:30 pm there are up to 5.58 more minutes of work to slice in a step "
        "than fit on 1 cutting board."
    )


def test_slice_minutes_allowed() -> None:
    # 19.55 / 2 + 3 x 19.55 / 12 + 4 / 12 = 14.996.
    assert "slice-minutes" not in kitchen().hands("brisket", slice_min=19.55).codes()
    assert "slice-minutes" in kitchen().hands("brisket", slice_min=19.56).codes()
    assert "slice-minutes" not in kitchen().hands("brisket", slice_min=27).site(cutting_boards=2).codes()
