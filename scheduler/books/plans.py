"""plan.json to and from the model, and its JSON Schema."""

from __future__ import annotations

from datetime import UTC, datetime, tzinfo
from pathlib import Path
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from pydantic import ValidationError

from scheduler.books.files import read_json, read_text, refuse, write_text
from scheduler.books.sentences import problems_of, show
from scheduler.errors import InputError
from scheduler.model.base import Frozen
from scheduler.model.past import Past
from scheduler.model.plan import FORMAT, Plan

_F = TypeVar("_F", bound=Frozen)

SCHEMA_DIALECT = "https://json-schema.org/draft/2020-12/schema"


def write_plan(plan: Plan, path: Path) -> None:
    """Write plan.json, whole or not at all. OutputError if it cannot be written."""
    write_text(path, plan.model_dump_json(indent=1) + "\n")


def read_plan(path: Path) -> Plan:
    """The plan in a file, its times in the plan's own time zone. InputError if it is not a plan of this format."""
    data = read_json(path)
    _check_format(path.name, data.get("format"))
    try:
        plan = Plan.model_validate_json(read_text(path))
        return in_zone(plan, ZoneInfo(plan.timezone))
    except ValidationError as error:
        raise InputError(problems_of(path.name, data, Plan, error)) from None
    except OverflowError:
        raise refuse(path.name, "it has a time beyond all calendars", "use the file as it was written") from None
    except (KeyError, ValueError, OSError):
        what = f"{show(data.get('timezone'))} is not a time zone of the tz database"
        raise refuse(path.name, what, "use the file as it was written") from None


def write_past(past: Past, path: Path) -> None:
    """Write what is fixed in a plan that was changed on the way. OutputError if it cannot be written."""
    write_text(path, past.model_dump_json(indent=1) + "\n")


def read_past(path: Path) -> Past:
    """The same from its file. InputError if it is no such thing."""
    data = read_json(path)
    try:
        return Past.model_validate_json(read_text(path))
    except ValidationError as error:
        raise InputError(problems_of(path.name, data, Past, error)) from None


def _check_format(file: str, number: object) -> None:
    if number == FORMAT and not isinstance(number, bool):
        return
    if isinstance(number, int) and number > FORMAT:
        what = f"it has plan format {number} and this program reads format {FORMAT}"
        raise refuse(file, what, "use the newer program that wrote it, or plan again with this one")
    what = "it is not a plan, having no format number" if number is None else f"no plan format is {show(number)}"
    raise refuse(file, what, f"give a plan.json of format {FORMAT}")


def in_zone(model: _F, zone: tzinfo) -> _F:
    """The same with all its times in a zone."""
    # JSON keeps the offset of each time and not the zone; durations added to it must still meet the clock change.
    return model.model_copy(update={name: _value_in_zone(value, zone) for name, value in model})


def _value_in_zone(value: Any, zone: tzinfo) -> Any:
    if isinstance(value, datetime):
        return value.astimezone(zone)
    if isinstance(value, Frozen):
        return in_zone(value, zone)
    if isinstance(value, tuple):
        return tuple(_value_in_zone(entry, zone) for entry in value)
    return value


def in_utc(plan: Plan) -> Plan:
    """The same plan with all times in UTC.

    Python compares, subtracts and adds to two times of one zone by the wall clock, which is wrong in the hour that an
    autumn clock change repeats. In UTC it is always right.
    """
    return in_zone(plan, UTC)


def plan_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of plan.json, made from the model."""
    return {"$schema": SCHEMA_DIALECT} | Plan.model_json_schema(mode="serialization")
