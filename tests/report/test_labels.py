"""Labels: everything that is known of a load when it goes on, and nothing twice."""

from __future__ import annotations

import report_kitchen as kitchen

from scheduler.report.desk import Desk
from scheduler.report.labels import Label, label_sheet


def _labels() -> dict[str, Label]:
    scenario = kitchen.scenario()
    sheet = label_sheet(Desk(kitchen.plan(scenario), scenario))
    assert sheet is not None
    return {label.code: label for label in sheet.labels}


def test_one_label_for_each_load_in_the_order_of_loading() -> None:
    plan = kitchen.plan(kitchen.scenario())
    assert list(_labels()) == [load.code for load in sorted(plan.loads, key=lambda x: (x.load_at, x.code))]


def test_a_wrapped_load_that_moves() -> None:
    label = _labels()["BR02"]
    assert (label.pieces, label.cut) == (3, "packer briskets")
    assert {line.name: line.text for line in label.lines} == {
        "Load": "Fri 4:30 pm, north smoker, middle",
        "Wrap": "Fri 11 pm in paper (10 to 11:30 pm), then oven",
        "Done": "203 °F, Sat 3:45 to 7:45 am",
        "Then": "rest at least 1 h on rest shelf A, then tall cabinet at 150 °F",
        "Ready": "Sat 11 am, until 2 pm",
    }


def test_an_unwrapped_load() -> None:
    label = _labels()["HC01"]
    assert {line.name: line.text for line in label.lines}["Wrap"] == "not wrapped"


def test_a_single_piece_is_singular() -> None:
    assert _labels()["BR04"].cut == "packer brisket"


def test_no_loads_no_label_page() -> None:
    scenario = kitchen.scenario()
    assert label_sheet(Desk(kitchen.plan(scenario).model_copy(update={"loads": ()}), scenario)) is None
