"""plan.json: written whole, read back the same, refused in one sentence, and described by its JSON Schema."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import jsonschema
import pytest
import report_kitchen

from scheduler.books import plan_schema, publish, read_plan, write_plan, write_text
from scheduler.errors import InputError, OutputError
from scheduler.model.clock import add_min
from scheduler.model.plan import Plan

CHICAGO = ZoneInfo("America/Chicago")


@pytest.fixture(scope="module")
def plan() -> Plan:
    """A plan made by hand."""
    return report_kitchen.plan(report_kitchen.scenario())


def spoiled(plan: Plan, path: Path, **changes: Any) -> str:
    """What is said of a plan.json with some fields changed."""
    data = plan.model_dump(mode="json") | changes
    path.write_text(json.dumps(data), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_plan(path)
    (problem,) = caught.value.problems
    return problem.sentence()


def test_a_plan_reads_back_as_it_was_written(plan: Plan, tmp_path: Path) -> None:
    path = tmp_path / "new folder" / "plan.json"
    write_plan(plan, path)
    assert read_plan(path) == plan
    assert [file.name for file in path.parent.iterdir()] == ["plan.json"]


def test_times_are_written_with_their_offset_and_read_in_the_plans_zone(plan: Plan, tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    write_plan(plan, path)
    written = json.loads(path.read_text())["loads"][0]["load_at"]
    assert datetime.fromisoformat(written) == plan.loads[0].load_at
    assert written[-6:] == "-05:00"
    assert read_plan(path).loads[0].load_at.tzinfo == CHICAGO


def test_the_hour_that_the_clock_repeats_survives(plan: Plan, tmp_path: Path) -> None:
    # In Chicago 1:00 to 2:00 am comes twice on November 1, 2026, first at UTC-5, then at UTC-6 (tz database).
    first = datetime(2026, 11, 1, 6, 30, tzinfo=UTC).astimezone(CHICAGO)
    second = datetime(2026, 11, 1, 7, 30, tzinfo=UTC).astimezone(CHICAGO)
    assert (first.hour, first.minute) == (second.hour, second.minute) == (1, 30)
    load = plan.loads[0].model_copy(update={"load_at": first, "late_done_at": second})
    path = tmp_path / "plan.json"
    write_plan(plan.model_copy(update={"loads": (load,)}), path)
    data = json.loads(path.read_text())["loads"][0]
    assert (data["load_at"], data["late_done_at"]) == ("2026-11-01T01:30:00-05:00", "2026-11-01T01:30:00-06:00")
    read = read_plan(path).loads[0]
    assert (read.load_at.isoformat(), read.late_done_at.isoformat()) == (first.isoformat(), second.isoformat())
    # Time added to what was read meets the clock change, which a bare offset would not.
    assert add_min(read.load_at, 60).isoformat() == "2026-11-01T01:30:00-06:00"


@pytest.mark.parametrize(
    ("number", "sentence"),
    [
        (
            2,
            "plan.json: it has plan format 2 and this program reads format 1; "
            "use the newer program that wrote it, or plan again with this one.",
        ),
        (0, "plan.json: no plan format is 0; give a plan.json of format 1."),
        (None, "plan.json: it is not a plan, having no format number; give a plan.json of format 1."),
        ("1", 'plan.json: no plan format is "1"; give a plan.json of format 1.'),
        (True, "plan.json: no plan format is true; give a plan.json of format 1."),
        (1.5, "plan.json: no plan format is 1.5; give a plan.json of format 1."),
    ],
)
def test_another_format_number_is_told(number: object, sentence: str, plan: Plan, tmp_path: Path) -> None:
    assert spoiled(plan, tmp_path / "plan.json", format=number) == sentence


def test_a_spoiled_load_is_called_by_its_code(plan: Plan, tmp_path: Path) -> None:
    loads = plan.model_dump(mode="json")["loads"]
    loads[1]["load_at"] = "2026-06-12T16:30:00"
    assert spoiled(plan, tmp_path / "plan.json", loads=loads) == (
        f'plan.json: load "{plan.loads[1].code}", load_at: "2026-06-12T16:30:00" is not a time with an offset; '
        "write it such as 2026-06-13T11:00:00-05:00."
    )


def test_two_loads_of_one_code_are_refused(plan: Plan, tmp_path: Path) -> None:
    loads = plan.model_dump(mode="json")["loads"]
    sentence = spoiled(plan, tmp_path / "plan.json", loads=[*loads, loads[0]])
    assert sentence == "plan.json: two loads have the same code; correct it."


def test_a_time_beyond_all_calendars_is_refused(plan: Plan, tmp_path: Path) -> None:
    shifts = plan.model_dump(mode="json")["shifts"]
    shifts[0]["starts_at"] = "0001-01-01T00:00:00Z"
    assert spoiled(plan, tmp_path / "plan.json", shifts=shifts) == (
        "plan.json: it has a time beyond all calendars; use the file as it was written."
    )


def test_an_unknown_zone_is_refused(plan: Plan, tmp_path: Path) -> None:
    assert spoiled(plan, tmp_path / "plan.json", timezone="Nowhere/Atoll") == (
        'plan.json: "Nowhere/Atoll" is not a time zone of the tz database; use the file as it was written.'
    )


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("{\n", "plan.json: is not valid JSON at line 2; use the file as it was written."),
        ("[]", "plan.json: does not hold one JSON object; use the file as it was written."),
        ('{"format": 1' + "0" * 5000 + "}", "plan.json: is not valid JSON; use the file as it was written."),
        ("[" * 100_000, "plan.json: is not valid JSON; use the file as it was written."),
    ],
)
def test_a_file_that_is_no_json_object(text: str, sentence: str, tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.write_text(text)
    with pytest.raises(InputError) as caught:
        read_plan(path)
    assert [problem.sentence() for problem in caught.value.problems] == [sentence]


def test_the_schema_is_one_and_accepts_plans(plan: Plan, tmp_path: Path) -> None:
    schema = plan_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    path = tmp_path / "plan.json"
    write_plan(plan, path)
    jsonschema.Draft202012Validator(schema).validate(json.loads(path.read_text()))


@pytest.mark.parametrize(
    "spoil",
    [
        {"format": 2},
        {"clock": "13h"},
        {"loads": [{"code": "BR01"}]},
        {"surprise": 1},
        {"cost": {"shorts": 1.5, "wages": 0, "wood": 0, "hold": 0, "moves": 0}},
        {
            "tasks": [
                {"at": "2026-06-13T11:00:00-05:00", "minutes": 0, "kind": "load", "person": "Rosa", "shift": "S01"}
            ]
        },
    ],
    ids=lambda spoil: next(iter(spoil)),
)
def test_the_schema_refuses_what_is_no_plan(spoil: dict[str, Any], plan: Plan) -> None:
    data = plan.model_dump(mode="json") | spoil
    assert not jsonschema.Draft202012Validator(plan_schema()).is_valid(data)


def test_every_field_of_the_schema_is_in_a_written_plan(plan: Plan) -> None:
    schema = plan_schema()
    data = plan.model_dump(mode="json")
    assert set(schema["properties"]) == set(data)
    for name, part in (
        ("Load", "loads"),
        ("Fire", "fires"),
        ("Shift", "shifts"),
        ("Task", "tasks"),
        ("Short", "shorts"),
    ):
        assert set(schema["$defs"][name]["properties"]) == set(data[part][0])


def test_a_write_that_fails_leaves_what_stood_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "plan.json"
    path.write_text("old")

    def refuse(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", refuse)
    with pytest.raises(OutputError, match=r"plan\.json cannot be written: No space left on device"):
        write_text(path, "new")
    assert path.read_text() == "old"
    assert [file.name for file in tmp_path.iterdir()] == ["plan.json"]


def test_publish_moves_every_file(tmp_path: Path) -> None:
    ready, out = tmp_path / "ready", tmp_path / "out"
    ready.mkdir()
    for name in ("b.csv", "a.json"):
        (ready / name).write_text(name)
    out.mkdir()
    (out / "a.json").write_text("old")
    assert publish(ready, out) == [out / "a.json", out / "b.csv"]
    assert (out / "a.json").read_text() == "a.json"
    assert not list(ready.iterdir())


def test_publish_into_a_file_is_told(tmp_path: Path) -> None:
    ready, out = tmp_path / "ready", tmp_path / "out"
    ready.mkdir()
    out.write_text("a file")
    with pytest.raises(OutputError, match="cannot be written"):
        publish(ready, out)
