"""Words for people: each helper on the cases that a crew would trip over."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from markupsafe import Markup

from scheduler.report import words

CHICAGO = ZoneInfo("America/Chicago")


def _at(hour: int, minute: int = 0, day: int = 13) -> datetime:
    return datetime(2026, 6, day, hour, minute, tzinfo=CHICAGO)


@pytest.mark.parametrize(
    ("hour", "minute", "twelve", "twenty_four"),
    [
        (21, 45, "9:45 pm", "21:45"),
        (11, 0, "11 am", "11:00"),
        (0, 0, "midnight", "00:00"),
        (12, 0, "noon", "12:00"),
        (0, 5, "12:05 am", "00:05"),
        (12, 30, "12:30 pm", "12:30"),
    ],
)
def test_clock(hour: int, minute: int, twelve: str, twenty_four: str) -> None:
    assert words.clock_text(_at(hour, minute), "12h") == twelve
    assert words.clock_text(_at(hour, minute), "24h") == twenty_four


def test_an_hour_that_comes_twice_carries_its_zone() -> None:
    # United States, November 1, 2026: 2 am CDT becomes 1 am CST.
    first = datetime(2026, 11, 1, 6, 30, tzinfo=UTC).astimezone(CHICAGO)
    second = datetime(2026, 11, 1, 7, 30, tzinfo=UTC).astimezone(CHICAGO)
    assert words.clock_text(first, "12h") == "1:30 am CDT"
    assert words.clock_text(second, "12h") == "1:30 am CST"
    assert words.clock_text(second + timedelta(hours=1), "24h") == "02:30"
    assert words.span_text(first, second, "12h") == "1:30 am CDT to 1:30 am CST"


def test_midnight_names_both_days() -> None:
    assert words.moment_text(_at(0), "12h") == "midnight Fri to Sat"
    assert words.moment_text(_at(0), "24h") == "Sat 00:00"
    assert words.moment_text(_at(9, 45), "12h") == "Sat 9:45 am"


@pytest.mark.parametrize(
    ("start", "end", "text"),
    [
        (_at(3, 45), _at(5, 15), "3:45 to 5:15 am"),
        (_at(11), _at(14), "11 am to 2 pm"),
        (_at(22), _at(6, day=14), "10 pm to 6 am"),
        (_at(10), _at(12), "10 am to noon"),
        (_at(9), _at(9), "9 am"),
        (_at(9), _at(10, day=14), "9 am to 10 am"),
    ],
)
def test_spans(start: datetime, end: datetime, text: str) -> None:
    assert words.span_text(start, end, "12h") == text


def test_spans_over_days() -> None:
    assert words.day_span_text(_at(22), _at(6, day=14), "12h") == "Sat 10 pm to Sun 6 am"
    assert words.day_span_text(_at(11), _at(14), "12h") == "Sat 11 am to 2 pm"
    assert words.day_span_text(_at(0), _at(5), "12h") == "Sat 12 to 5 am"
    assert words.day_span_text(_at(0), _at(19), "12h") == "Sat 12 am to 7 pm"
    assert words.day_span_text(_at(0), _at(19), "24h") == "Sat 00:00 to 19:00"
    assert words.day_span_text(_at(22), _at(0, day=14), "12h") == "Sat 10 pm to midnight"
    assert words.day_span_text(_at(22), _at(0, day=15), "12h") == "Sat 10 pm to midnight Sun to Mon"
    assert words.day_text(_at(3, day=1)) == "Monday, June 1"


def test_waves() -> None:
    assert words.wave_text("Sat 11:00", "12h") == "Sat 11 am"
    assert words.wave_text("Sat 11:00", "24h") == "Sat 11:00"
    assert words.wave_text("order Oak table", "12h") == "order Oak table"


@pytest.mark.parametrize(
    ("pieces", "cut", "text"),
    [
        (1, "packer-brisket", "1 packer brisket"),
        (6, "packer-brisket", "6 packer briskets"),
        (1, "spare-ribs", "1 slab of spare ribs"),
        (4, "beef_plate_ribs", "4 slabs of beef plate ribs"),
        (2, "turkey breast", "2 turkey breasts"),
        (12, "half chicken", "12 half chickens"),
        (1200, "sausage", "1,200 sausages"),
        (2, "fat trim pan", "2 fat trim pans"),
        (2, "tallow", "2 pans of tallow"),
        (3, "turkey", "3 turkeys"),
        (3, "pastry", "3 pastries"),
        (2, "lamb-leg of spring", "2 lamb legs of spring"),
        (2, "meat loaf", "2 meat loafs"),
    ],
)
def test_cuts(pieces: int, cut: str, text: str) -> None:
    assert words.pieces_text(pieces, cut) == text


def test_counts() -> None:
    assert words.count_text(1, "person") == "1 person"
    assert words.count_text(3, "person") == "3 people"
    assert words.count_text(2, "half") == "2 halves"


@pytest.mark.parametrize(("cents", "text"), [(0, "$0.00"), (5, "$0.05"), (123450, "$1,234.50"), (-500, "-$5.00")])
def test_money(cents: int, text: str) -> None:
    assert words.money_text(cents) == text


def test_shares_and_numbers() -> None:
    assert words.percent_text(0.0341) == "3.4%"
    assert words.percent_text(0.0) == "0.0%"
    assert words.percent_text(0.0004) == "less than 0.1%"
    assert [words.number_text(x) for x in (6, 2.5, 0.25, 100.0, 0.1 + 0.2)] == ["6", "2.5", "0.25", "100", "0.3"]


def test_places() -> None:
    assert words.kind_of_place("north", "smoker") == "north smoker"
    assert words.kind_of_place("North Smoker", "smoker") == "North Smoker"
    assert [words.rack_text(x) for x in ("2", "top", "Rack A", "hot end")] == [
        "rack 2",
        "top rack",
        "Rack A",
        "hot end rack",
    ]
    assert words.shift_text("night") == "night shift"
    assert words.shift_title_text(_at(8), "night") == "Sat night shift"
    assert words.shift_title_text(_at(8), "saturday prep") == "Sat prep shift"
    assert words.shift_title_text(_at(8), "Sat shift") == "Sat shift"
    assert words.shift_title_text(_at(8), "saturday") == "Sat shift"
    assert words.shift_title_text(_at(8), "sunday prep") == "Sat sunday prep shift"


def test_prose() -> None:
    assert words.list_text([]) == ""
    assert words.list_text(["a"]) == "a"
    assert words.list_text(["a", "b", "c"]) == "a, b and c"
    assert words.sentence(" the shelf is full") == "The shelf is full."
    assert words.sentence("Why?") == "Why?"
    assert words.sentence("") == ""
    assert words.degrees_text("at 135 F, not 5 Fires") == "at 135 °F, not 5 Fires"
    assert [words.slicing_text(x) for x in ("pork butt", "spare-ribs", "half chicken", "sausage")] == [
        "shred",
        "cut up",
        "cut up",
        "slice",
    ]


def test_no_line_breaks_between_a_figure_and_its_unit() -> None:
    told = words.tight("Sat 2 pm, 203 °F, 1 h 30 or 15 min, 6 packer briskets at 24 hams")
    assert told == "Sat 2\xa0pm, 203\xa0°F, 1\xa0h\xa030 or 15\xa0min, 6 packer briskets at 24 hams"
    assert words.tight(5) == 5
    assert isinstance(words.tight(Markup("2 pm")), Markup)


def test_whole_dollars() -> None:
    assert [words.whole_dollars(cents) for cents in (0, 49, 123_450, -5_051)] == ["$0", "$0", "$1,234", "-$51"]


def test_the_clock_without_am_and_pm() -> None:
    assert [words.bare_clock(_at(hour), "12h") for hour in (0, 3, 12, 21)] == ["12:00", "3:00", "12:00", "9:00"]
    assert words.bare_clock(_at(21, 5), "24h") == "21:05"
    again = datetime(2026, 11, 1, 1, 30, tzinfo=CHICAGO, fold=1)
    assert words.bare_clock(again, "12h") == "1:30 am CST"


def test_dollars_to_be_said_aloud_have_two_figures() -> None:
    said = [words.about_dollars(cents) for cents in (0, 9_900, 12_340, 217_612, -609_800, 99_960)]
    assert said == ["$0", "$99", "about $120", "about $2,200", "about -$6,100", "about $1,000"]


def test_codes_have_the_letters_of_a_cut_once() -> None:
    assert words.codes_text(["BR01", "BR03", "PB02"]) == "BR01, 03; PB02"
    assert words.codes_text(["FT01"]) == "FT01"
    assert words.codes_text([]) == ""


def test_guests_ask_for_ribs_not_for_slabs() -> None:
    assert words.on_the_board("spare-ribs") == "spare ribs"
    assert words.on_the_board("half chicken") == "half chickens"
