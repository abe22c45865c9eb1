"""The tables. Nothing in them is ever changed that a person wrote down; what is undone is undone by another row.

Times are text in ISO 8601 and UTC, so that they mean the same in every database. Documents are JSON text.
"""

from __future__ import annotations

from sqlalchemy import Boolean, Column, ForeignKey, Integer, MetaData, String, Table, Text

META = MetaData()

scenarios = Table(
    "scenarios",
    META,
    Column("id", Integer, primary_key=True),
    Column("saved_at", String(40), nullable=False),
    Column("saved_by", String(40), nullable=False),
    Column("what", Text, nullable=False),
    Column("dump", Text, nullable=False),
)

plans = Table(
    "plans",
    META,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("made_at", String(40), nullable=False),
    Column("made_by", String(40), nullable=False),
    Column("kind", String(20), nullable=False),
    Column("note", Text, nullable=False),
    Column("parent", Integer, nullable=True),
    Column("breaches", Integer, nullable=False),
    Column("scenario", Text, nullable=False),
    Column("plan", Text, nullable=False),
    Column("past", Text, nullable=True),
    Column("pins", Text, nullable=False),
)

in_force = Table(
    "in_force",
    META,
    Column("id", Integer, primary_key=True),
    Column("number", Integer, ForeignKey("plans.number"), nullable=False),
    Column("at", String(40), nullable=False),
    Column("by", String(40), nullable=False),
)

jobs = Table(
    "jobs",
    META,
    Column("id", Integer, primary_key=True),
    Column("kind", String(20), nullable=False),
    Column("state", String(20), nullable=False),
    Column("asked_at", String(40), nullable=False),
    Column("asked_by", String(40), nullable=False),
    Column("task", Text, nullable=False),
    Column("progress", Text, nullable=False),
    Column("plan", Integer, nullable=True),
    Column("said", Text, nullable=False),
)

entries = Table(
    "entries",
    META,
    Column("id", Integer, primary_key=True),
    Column("key", String(64), nullable=False, unique=True),
    Column("plan", Integer, nullable=True),
    Column("at", String(40), nullable=False, index=True),
    Column("got_at", String(40), nullable=False),
    Column("by", String(40), nullable=False),
    Column("what", String(20), nullable=False),
    Column("task", String(24), nullable=False),
    Column("event", Text, nullable=True),
    Column("reason", String(200), nullable=False),
    Column("undoes", Integer, nullable=True),
)

uploads = Table(
    "uploads",
    META,
    Column("id", Integer, primary_key=True),
    Column("at", String(40), nullable=False),
    Column("by", String(40), nullable=False),
    Column("name", String(120), nullable=False),
    Column("sales", Text, nullable=False),
    Column("days", Text, nullable=False),
    Column("kept", Boolean, nullable=False),
)

answers = Table(
    "answers",
    META,
    Column("key", String(80), primary_key=True),
    Column("at", String(40), nullable=False),
    Column("data", Text, nullable=False),
)

people = Table(
    "people",
    META,
    Column("name", String(40), primary_key=True),
    Column("role", String(10), nullable=False),
    Column("secret", Text, nullable=False),
    Column("link", String(64), nullable=False),
    Column("gone", Boolean, nullable=False),
)

sessions = Table(
    "sessions",
    META,
    Column("token", String(64), primary_key=True),
    Column("name", String(40), nullable=False),
    Column("seen_at", String(40), nullable=False),
)

guesses = Table(
    "guesses",
    META,
    Column("id", Integer, primary_key=True),
    Column("who", String(80), nullable=False, index=True),
    Column("at", String(40), nullable=False),
)

deeds = Table(
    "deeds",
    META,
    Column("id", Integer, primary_key=True),
    Column("at", String(40), nullable=False),
    Column("by", String(40), nullable=False),
    Column("what", String(40), nullable=False),
    Column("detail", Text, nullable=False),
)
