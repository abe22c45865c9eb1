"""The opening sheet: what is said of shorts, of the bound, of the range and of the clock change."""

from __future__ import annotations

from datetime import datetime

import pytest
import report_kitchen as kitchen

from scheduler.model.plan import Certificate
from scheduler.report.desk import Desk
from scheduler.report.opening import gap_words, opening, range_words
from scheduler.trade.cautions import TOPICS


def _desk(start: datetime = kitchen.SATURDAY) -> Desk:
    scenario = kitchen.scenario(start)
    return Desk(kitchen.plan(scenario), scenario)


def _certificate(**changes: object) -> Certificate:
    given = {"bound_cents": 90_00, "gap": 0.1, "grid_min": 15, "seconds": 1, "stopped_by": "time", "seed": 0}
    return Certificate(**(given | changes))


def test_waves_by_day_and_time_with_their_loads() -> None:
    days = opening(_desk()).days
    assert [(day.title, day.hours, len(day.lines)) for day in days] == [
        ("Saturday, June 13", "Open 11 am to 5 pm", 8),
        ("Sunday, June 14", "Open 11 am to 4 pm", 4),
    ]
    first, second = days[0].lines[:2]
    assert (first.when, first.pieces, first.what, first.until, first.loads) == (
        "11 am",
        8,
        "packer briskets",
        "2 pm",
        ("BR01", "BR02"),
    )
    assert second.when == ""
    order = next(line for day in days for line in day.lines if line.order)
    assert (order.when, order.order, order.pieces, order.until) == ("1 pm", "Blue porch", 2, "1:30 pm")


def test_shorts_say_why_and_what_would_help_most_first() -> None:
    page = opening(_desk())
    assert [(s.what, s.wave, s.why) for s in page.shorts] == [
        ("1 slab of spare ribs", "Sun 11 am", "The rest shelf is full from 9 to 11 am.")
    ]
    line = next(line for day in page.days for line in day.lines if line.short)
    assert (line.what, line.pieces, line.asked, line.short) == ("slabs of spare ribs", 7, 8, 1)
    assert page.reliefs == (
        "One more rest shelf of 6 spaces (rest space): 1 piece fewer short, $90.00 better.",
        "One more person with pit skill on Sunday morning (hands): 1 piece fewer short, $21.50 better.",
    )


def test_money_adds_up_and_is_in_words() -> None:
    page = opening(_desk())
    assert [(line.name, line.amount) for line in page.money] == [
        ("Margin lost on shorts", "$70.00"),
        ("Wages", "$1,963.50"),
        ("Wood", "$281.10"),
        ("Quality lost by long holding", "$12.40"),
        ("Moves at the wrap", "$1.20"),
    ]
    assert page.total == "$2,328.20"
    assert page.money[1].note == "93.5 hours on 11 shifts"
    assert page.money[4].note == "8 pieces"


def test_the_gap_in_words() -> None:
    assert gap_words(_certificate(), 100_00) == (
        "No plan on this 15-minute grid can cost less than $90.00; this one costs $100.00. "
        "So at most $10.00 (10.0%) could still be saved."
    )
    assert "the least there is" in gap_words(_certificate(gap=0.0, bound_cents=100_00), 100_00)
    assert "No bound was found" in gap_words(_certificate(gap=None, bound_cents=None), 100_00)
    assert "rule of thumb" in gap_words(_certificate(stopped_by="rule of thumb"), 100_00)


@pytest.mark.parametrize(("loads", "words"), [(19, "about 2 of the 19 loads"), (3, "1 load in 10")])
def test_the_range_promises_eight_in_ten_and_says_who_will_be_late(loads: int, words: str) -> None:
    desk = _desk()
    said = " ".join(range_words(desk.plan.model_copy(update={"loads": desk.plan.loads[:loads]})))
    assert "of ten loads, about eight finish between them, one before early and one after late" in said
    assert words in said


def test_all_cautions_are_there_with_whom_they_defer_to() -> None:
    groups = opening(_desk()).cautions
    assert [group.topic for group in groups] == list(TOPICS)
    assert all(group.sentences and group.defer for group in groups)
    assert "135 °F" in groups[0].sentences[1]


def test_invented_data_is_marked() -> None:
    assert opening(_desk()).invented


def test_the_autumn_clock_change_is_told() -> None:
    # November 1, 2026 is the first Sunday of November, when the United States go back to standard time.
    page = opening(_desk(datetime(2026, 10, 31)))
    assert page.clock_change.startswith("The clocks go back on Sunday, November 1; it is 1 am CST then.")
    assert opening(_desk()).clock_change == ""


def test_the_spring_clock_change_is_told() -> None:
    # March 8, 2026 is the second Sunday of March.
    page = opening(_desk(datetime(2026, 3, 7)))
    assert page.clock_change.startswith("The clocks go forward on Sunday, March 8; it is 3 am then.")
