"""Cooks, minutes and wood out of the log of a weekend."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from audit_kitchen import kitchen, t

from scheduler.learn.from_log import cooks_of
from scheduler.learn.usage import hands_rows, wood_rows
from scheduler.model import log as entry
from scheduler.model.log import Log

KITCHEN = kitchen()
PLAN, SCENARIO = KITCHEN.plan, KITCHEN.scenario
BRISKET = PLAN.load("BR01")


def _cooks(*events: entry.AnyEvent) -> dict[str, tuple[float, bool]]:
    found = cooks_of(PLAN, SCENARIO, Log(events))
    return {cook.said.rsplit(" ", 1)[1]: (cook.minutes, cook.done) for cook in found}


def test_a_plan_is_no_witness_for_itself() -> None:
    assert _cooks() == {}


def test_done_counts_from_the_wrap_as_written_down() -> None:
    assert BRISKET.wrap_at is not None
    wrap = BRISKET.wrap_at + timedelta(minutes=7)
    done = entry.Done(at=wrap + timedelta(minutes=101), load="BR01", by="Ana")
    assert _cooks(entry.Wrapped(at=wrap, load="BR01"), done) == {"BR01": (101, True)}
    assert _cooks(done) == {"BR01": (108, True)}
    [cook] = cooks_of(PLAN, SCENARIO, Log((done,)))
    assert (cook.by, cook.smoker) == ("Ana", BRISKET.finish_place)


def test_a_cook_over_the_hour_that_comes_twice_is_as_long_as_it_took() -> None:
    wrap, done = (
        datetime(2026, 11, 1, 1, m, tzinfo=ZoneInfo("America/Chicago"), fold=f) for m, f in ((45, 0), (15, 1))
    )
    assert _cooks(entry.Wrapped(at=wrap, load="BR01"), entry.Done(at=done, load="BR01")) == {"BR01": (30, True)}


def test_a_failure_cuts_it_off_even_if_it_was_done_elsewhere_later() -> None:
    assert BRISKET.wrap_at is not None
    fails = BRISKET.wrap_at + timedelta(minutes=60)
    down = entry.Down(at=fails, place=BRISKET.finish_place)
    done = entry.Done(at=fails + timedelta(hours=5), load="BR01")
    assert _cooks(down, done)["BR01"] == (60, False)


def test_pieces_thrown_away_end_a_cook_only_when_none_is_left() -> None:
    assert BRISKET.wrap_at is not None
    at = BRISKET.wrap_at + timedelta(minutes=30)
    gone = entry.Discarded(at=at, load="BR01", pieces=BRISKET.pieces)
    assert _cooks(gone) == {"BR01": (30, False)}


def test_hands_and_wood_against_plan() -> None:
    worked = entry.Worked(at=t("6:00"), person="Ana", task="wrap", minutes=9, cut="brisket", pieces=2)
    cut = SCENARIO.menu.cut("brisket")
    rows = list(hands_rows(SCENARIO, Log((worked,))))
    assert rows == [("wrap brisket", 9, 2 * cut.hands.wrap_min), ("wrap, Ana", 9, 2 * cut.hands.wrap_min)]
    fire = PLAN.fires[0]
    rate = SCENARIO.site.firebox(fire.firebox).wood_lb_per_h
    left = [entry.WoodLeft(at=fire.ready_at + timedelta(hours=h), lb=lb) for h, lb in ((0, 500), (1, 480), (2, 900))]
    rows = list(wood_rows(PLAN, SCENARIO, Log(tuple(left))))
    assert [(name, used) for name, used, _ in rows] == [("wood", 20)]
    assert rows[0][2] >= rate
