"""Cooking times: the wrap is a choice inside a window, done is a range."""

from __future__ import annotations

from audit_kitchen import Kitchen, kitchen, t


def test_wrap_kind_forbidden() -> None:
    assert kitchen().load("BR01", wrap_kind="foil").codes() == {"wrap-kind"}
    assert "wrap-kind" in kitchen().load("BR01", wrap_at=None).codes()
    assert "wrap-kind" in kitchen().load("CH01", wrap_at=t("8:00")).codes()


def test_wrap_kind_allowed() -> None:
    both = kitchen().load("BR01", wrap_kind="foil").load("BR02", wrap_kind="foil")
    assert both.recipe("brisket", wrap_kind="foil").codes() == set()


def test_wrap_window_forbidden() -> None:
    for clock, side in (("4:59", "before"), ("6:01", "after")):
        found = kitchen().load("BR01", wrap_at=t(clock)).the("wrap-window")
        assert f"{side} its window (5:00 to 6:00 am)" in found.sentence


def test_wrap_window_allowed() -> None:
    for clock in ("5:00", "6:00"):
        assert "wrap-window" not in kitchen().load("BR01", wrap_at=t(clock)).codes()


def test_wrap_window_moves_with_weight_and_rack() -> None:
    # 2 lb above the reference at 5 % a pound: 10 % longer, 180 to 240 min become 198 to 264 (5:18 to 6:24).
    heavy = kitchen().recipe("brisket", slower_pct_per_lb=5.0).weekend(weights_lb={"brisket": 14.0})
    assert "5:18 to 6:24 am" in heavy.load("BR01", wrap_at=t("5:17")).the("wrap-window").sentence
    assert "wrap-window" not in heavy.load("BR01", wrap_at=t("6:24")).codes()
    # A rack 20 F above the setpoint at 0.5 % a degree: 10 % shorter, 162 to 216 min (4:42 to 5:36).
    hot = kitchen().recipe("brisket", faster_pct_per_f=0.5).rack("north", "top", offset_f=20)
    assert "wrap-window" not in hot.load("BR01", wrap_at=t("5:36")).codes()
    assert "4:42 to 5:36 am" in hot.load("BR01", wrap_at=t("5:37")).the("wrap-window").sentence


def _claims(early: str, likely: str, late: str) -> Kitchen:
    return kitchen().load("CH01", early_done_at=t(early), likely_done_at=t(likely), late_done_at=t(late))


def test_done_range_forbidden() -> None:
    assert _claims("8:51", "9:00", "9:30").codes() == {"done-range", "hold-start"}
    assert _claims("8:50", "9:05", "9:30").codes() == {"done-range"}
    narrow = _claims("8:50", "9:00", "9:29")
    assert narrow.codes() == {"done-range"}
    assert narrow.the("done-range").sentence == (
        "Load CH01 is said to be done on Sat at 9:29 am at the late end of its range; "
        "its recipe makes it on Sat at 9:30 am."
    )


def test_done_range_allowed() -> None:
    # The rack where it finishes counts, not the one where it smokes: the oven has no offset.
    hot = kitchen().recipe("brisket", faster_pct_per_f=0.5).rack("north", "top", offset_f=10)
    late = {breach.loads for breach in hot.breaches() if breach.code == "done-range"}
    assert late == {("BR01",)}
    # 10 F at 0.5 %: 95 % of 90, 120, 180 min from 5:30 is 85 (early rounds down), 114, 171.
    told = hot.load("BR01", early_done_at=t("6:55"), likely_done_at=t("7:24"), late_done_at=t("8:21"))
    assert "done-range" not in told.codes()


def test_hold_start_forbidden() -> None:
    assert kitchen().load("CH01", hold_from_at=t("9:15")).codes() == {"hold-start"}


def test_hold_start_allowed() -> None:
    assert kitchen().cut("chicken", rest_min=25).load("CH01", hold_from_at=t("9:15")).codes() == set()
