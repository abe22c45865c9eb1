"""Space, in exact minutes and hundredths of a space."""

from __future__ import annotations

from datetime import datetime

from audit_kitchen import Kitchen, kitchen, naive, t

from scheduler.model.weekend import OutOfUse


def test_finish_place_forbidden() -> None:
    assert "finish-place" in kitchen().load("CH01", finish_rack="top").codes()
    assert kitchen().load("BR02", finish_rack="top").codes() == {"finish-place"}


def test_finish_place_allowed() -> None:
    # A wrapped load may go to another rack of the same smoker at its wrap.
    roomy = kitchen().rack("north", "low", spaces=9, offset_f=0, fits=())
    assert roomy.load("BR01", finish_rack="low").recipe("chicken", low_f=225).codes() == set()


def test_oven_refused_forbidden() -> None:
    assert kitchen().recipe("brisket", oven_ok=False).codes() == {"oven-refused"}
    chicken = kitchen().load("CH01", finish_place="oven", finish_rack=None)
    assert {"oven-refused", "finish-place"} <= chicken.codes()


def test_oven_refused_allowed() -> None:
    assert kitchen().recipe("brisket", oven_ok=True).codes() == set()


def test_rack_fit_forbidden() -> None:
    assert kitchen().rack("north", "top", fits=("chicken",)).codes() == {"rack-fit"}
    assert kitchen().rack("north", "low", fits=("brisket",)).the("rack-fit").sentence == (
        "Load CH01: chicken does not fit on north, rack low."
    )


def test_rack_fit_allowed() -> None:
    assert kitchen().rack("north", "top", fits=("chicken", "brisket")).codes() == set()
    assert kitchen().rack("north", "low", fits=()).codes() == set()


def test_rest_place_forbidden() -> None:
    assert kitchen().load("BR01", rest_place=None).codes() == {"rest-place"}
    assert kitchen().load("CH01", rest_place="shelf").codes() == {"rest-place"}


def test_rest_place_allowed() -> None:
    assert (
        kitchen().cut("brisket", rest_spaces=0).load("BR01", rest_place=None).load("BR02", rest_place=None).codes()
        == set()
    )


def test_hold_place_forbidden() -> None:
    assert kitchen().load("BR01", hold_place=None).codes() == {"hold-place"}
    assert "hold-place" in kitchen().cut("chicken", hold_spaces=0).codes()


def test_hold_place_allowed() -> None:
    short = kitchen().cut("chicken", hold_spaces=0, hold_max_min=240).load("CH01", hold_place=None)
    assert "hold-place" not in short.codes()


def test_rack_overfull_forbidden() -> None:
    found = kitchen().rack("north", "top", spaces=3.99).the("rack-overfull")
    assert found.loads == ("BR01", "BR02")
    assert found.at == t("2:15")
    assert found.sentence == (
        "north, rack top may have to hold 4 spaces but has 3.99, Sat 2:15 to 5:45 am (BR01 and BR02)."
    )
    assert kitchen().rack("north", "top", spaces=3.99).codes() == {"rack-overfull"}


def test_rack_overfull_allowed() -> None:
    # Exactly full, in hundredths: ten pieces of 0.1 are one space, though floats say 0.9999.
    small = kitchen().cut("chicken", spaces=0.1).rack("north", "low", spaces=0.4)
    assert small.codes() == set()


def test_rack_overfull_one_leaves_as_the_other_comes() -> None:
    # BR02 leaves the rack for the oven at 5:45; what is loaded then has room, a minute sooner has not.
    more = (
        kitchen()
        .plan.load("CH01")
        .model_copy(update={"code": "CH02", "pieces": 2, "rack": "top", "finish_rack": "top"})
    )
    for clock, full in (("5:45", False), ("5:44", True)):
        assert ("rack-overfull" in kitchen().add_load(more.model_copy(update={"load_at": t(clock)})).codes()) is full


def test_oven_overfull_forbidden() -> None:
    assert kitchen().oven(spaces=0.99).codes() == {"oven-overfull"}
    both = kitchen().load("BR01", finish_place="oven", finish_rack=None).the("oven-overfull")
    assert both.sentence == "oven may have to hold 4 spaces but has 1, Sat 5:30 to 8:30 am (BR01 and BR02)."


def test_oven_overfull_allowed() -> None:
    assert kitchen().oven(spaces=4).load("BR01", finish_place="oven", finish_rack=None).codes() == set()


def test_rest_overfull_forbidden() -> None:
    found = kitchen().shelf(spaces=3).the("rest-overfull")
    # From the early pull of the second to the late pull plus rest of the first.
    assert "Sat 7:15 to 9:00 am" in found.sentence
    assert kitchen().shelf(spaces=3).codes() == {"rest-overfull"}


def test_rest_overfull_allowed() -> None:
    assert kitchen().shelf(spaces=4).codes() == set()


def test_hold_overfull_forbidden() -> None:
    found = kitchen().cabinet(spaces=5.5).the("hold-overfull")
    # All three until the order is handed over.
    assert "Sat 9:00 am to 12:30 pm" in found.sentence
    assert found.loads == ("BR01", "BR02", "CH01")
    assert kitchen().cabinet(spaces=5.5).codes() == {"hold-overfull"}


def test_hold_overfull_allowed() -> None:
    assert kitchen().cabinet(spaces=6).codes() == set()


def _time(clock: str | None) -> datetime | None:
    return None if clock is None else naive(clock)


def _broken(place: str, start: str | None, end: str | None) -> Kitchen:
    return kitchen().weekend(out_of_use=(OutOfUse(place=place, from_at=_time(start), until_at=_time(end)),))


def test_out_of_use_forbidden() -> None:
    for place in ("north", "oak", "oven", "shelf", "cabinet"):
        assert _broken(place, None, None).codes() == {"out-of-use"}
    assert _broken("oak", "9:59", None).codes() == {"out-of-use"}
    assert _broken("cabinet", None, "7:31").the("out-of-use").sentence == (
        "Load BR01 needs cabinet Sat 7:30 am to 2:00 pm, but it is out of use then."
    )


def test_out_of_use_allowed() -> None:
    assert _broken("oak", "10:00", None).codes() == set()
    assert _broken("cabinet", None, "7:30").codes() == set()
    assert _broken("south", None, None).codes() == set()
    # The shelf is taken until the late pull plus rest of BR02, 8:45 + 30 min.
    assert _broken("shelf", "9:15", None).codes() == set()
    assert _broken("shelf", "9:14", None).codes() == {"out-of-use"}
    # A broken smoker does not put out the fire that also heats others.
    assert _broken("north", "9:30", None).codes() == set()
