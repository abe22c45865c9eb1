"""Names, codes and dates."""

from __future__ import annotations

from typing import Any

import pytest
from audit_kitchen import Kitchen, kitchen, t


@pytest.mark.parametrize(
    ("changed", "also"),
    [
        (kitchen().load("BR01", cut="beef cheek"), {"unknown-wave", "wave-balance"}),
        (kitchen().load("BR01", recipe="foil"), set()),
        (kitchen().load("BR01", smoker="east"), set()),
        (kitchen().load("BR01", rack="third"), set()),
        (kitchen().load("BR01", finish_place="west"), set()),
        (kitchen().load("BR02", finish_place="south", finish_rack=None), set()),
        (kitchen().load("BR01", rest_place="floor"), set()),
        (kitchen().load("BR01", hold_place="box"), set()),
        (kitchen().fire(firebox="ash"), {"load-without-fire"}),
        (kitchen().shift("S3", pattern="dusk"), set()),
        (kitchen().shift("S3", person="Zed"), {"task-shift", "hand-minutes"}),
        (kitchen().task("load", 0, loads=("BR09",)), {"load-task"}),
        (kitchen().task("counter", 0, shift="S9"), set()),
        (kitchen().task("tend", 0, place="ash"), {"tend-task"}),
    ],
)
def test_unknown_name_forbidden(changed: Kitchen, also: set[str]) -> None:
    assert changed.codes() == {"unknown-name"} | also


def test_unknown_name_allowed() -> None:
    # The other firebox, smoker and rack exist too, so naming them is no mistake of this kind.
    assert "unknown-name" not in kitchen().load("BR01", smoker="south", rack="only").codes()


def test_unknown_name_says_what_there_is_not() -> None:
    sentence = kitchen().load("BR01", hold_place="box").the("unknown-name").sentence
    assert sentence == "Load BR01 names the holding cabinet 'box', which there is not."


def _renamed(code: str) -> Kitchen:
    found = kitchen().load("BR01", code=code)
    for kind, number, codes in [
        ("load", 0, (code,)),
        ("wrap", 0, (code,)),
        ("pull", 0, (code, "BR02")),
        ("pull", 1, (code, "BR02")),
        ("slice", 0, (code,)),
    ]:
        found = found.task(kind, number, loads=codes)
    return found


def test_load_code_forbidden() -> None:
    assert _renamed("CH09").codes() == {"load-code"}


def test_load_code_allowed() -> None:
    assert _renamed("BR99").codes() == set()


@pytest.mark.parametrize("changes", [{"timezone": "America/New_York"}, {"clock": "24h"}, {"invented": False}], ids=str)
def test_plan_head_forbidden(changes: dict[str, Any]) -> None:
    assert kitchen().with_plan(**changes).codes() == {"plan-head"}


def test_plan_head_allowed() -> None:
    assert kitchen().with_plan(clock="24h").weekend(clock="24h").codes() == set()


def test_outside_weekend_forbidden() -> None:
    early = kitchen().task("counter", 0, at=t("23:59", 17))
    assert "outside-weekend" in early.codes()
    late = kitchen().load("BR01", late_done_at=t("14:01", 19))
    assert "outside-weekend" in late.codes()
    assert "Sat at 2:00 pm" in late.the("outside-weekend").sentence


def test_outside_weekend_allowed() -> None:
    first = kitchen().task("counter", 0, at=t("0:00"))
    last = kitchen().load("BR01", late_done_at=t("14:00", 19))
    assert "outside-weekend" not in first.codes() | last.codes()


def test_part_minute_forbidden() -> None:
    assert kitchen().load("BR01", load_at=t("2:00").replace(second=20)).codes() == {"part-minute"}


def test_part_minute_allowed() -> None:
    assert kitchen().load("BR01", load_at=t("2:00")).codes() == set()
