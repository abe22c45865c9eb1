"""Who may sign in, and as what; sessions; and how often somebody guessed wrong."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256
from typing import Literal, get_args

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from sqlalchemy import delete, func, select, update

from web.store.database import Database
from web.store.deeds import note_deed
from web.store.tables import guesses, people, sessions
from web.store.times import got, put

Role = Literal["lead", "crew", "counter"]
ROLES: tuple[Role, ...] = get_args(Role)

MOST_GUESSES = 5
LOCKED = timedelta(minutes=15)
HASHER = PasswordHasher()
NOBODY = HASHER.hash(secrets.token_hex(8))
"""Checked where there is no such name, so that the answer takes as long."""


@dataclass(frozen=True, slots=True)
class Account:
    """One person who may sign in."""

    name: str
    role: Role
    gone: bool


def _digest(token: str) -> str:
    return sha256(token.encode()).hexdigest()


def _role(text: str) -> Role:
    return next(role for role in ROLES if role == text)


def accounts(database: Database) -> tuple[Account, ...]:
    """Everybody, by name."""
    with database.reading() as connection:
        rows = connection.execute(select(people).order_by(people.c.name)).all()
    return tuple(Account(row.name, _role(row.role), row.gone) for row in rows)


def set_account(database: Database, name: str, role: Role, secret: str, *, by: str, at: datetime) -> str:
    """Add a person, or give one another password or PIN; the word of a new link that signs in as well."""
    link = secrets.token_urlsafe(24)
    values = {"role": role, "secret": HASHER.hash(secret), "link": _digest(link), "gone": False}
    with database.writing() as connection:
        connection.execute(delete(people).where(people.c.name == name))
        connection.execute(delete(sessions).where(sessions.c.name == name))
        connection.execute(people.insert().values(name=name, **values))
        note_deed(connection, at, by, "may sign in", f"{name}, {role}")
    return link


def end_account(database: Database, name: str, *, by: str, at: datetime) -> None:
    """A person may no longer sign in, from this moment."""
    with database.writing() as connection:
        connection.execute(update(people).where(people.c.name == name).values(gone=True))
        connection.execute(delete(sessions).where(sessions.c.name == name))
        note_deed(connection, at, by, "may no longer sign in", name)


def locked(database: Database, who: str, now: datetime) -> bool:
    """True if somebody guessed wrong too often of late."""
    since = put(now - LOCKED)
    with database.reading() as connection:
        count = select(func.count()).where(guesses.c.who == who, guesses.c.at > since)
        return int(connection.execute(count).scalar_one()) >= MOST_GUESSES


def wrong_guess(database: Database, who: str, now: datetime) -> None:
    """Remember it."""
    with database.writing() as connection:
        connection.execute(guesses.insert().values(who=who, at=put(now)))


def check_secret(database: Database, name: str, secret: str) -> bool:
    """True if it is that person's password or PIN."""
    with database.reading() as connection:
        found = connection.execute(select(people.c.secret).where(people.c.name == name, ~people.c.gone)).scalar()
    try:
        return HASHER.verify(found or NOBODY, secret) and found is not None
    except (VerificationError, InvalidHashError):
        return False


def name_of_link(database: Database, word: str) -> str | None:
    """Whose link it is."""
    with database.reading() as connection:
        where = (people.c.link == _digest(word), ~people.c.gone)
        return connection.execute(select(people.c.name).where(*where)).scalar()


def open_session(database: Database, name: str, now: datetime) -> str:
    """Sign a person in; the word for the cookie."""
    word = secrets.token_urlsafe(32)
    with database.writing() as connection:
        connection.execute(sessions.insert().values(token=_digest(word), name=name, seen_at=put(now)))
        note_deed(connection, now, name, "signed in")
    return word


def close_session(database: Database, word: str) -> None:
    """Sign out."""
    with database.writing() as connection:
        connection.execute(delete(sessions).where(sessions.c.token == _digest(word)))


def account_of(database: Database, word: str, now: datetime, idle: timedelta) -> Account | None:
    """Who is signed in by a cookie; None if nobody, or silent for too long."""
    token = _digest(word)
    with database.reading() as connection:
        joined = select(people.c.name, people.c.role, sessions.c.seen_at).join_from(
            sessions, people, people.c.name == sessions.c.name
        )
        row = connection.execute(joined.where(sessions.c.token == token, ~people.c.gone)).first()
    if row is None or now - got(row.seen_at) > idle:
        return None
    if now - got(row.seen_at) > timedelta(minutes=10):
        with database.writing() as connection:
            connection.execute(update(sessions).where(sessions.c.token == token).values(seen_at=put(now)))
    return Account(row.name, _role(row.role), False)
