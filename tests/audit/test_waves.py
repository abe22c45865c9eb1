"""Waves: what is asked is made or short, ready in time, held no longer than it keeps."""

from __future__ import annotations

from audit_kitchen import Kitchen, idle, kitchen, t

from scheduler.model.plan import Short


def test_unknown_wave_forbidden() -> None:
    assert kitchen().load("BR01", wave="Sun 11:00").codes() == {"unknown-wave", "wave-balance"}
    extra = Short(cut="chicken", wave="Sun 11:00", pieces=1, why="none")
    assert kitchen().with_plan(shorts=(*kitchen().plan.shorts, extra)).codes() == {"unknown-wave"}


def test_unknown_wave_allowed() -> None:
    # An order is a wave of its own cut only.
    assert kitchen().load("BR02", wave="order Oak table").codes() == set()


def _short(pieces: int) -> Kitchen:
    return kitchen().with_plan(shorts=(Short(cut="brisket", wave="Sat 11:00", pieces=pieces, why="rack"),))


def test_wave_balance_forbidden() -> None:
    assert _short(2).codes() == {"wave-balance"}
    assert kitchen().with_plan(shorts=()).codes() == {"wave-balance"}
    sentence = _short(2).the("wave-balance").sentence
    assert sentence == "brisket, Sat 11:00: 3 loaded and 2 short make 5 pieces, but the wave asks for 4."


def test_wave_balance_allowed() -> None:
    # Shorts of one wave in two lines count together.
    (one,) = kitchen().plan.shorts
    split = (
        Short(cut="chicken", wave="Sat 11:00", pieces=1, why="a"),
        Short(cut="chicken", wave="Sat 11:00", pieces=3, why="b"),
    )
    nothing = idle()
    brisket = tuple(short for short in nothing.plan.shorts if short.cut == "brisket")
    assert one.pieces == 1
    assert nothing.with_plan(shorts=(*brisket, *split)).codes() == set()


def test_wave_times_forbidden() -> None:
    assert kitchen().load("BR01", ready_by_at=t("11:15")).codes() == {"wave-times"}
    assert kitchen().load("CH01", served_until_at=t("13:45")).codes() == {"wave-times"}


def test_wave_times_allowed() -> None:
    # The same moment written with another zone's offset is the same time.
    ready = kitchen().plan.load("BR01").ready_by_at
    assert kitchen().load("BR01", ready_by_at=ready.astimezone(tz=None)).codes() == set()


def test_not_ready_forbidden() -> None:
    slow = kitchen().cut("chicken", rest_min=91)
    assert "not-ready" in slow.codes()
    assert slow.the("not-ready").sentence == (
        "Load CH01 may be done as late as 9:30 am and rests 1 h 31, so it can be ready only on Sat at 11:01 am, "
        "after its wave at 11:00 am."
    )


def test_not_ready_allowed() -> None:
    exact = kitchen().cut("chicken", rest_min=90, done_f=200).load("CH01", hold_from_at=t("10:20"))
    assert exact.codes() == set()


def test_held_too_long_forbidden() -> None:
    assert kitchen().cut("chicken", hold_max_min=299).codes() == {"held-too-long"}
    found = kitchen().cut("chicken", hold_max_min=299).the("held-too-long")
    assert found.sentence == "Load CH01 may be held from Sat 9:00 am to 2:00 pm: 5 h, and chicken keeps 4 h 59."
    assert found.at == t("13:59")


def test_held_too_long_allowed() -> None:
    assert kitchen().cut("chicken", hold_max_min=300).codes() == set()
