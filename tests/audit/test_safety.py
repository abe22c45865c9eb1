"""Food safety, with the published figure beside each case."""

from __future__ import annotations

from datetime import timedelta

import pytest
from audit_kitchen import Kitchen, kitchen, t

from scheduler.audit.safety import LEAST_DONE_F
from scheduler.model.plan import Setpoint


@pytest.mark.parametrize(
    ("family", "least"),
    [
        ("poultry", 165),  # FDA Food Code 3-401.11(A)(3)
        ("sausage", 155),  # FDA Food Code 3-401.11(A)(2), 17 seconds
        ("beef", 145),  # FDA Food Code 3-401.11(A)(1), 15 seconds
        ("pork", 145),
        ("fat", 170),  # 9 CFR 315.1, 30 minutes
    ],
)
def test_done_temperature_forbidden(family: str, least: int) -> None:
    cold = kitchen().cut("chicken", family=family, done_f=least - 1)
    assert cold.codes() == {"done-temperature"}
    assert cold.the("done-temperature").loads == ("CH01",)
    assert kitchen().cut("chicken", family=family, done_f=least).codes() == set()


def test_done_temperature_allowed() -> None:
    assert kitchen().cut("chicken", done_f=165).codes() == set()
    assert set(LEAST_DONE_F) == {"beef", "pork", "poultry", "sausage", "fat"}


def _fat(early: int) -> Kitchen:
    """The chicken is a pan of fat that may be done after so many minutes."""
    range_ = kitchen().scenario.menu.cut("chicken").recipes[0].finish.model_copy(update={"early_min": early})
    return kitchen().cut("chicken", family="fat", done_f=200, hold_max_min=600).recipe("chicken", finish=range_)


def test_tallow_time_forbidden() -> None:
    # 9 CFR 315.1: 170 F for 30 minutes.
    quick = _fat(29).load("CH01", early_done_at=t("7:59"), hold_from_at=t("8:09"))
    assert "tallow-time" in quick.codes()


def test_tallow_time_allowed() -> None:
    assert "tallow-time" not in _fat(30).load("CH01", early_done_at=t("8:00"), hold_from_at=t("8:10")).codes()
    meat = kitchen().load("CH01", early_done_at=t("7:59"))
    assert "tallow-time" not in meat.codes()


def _needled(setpoint: int, **cut: object) -> Kitchen:
    """The briskets were needled, and their fire is held at one setpoint."""
    fire = kitchen().fire(setpoints=(Setpoint(from_at=t("2:00"), setpoint_f=setpoint),))
    return fire.cut("brisket", **({"imps": "120", "intact": False} | cut))


def test_come_up_forbidden() -> None:
    # FSIS-GD-2021-14 p. 24: 6 hours from 50 F to 130 F; the centre of a packer brisket takes longer at 225 F.
    slow = _needled(225)
    assert slow.codes() == {"come-up", "rack-temperature"}  # the chicken wants a hotter fire
    first, second = (breach for breach in slow.breaches() if breach.code == "come-up")
    assert (first.loads, first.at) == (("BR01",), t("2:00"))
    assert (second.loads, second.at) == (("BR02",), t("2:15"))
    assert first.sentence == (
        "Load BR01 may come up too slowly at 225 F: 6.5 hours between 50 F and 130 F are more than 6 "
        "(FSIS-GD-2021-14 p. 24)."
    )


def test_come_up_allowed() -> None:
    assert "come-up" not in _needled(225, intact=True).codes()  # judged by its surface
    assert _needled(250).codes() == set()
    assert "come-up" not in _needled(225, imps="").codes()  # nothing is known of a cut of that name


def test_meat_that_is_not_intact_is_cooked_like_sausage() -> None:
    # FDA Food Code 3-401.11(A)(2): 155 F for 17 seconds, injected and mechanically tenderized meat.
    assert kitchen().cut("chicken", family="pork", intact=False, done_f=154).codes() == {"done-temperature"}
    assert kitchen().cut("chicken", family="pork", intact=False, done_f=155).codes() == set()
    assert kitchen().cut("chicken", family="pork", done_f=154).codes() == set()
    assert kitchen().cut("chicken", family="poultry", intact=False, done_f=164).codes() == {"done-temperature"}


