"""Versions of the weekend: each saved change is a new one, and none is lost."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select

from scheduler.books import read_scenario, scenario_dump
from scheduler.model.scenario import Scenario
from web.settings import Settings
from web.store.database import Database
from web.store.deeds import note_deed
from web.store.tables import scenarios
from web.store.times import got, put


@dataclass(frozen=True, slots=True)
class Version:
    """The weekend as somebody saved it."""

    number: int
    saved_at: datetime
    saved_by: str
    what: str
    scenario: Scenario


class ChangedMeanwhileError(Exception):
    """Somebody saved another version since this one was read."""

    def __init__(self, latest: Version) -> None:
        super().__init__(f"version {latest.number} was saved by {latest.saved_by or 'somebody'}")
        self.latest = latest


def latest_version(database: Database) -> Version:
    """The weekend as it is now. LookupError if there is none yet."""
    with database.reading() as connection:
        row = connection.execute(select(scenarios).order_by(scenarios.c.id.desc()).limit(1)).first()
    if row is None:
        raise LookupError("no weekend is saved yet")
    return Version(row.id, got(row.saved_at), row.saved_by, row.what, Scenario.model_validate_json(row.dump))


def save_version(database: Database, scenario: Scenario, *, seen: int, by: str, what: str, at: datetime) -> int:
    """Save a changed weekend; its number. ChangedMeanwhileError if `seen` is no longer the latest."""
    latest = latest_version(database)
    with database.writing() as connection:
        newest = connection.execute(select(scenarios.c.id).order_by(scenarios.c.id.desc()).limit(1)).scalar_one()
        if newest != seen:
            raise ChangedMeanwhileError(latest if latest.number == newest else latest_version(database))
        made = connection.execute(
            scenarios.insert().values(saved_at=put(at), saved_by=by, what=what, dump=scenario_dump(scenario))
        ).inserted_primary_key
        assert made is not None
        note_deed(connection, at, by, "weekend saved", what)
        return int(made[0])


def take_over(database: Database, settings: Settings) -> Version:
    """The latest version; the folder's files become the first one. InputError if they cannot be used."""
    with database.reading() as connection:
        there = connection.execute(select(scenarios.c.id).limit(1)).first()
    if there is None:
        scenario = read_scenario(settings.folder)
        at = settings.now()
        with database.writing() as connection:
            values = {"saved_at": put(at), "saved_by": "", "what": "read from the folder"}
            connection.execute(scenarios.insert().values(**values, dump=scenario_dump(scenario)))
            note_deed(connection, at, "", "weekend saved", "read from the folder")
    return latest_version(database)
