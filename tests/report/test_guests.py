"""What guests are told of a changed plan: which cut, until when, in few words; the crew gets it in pieces."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from reshuffle_kitchen import at, corner

from scheduler.model.weekend import Order, Wave, wave_name
from scheduler.report.desk import Desk
from scheduler.report.guests import FEW_SHARE, NOTICED, QUARTER_MIN, Guests
from scheduler.reshuffle.changed import WaveChange

BUTT, RIBS = "pork-butt", "spare-ribs"
Served = tuple[str, str, int, int, int, int]
"""A wave of Saturday: cut, hour, pieces planned, pieces left, those of them that are late, and by how many minutes."""


def served(*waves: Served, since: str = "3:00", worth: tuple[int, ...] = (), order: str = "") -> Guests:
    """What guests are told of these waves, from a time on.

    With `worth` the pieces of a wave differ in worth, and those worth least are short; `order` is one of six butts, two
    of them short.
    """
    plan, scenario = corner()
    [some, *_] = plan.loads
    day = datetime(2026, 5, 16)
    asked, loads, changes = [], [], []
    for cut, clock, before, left, late, late_min in waves:
        hour, minute = map(int, clock.split(":"))
        wave = Wave(cut=cut, at=day.replace(hour=hour, minute=minute), pieces=before, worth_cents=worth[:before])
        asked.append(wave)
        ready = scenario.weekend.local(wave.at)
        loads.append(some.model_copy(update={"cut": cut, "wave": wave_name(wave.at), "pieces": left}))
        if left < before or late:
            until = ready + timedelta(minutes=late_min) if late else None
            least = f" +{worth.index(worth[-1])}" if worth else ""
            changes.append(WaveChange(cut, wave_name(wave.at) + least, ready, ready, before - left, 0, late, until))
    orders = []
    if order:
        orders.append(Order(name="Oak table", cut=BUTT, at=day.replace(hour=int(order)), pieces=6))
        ready = scenario.weekend.local(orders[0].at)
        loads.append(some.model_copy(update={"cut": BUTT, "wave": "order Oak table", "pieces": 4}))
        changes.append(WaveChange(BUTT, "order Oak table", ready, ready, 2, 0, 0, None))
    weekend = scenario.weekend.model_copy(update={"waves": tuple(asked), "orders": tuple(orders)})
    plan = plan.model_copy(update={"loads": tuple(load for load in loads if load.pieces)})
    return Guests(Desk(plan, scenario.model_copy(update={"weekend": weekend})), changes, at(since))


@pytest.mark.parametrize(
    ("waves", "told"),
    [
        ([(BUTT, "11:00", 6, 6, 0, 0)], []),
        ([(BUTT, "11:00", 6, 0, 0, 0)], ["No pork butts today."]),
        ([(BUTT, "11:00", 6, 0, 0, 0), (RIBS, "11:00", 6, 0, 0, 0)], ["No pork butts or spare ribs today."]),
        ([(BUTT, "11:00", 6, 0, 0, 0), (BUTT, "13:00", 6, 6, 0, 0)], ["No pork butts until 1 pm."]),
        ([(BUTT, "11:00", 6, 0, 0, 0), (BUTT, "13:00", 6, 3, 0, 0)], ["No pork butts until 1 pm, then fewer."]),
        ([(BUTT, "11:00", 6, 6, 0, 0), (BUTT, "13:00", 6, 0, 0, 0)], ["No pork butts from 1 pm."]),
        ([(BUTT, "11:00", 6, 4, 0, 0)], ["Fewer pork butts today."]),
        ([(BUTT, "11:00", 6, 4, 0, 0), (BUTT, "13:00", 6, 6, 0, 0)], ["Fewer pork butts until 1 pm."]),
        ([(BUTT, "11:00", 6, 4, 0, 0), (BUTT, "13:00", 6, 0, 0, 0)], ["Fewer pork butts until 1 pm, then none."]),
        ([(BUTT, "11:00", 6, 6, 6, 41)], ["No pork butts until noon."]),
        ([(BUTT, "11:00", 6, 6, 2, 50)], ["Fewer pork butts until noon."]),
        ([(BUTT, "11:00", 6, 4, 2, 50)], ["Fewer pork butts today."]),
        ([(BUTT, "11:00", 6, 4, 4, 50)], ["No pork butts until noon, then fewer."]),
        (
            [(RIBS, "11:00", 6, 4, 0, 0), (BUTT, "11:00", 6, 0, 0, 0)],
            ["No pork butts today.", "Fewer spare ribs today."],
        ),
        ([(BUTT, "12:00", 6, 6, 0, 0), (BUTT, "14:00", 6, 3, 0, 0)], ["Fewer pork butts from 2 pm."]),
    ],
)
def test_guests_hear_which_cut_and_until_when(
    waves: list[tuple[str, str, int, int, int, int]], told: list[str]
) -> None:
    assert list(served(*waves).told()) == told


def test_a_few_pieces_or_minutes_are_no_news_for_guests_but_the_crew_has_the_count() -> None:
    few = int(FEW_SHARE * 20) - 1
    short = served((BUTT, "11:00", 20, 20 - few, 0, 0))
    late = served((BUTT, "11:00", 20, 20, few, 60))
    assert [*short.told(), *late.told()] == []
    assert [*short.counted()] == [f"Short or late, 11 am: {20 - few} of 20 pork butts."]
    assert [*late.counted()] == [f"Short or late, 11 am: {few} of 20 pork butts only by noon."]
    soon = int(NOTICED / timedelta(minutes=1)) - 1
    assert [*served((BUTT, "11:00", 20, 20, 20, soon)).counted()] == []
    assert [*served((BUTT, "11:00", 20, 20, 20, soon + 1)).counted()] == [
        f"Short or late, 11 am: 20 pork butts only by 11:{QUARTER_MIN} am."
    ]


def test_the_crew_has_all_of_a_time_in_one_line() -> None:
    told = served(
        (BUTT, "11:00", 6, 5, 2, 60),
        (RIBS, "11:00", 8, 0, 0, 0),
        (BUTT, "13:00", 6, 6, 0, 0),
        (RIBS, "13:00", 8, 7, 0, 0),
    )
    assert [*told.counted()] == [
        "Short or late, 11 am: no spare ribs; 5 of 6 pork butts, 2 only by noon.",
        "Short or late, 1 pm: 7 of 8 slabs of spare ribs.",
    ]


def test_only_the_service_that_begins_soon_is_called_out_and_its_later_waves_with_it() -> None:
    waves = (BUTT, "11:00", 6, 0, 0, 0), (BUTT, "17:00", 6, 0, 0, 0)
    assert [*served(*waves, since="3:00").told()] == ["No pork butts today."]
    far = served((BUTT, "17:00", 6, 0, 0, 0), since="3:00")
    assert [*far.told()] == []
    assert [*far.counted()] == ["Short or late, 5 pm: no pork butts."]


def test_pieces_of_one_wave_that_differ_in_worth_are_one_wave_to_guests() -> None:
    told = served((BUTT, "11:00", 6, 4, 0, 0), worth=(9000, 9000, 8000, 8000, 5000, 5000))
    assert [*told.told()] == ["Fewer pork butts today."]
    assert [*told.counted()] == ["Short or late, 11 am: 4 of 6 pork butts."]


def test_who_has_an_order_is_told_of_each_piece() -> None:
    told = served((BUTT, "11:00", 6, 6, 0, 0), order="12")
    assert [*told.told()] == ["Order Oak table: 4 of 6 pork butts."]
    assert [*told.counted()] == ["Short or late, noon, order Oak table: 4 of 6 pork butts."]
