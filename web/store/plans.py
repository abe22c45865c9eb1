"""Plans by number: every one is kept, one of them is in force."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, func, select

from scheduler.books import scenario_dump
from scheduler.books.plans import in_zone
from scheduler.model.fold import folded
from scheduler.model.past import Past
from scheduler.model.plan import Plan
from scheduler.model.scenario import Scenario
from web.store.database import Database
from web.store.deeds import note_deed
from web.store.tables import in_force, plans
from web.store.times import got, put


@dataclass(frozen=True, slots=True)
class KeptPlan:
    """A plan with what it was made from."""

    number: int
    made_at: datetime
    made_by: str
    kind: str
    """ "searched", "moved", "replanned" around pins or "reshuffled"."""
    note: str
    parent: int | None
    breaches: int
    scenario: Scenario
    plan: Plan
    past: Past | None
    pins: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlanLine:
    """A plan in a list."""

    number: int
    made_at: datetime
    made_by: str
    kind: str
    note: str
    breaches: int


def _read(row: tuple[int, str, str, str, str, int | None, int, str, str, str | None, str]) -> KeptPlan:
    number, made_at, made_by, kind, note, parent, breaches, scenario, plan, past, pins = row
    found = Plan.model_validate_json(plan)
    return KeptPlan(
        number=number,
        made_at=got(made_at),
        made_by=made_by,
        kind=kind,
        note=note,
        parent=parent,
        breaches=breaches,
        scenario=Scenario.model_validate_json(scenario),
        plan=in_zone(found, ZoneInfo(found.timezone)),
        past=None if past is None else Past.model_validate_json(past),
        pins=tuple(json.loads(pins)),
    )


def plan_lines(database: Database) -> tuple[PlanLine, ...]:
    """All plans, newest first."""
    columns = (plans.c.number, plans.c.made_at, plans.c.made_by, plans.c.kind, plans.c.note, plans.c.breaches)
    with database.reading() as connection:
        rows = connection.execute(select(*columns).order_by(plans.c.number.desc())).all()
    return tuple(PlanLine(r.number, got(r.made_at), r.made_by, r.kind, r.note, r.breaches) for r in rows)


@lru_cache(maxsize=8)
def kept_plan(database: Database, number: int) -> KeptPlan:
    """The plan of a number; it never changes, so it is read once. LookupError if there is none."""
    with database.reading() as connection:
        row = connection.execute(select(plans).where(plans.c.number == number)).first()
    if row is None:
        raise LookupError(f"there is no plan {number}")
    return _read(tuple(row))


def in_pieces(kept: KeptPlan) -> KeptPlan:
    """The same with pairs of a trial told as pieces of their cut: the counter sells no pairs."""
    plan, scenario = folded(kept.plan, kept.scenario)
    return replace(kept, plan=plan, scenario=scenario)


def number_in_force(database: Database) -> int | None:
    """The plan by which the crew works; None while there is none."""
    with database.reading() as connection:
        found = connection.execute(select(in_force.c.number).order_by(in_force.c.id.desc()).limit(1)).scalar()
    return None if found is None else int(found)


def keep_plan(
    connection: Connection,
    plan: Plan,
    scenario: Scenario,
    *,
    kind: str,
    by: str,
    at: datetime,
    note: str = "",
    parent: int | None = None,
    breaches: int = 0,
    past: Past | None = None,
    pins: Iterable[str] = (),
) -> int:
    """Keep a plan under the next number."""
    last = connection.execute(select(func.max(plans.c.number))).scalar()
    number = (last or 0) + 1
    connection.execute(
        plans.insert().values(
            number=number,
            made_at=put(at),
            made_by=by,
            kind=kind,
            note=note,
            parent=parent,
            breaches=breaches,
            scenario=scenario_dump(scenario),
            plan=plan.model_copy(update={"number": number}).model_dump_json(),
            past=None if past is None else past.model_dump_json(),
            pins=json.dumps(sorted(pins)),
        )
    )
    note_deed(connection, at, by, "plan kept", f"plan {number}, {kind}")
    return number


def put_in_force(connection: Connection, number: int, *, by: str, at: datetime) -> None:
    """From now on the crew works by this plan."""
    connection.execute(in_force.insert().values(number=number, at=put(at), by=by))
    note_deed(connection, at, by, "plan in force", f"plan {number}")
