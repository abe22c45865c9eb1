"""The log of a weekend as a file: every kind there and back, torn lines, wrong order, mistakes."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from scheduler.books import append_event, read_log
from scheduler.errors import InputError, OutputError
from scheduler.model.log import EVENT, KINDS, AnyEvent

ZONE = ZoneInfo("America/Chicago")
AT = datetime(2026, 6, 13, 3, 0, tzinfo=ZONE)
FIELDS: dict[str, dict[str, object]] = {
    "lit": {"place": "oak box"},
    "moved": {"load": "BR01", "place": "north", "rack": "top"},
    "sliced": {"load": "BR01", "pieces": 2},
    "probe": {"load": "BR01", "temp_f": 165},
    "discarded": {"load": "BR01", "pieces": 1, "why": "dropped"},
    "down": {"place": "north", "until": "2026-06-13T05:00:00-05:00"},
    "up": {"place": "north"},
    "missing": {"person": "Ana"},
    "arrived": {"person": "Ana"},
    "delivered": {"cut": "brisket", "missing": 2},
    "ordered": {"name": "Elm table", "cut": "brisket", "pieces": 1, "pickup": "2026-06-13T13:00:00-05:00"},
    "wood": {"lb": 300},
    "weather": {"night": "cold"},
    "sold": {"cut": "brisket", "portions": 40},
    "worked": {"person": "Ana", "task": "wrap", "minutes": 12, "cut": "brisket", "pieces": 4},
    "piece": {"code": "417", "raw_lb": 11.5, "done": "2026-06-13T05:00:00-05:00"},
}


def event(kind: str, at: datetime = AT) -> AnyEvent:
    fields = FIELDS.get(kind, {"load": "BR01"})
    return EVENT.validate_json(json.dumps({"kind": kind, "at": at.isoformat(), "by": "Ana", **fields}))


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_goes_there_and_back(kind: str, tmp_path: Path) -> None:
    file = tmp_path / "deep" / "log.jsonl"
    written = event(kind)
    append_event(file, written)
    [read] = read_log(file, ZONE).events
    assert read == written
    assert getattr(read.at.tzinfo, "key", None) == "America/Chicago"


def test_a_log_that_is_not_there_is_empty(tmp_path: Path) -> None:
    assert read_log(tmp_path / "none.jsonl", ZONE).events == ()


def test_a_torn_last_line_is_set_aside_and_spoils_nothing(tmp_path: Path) -> None:
    file = tmp_path / "log.jsonl"
    append_event(file, event("wrapped").model_copy(update={"by": "José"}))
    whole = file.read_bytes()
    for cut in range(1, len(whole) - 1):
        file.write_bytes(whole + whole[:cut])
        log = read_log(file, ZONE)
        assert [e.kind for e in log.events] == ["wrapped"]
        [note] = log.notes
        assert note.startswith("log.jsonl, line 2 was torn")
    append_event(file, event("pulled"))
    assert [e.kind for e in read_log(file, ZONE).events] == ["wrapped", "pulled"]


def test_a_line_without_its_end_is_whole_all_the_same(tmp_path: Path) -> None:
    file = tmp_path / "log.jsonl"
    file.write_text(event("wrapped").model_dump_json(), encoding="utf-8")
    assert read_log(file, ZONE).notes == ()
    append_event(file, event("pulled"))
    assert [e.kind for e in read_log(file, ZONE).events] == ["wrapped", "pulled"]


def test_wrong_order_is_sorted_and_told(tmp_path: Path) -> None:
    file = tmp_path / "log.jsonl"
    append_event(file, event("pulled"))
    append_event(file, event("wrapped", AT - timedelta(hours=2)))
    log = read_log(file, ZONE)
    assert [e.kind for e in log.events] == ["wrapped", "pulled"]
    assert log.notes == ("log.jsonl: 1 event stands out of order; sorted.",)
    assert [e.kind for e in log.until(AT - timedelta(hours=1)).events] == ["wrapped"]


def test_seconds_are_cut_off() -> None:
    assert event("wrapped", AT + timedelta(seconds=59)).at == AT


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ('{"kind": "eaten"}', "is no kind of event; use one of lit, loaded,"),
        ("[]", "is no kind of event"),
        ('{"kind": "probe", "at": "2026-06-13T03:00:00-05:00", "load": "BR01"}', "temp_f"),
        ('{"kind": "probe", "at": "2026-06-13T03:00:00", "load": "BR01", "temp_f": 165}', "log.jsonl, line 1: at"),
        ('{"kind": "up", "at": "2026-06-13T03:00:00-05:00", "place": "x", "load": "BR01"}', "load"),
    ],
)
def test_what_is_whole_but_wrong_is_told(line: str, said: str, tmp_path: Path) -> None:
    file = tmp_path / "log.jsonl"
    file.write_text(line + "\n", encoding="utf-8")
    with pytest.raises(InputError, match="line 1") as caught:
        read_log(file, ZONE)
    assert said in str(caught.value)


def test_a_place_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    with pytest.raises(OutputError):
        append_event(tmp_path, event("up"))