def test_hold_too_cold_forbidden() -> None:
    # FDA Food Code 3-501.16(A)(1): 135 F.
    cold = kitchen().cabinet(hold_f=134).cut("brisket", hold_low_f=130).cut("chicken", hold_low_f=130)
    assert cold.codes() == {"hold-too-cold"}
    assert cold.breaches()[0].sentence == (
        "Load BR01 is held in cabinet at 134 F; cooked meat is held at 135 F or above (FDA Food Code 3-501.16(A)(1))."
    )


def test_hold_too_cold_allowed() -> None:
    assert kitchen().cabinet(hold_f=135).codes() == set()


def test_hold_temperature_forbidden() -> None:
    assert kitchen().cabinet(hold_f=181).codes() == {"hold-temperature"}
    low = kitchen().cut("chicken", hold_low_f=151)
    assert low.codes() == {"hold-temperature"}
    assert (
        low.the("hold-temperature").sentence == "Load CH01 is held in cabinet at 150 F; chicken keeps at 151 to 180 F."
    )


def test_hold_temperature_allowed() -> None:
    assert kitchen().cabinet(hold_f=180).codes() == set()
    assert kitchen().cut("chicken", hold_low_f=150, hold_high_f=150).codes() == set()


def _resting(minutes: int) -> Kitchen:
    hold_from = t("8:50") + timedelta(minutes=minutes)
    return kitchen().cut("chicken", rest_min=minutes).load("CH01", hold_from_at=hold_from)


def test_rest_too_cold_forbidden() -> None:
    # Newton: 165 F, bare in a room of 70 F, 0.45 an hour: 135 F after ln(95 / 65) / 0.45 = 0.843 h, 50 min.
    assert _resting(51).codes() == {"rest-too-cold"}
    found = _resting(51).the("rest-too-cold")
    assert found.at == t("9:40")
    assert found.sentence == (
        "Load CH01 rests 51 min bare at room temperature; it may be below 135 F after 50 min "
        "(FDA Food Code 3-501.16(A)(1))."
    )


def test_rest_too_cold_allowed() -> None:
    assert _resting(50).codes() == set()
    # In its wrap a brisket of 203 F takes ln(133 / 65) / 0.25 = 2.864 h, 171 min.
    for minutes, cold in ((171, False), (172, True)):
        assert ("rest-too-cold" in kitchen().cut("brisket", rest_min=minutes).codes()) is cold
    assert "rest-too-cold" not in _resting(51).cut("chicken", family="fat", done_f=170).codes()


def _warm(until: str) -> Kitchen:
    """Chicken that goes from the rest to the block without a cabinet; it may be done at 8:50 am."""
    (brisket, chicken) = kitchen().scenario.weekend.waves
    waves = (brisket, chicken.model_copy(update={"until": t(until).replace(tzinfo=None)}))
    return (
        kitchen()
        .cut("chicken", hold_spaces=0)
        .weekend(waves=waves)
        .load("CH01", hold_place=None, served_until_at=t(until))
    )


def test_time_control_forbidden() -> None:
    # FDA Food Code 3-501.19(B): 4 hours without temperature control.
    assert _warm("12:51").codes() == {"time-control"}
    assert _warm("12:51").the("time-control").sentence == (
        "Load CH01 is not held hot and may stand for 4 h 01 until the end of its serving on Sat at 12:51 pm; "
        "4 h is the most (FDA Food Code 3-501.19(B))."
    )


def test_time_control_is_broken_four_hours_after_the_early_pull() -> None:
    assert _warm("13:30").the("time-control").at == t("12:50")


def test_time_control_allowed() -> None:
    assert _warm("12:50").codes() == set()
    assert _warm("12:51").cut("chicken", family="fat", done_f=170).codes() == set()
