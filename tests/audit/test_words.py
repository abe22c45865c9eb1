"""Times as the pitmaster says them."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from scheduler.audit.words import Words, codes_text, counted, dollars, joined, number, spaces_text
from scheduler.model.clock import Clock

ZONE = ZoneInfo("America/Chicago")
TWELVE = Words(Clock(datetime(2026, 4, 18, tzinfo=ZONE)), True)
FULL = Words(TWELVE.clock, False)
AUTUMN = Words(Clock(datetime(2026, 11, 1, tzinfo=ZONE)), True)


def test_times() -> None:
    assert (TWELVE.time(0), TWELVE.time(340), TWELVE.time(720), TWELVE.time(1439)) == (
        "12:00 am",
        "5:40 am",
        "12:00 pm",
        "11:59 pm",
    )
    assert (FULL.time(0), FULL.time(340), FULL.time(1439)) == ("00:00", "05:40", "23:59")
    assert TWELVE.at(-60) == "on Fri at 11:00 pm"


def test_spans() -> None:
    assert TWELVE.span(225, 315) == "3:45 to 5:15 am"
    assert TWELVE.span(690, 780) == "11:30 am to 1:00 pm"
    assert TWELVE.span(1320, 1560) == "Sat 10:00 pm to Sun 2:00 am"
    assert TWELVE.day_span(225, 315) == "Sat 3:45 to 5:15 am"
    assert TWELVE.day_span(1320, 1560) == "Sat 10:00 pm to Sun 2:00 am"
    assert FULL.span(225, 315) == "03:45 to 05:15"


def test_an_hour_that_comes_twice_is_told_apart() -> None:
    # November 1, 2026: 90 minutes after midnight is 1:30 am, and so is 150 minutes after.
    assert (AUTUMN.time(90), AUTUMN.time(150), AUTUMN.time(210)) == ("1:30 am CDT", "1:30 am CST", "2:30 am")
    assert AUTUMN.span(90, 150) == "1:30 am CDT to 1:30 am CST"


def test_lists_and_numbers() -> None:
    assert joined([]) == ""
    assert joined(["a"]) == "a"
    assert joined(["a", "b", "c"]) == "a, b and c"
    assert codes_text(f"BR{i:02d}" for i in range(8)) == "BR00, BR01, BR02, BR03, BR04, BR05 and 2 more"
    assert (counted(1, "fire"), counted(2, "fire"), counted(0, "person", "people")) == ("1 fire", "2 fires", "0 people")
    assert (number(1.25), number(1.0), number(1.256)) == ("1.25", "1", "1.26")
    assert (spaces_text(250), spaces_text(400)) == ("2.5", "4")
    assert (dollars(123_456), dollars(5), dollars(-150)) == ("$1,234.56", "$0.05", "-$1.50")
