"""Temperature: what the fire may hold, and every moment of every load inside its band."""

from __future__ import annotations

from audit_kitchen import Kitchen, kitchen, t

from scheduler.model.plan import Setpoint


def _set(*steps: tuple[str, int]) -> Kitchen:
    return kitchen().fire(setpoints=tuple(Setpoint(from_at=t(clock), setpoint_f=f) for clock, f in steps))


def test_setpoint_unknown_forbidden() -> None:
    found = _set(("2:00", 226), ("7:30", 250))
    assert found.codes() == {"setpoint-unknown"}
    assert found.the("setpoint-unknown").sentence == (
        "oak is set to 226 F on Sat at 2:00 am; it can hold 225, 250, 275 F."
    )


def test_setpoint_unknown_allowed() -> None:
    assert _set(("2:00", 226), ("7:30", 250)).firebox("oak", setpoints_f=(226, 250)).codes() == set()
    assert _set(("2:00", 250)).codes() == set()


def test_setpoint_order_forbidden() -> None:
    assert _set(("1:59", 225), ("7:30", 250)).codes() == {"setpoint-order"}
    assert "setpoint-order" in _set(("2:00", 225), ("7:30", 250), ("7:30", 225)).codes()
    assert "setpoint-order" in _set(("2:00", 225), ("7:30", 250), ("10:00", 275)).codes()


def test_setpoint_order_allowed() -> None:
    assert _set(("2:00", 225), ("7:30", 250), ("9:59", 250)).codes() == set()


def test_rack_temperature_forbidden() -> None:
    # Chicken on the low rack, 10 F above the setpoint, needs 240 to 290 F and comes at 7:30.
    cold = _set(("2:00", 225))
    assert cold.codes() == {"rack-temperature"}
    assert cold.the("rack-temperature").sentence == (
        "Load CH01 may meet 235 F on north, rack low, Sat 7:30 to 9:30 am; it needs 240 to 290 F."
    )
    # The change to 250 F is over a minute after the chicken is on.
    assert _set(("2:00", 225), ("7:31", 250)).codes() == {"rack-temperature"}


def test_rack_temperature_counts_a_change_from_its_start() -> None:
    # Before its wrap at 5:30 or 5:45 brisket takes up to 260 F. A change to 275 F at 6:15 starts at 5:45.
    assert "rack-temperature" not in _set(("2:00", 225), ("6:15", 275)).codes()
    found = _set(("2:00", 225), ("6:14", 275)).the("rack-temperature")
    assert found.loads == ("BR02",)
    assert found.at == t("5:44")


def test_rack_temperature_allowed() -> None:
    assert _set(("2:00", 225), ("7:30", 250)).codes() == set()
    # Both ends of the band belong to it: 230 + 10 and 280 + 10 on the low rack.
    for low, high in ((260, 290), (240, 260)):
        assert kitchen().recipe("chicken", low_f=low, high_f=high).codes() == set()
    for low, high in ((261, 290), (240, 259)):
        assert kitchen().recipe("chicken", low_f=low, high_f=high).codes() == {"rack-temperature"}


def test_rack_temperature_after_the_wrap_is_of_the_finish_band() -> None:
    assert kitchen().recipe("brisket", finish_high_f=249).codes() == {"rack-temperature", "oven-temperature"}
    assert kitchen().recipe("brisket", finish_high_f=250).codes() == set()


def test_oven_temperature_forbidden() -> None:
    assert kitchen().oven(oven_f=276).codes() == {"oven-temperature"}
    assert kitchen().oven(oven_f=224).the("oven-temperature").loads == ("BR02",)


def test_oven_temperature_allowed() -> None:
    assert kitchen().oven(oven_f=275).codes() | kitchen().oven(oven_f=225).codes() == set()
