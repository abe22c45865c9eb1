"""The first tables, as they were then: a column added to `tables.py` later is a revision of its own."""

from __future__ import annotations

from alembic import op
from sqlalchemy import Boolean, Column, ForeignKey, Integer, String, Text

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make them."""
    op.create_table(
        "scenarios",
        Column("id", Integer, primary_key=True),
        Column("saved_at", String(40), nullable=False),
        Column("saved_by", String(40), nullable=False),
        Column("what", Text, nullable=False),
        Column("dump", Text, nullable=False),
    )
    op.create_table(
        "plans",
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
    op.create_table(
        "in_force",
        Column("id", Integer, primary_key=True),
        Column("number", Integer, ForeignKey("plans.number"), nullable=False),
        Column("at", String(40), nullable=False),
        Column("by", String(40), nullable=False),
    )
    op.create_table(
        "jobs",
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
    op.create_table(
        "entries",
        Column("id", Integer, primary_key=True),
        Column("key", String(64), nullable=False, unique=True),
        Column("plan", Integer, nullable=True),
        Column("at", String(40), nullable=False),
        Column("got_at", String(40), nullable=False),
        Column("by", String(40), nullable=False),
        Column("what", String(20), nullable=False),
        Column("task", String(24), nullable=False),
        Column("event", Text, nullable=True),
        Column("reason", String(200), nullable=False),
        Column("undoes", Integer, nullable=True),
    )
    op.create_index("ix_entries_at", "entries", ["at"])
    op.create_table(
        "uploads",
        Column("id", Integer, primary_key=True),
        Column("at", String(40), nullable=False),
        Column("by", String(40), nullable=False),
        Column("name", String(120), nullable=False),
        Column("sales", Text, nullable=False),
        Column("days", Text, nullable=False),
        Column("kept", Boolean, nullable=False),
    )
    op.create_table(
        "answers",
        Column("key", String(80), primary_key=True),
        Column("at", String(40), nullable=False),
        Column("data", Text, nullable=False),
    )
    op.create_table(
        "people",
        Column("name", String(40), primary_key=True),
        Column("role", String(10), nullable=False),
        Column("secret", Text, nullable=False),
        Column("link", String(64), nullable=False),
        Column("gone", Boolean, nullable=False),
    )
    op.create_table(
        "sessions",
        Column("token", String(64), primary_key=True),
        Column("name", String(40), nullable=False),
        Column("seen_at", String(40), nullable=False),
    )
    op.create_table(
        "guesses",
        Column("id", Integer, primary_key=True),
        Column("who", String(80), nullable=False),
        Column("at", String(40), nullable=False),
    )
    op.create_index("ix_guesses_who", "guesses", ["who"])
    op.create_table(
        "deeds",
        Column("id", Integer, primary_key=True),
        Column("at", String(40), nullable=False),
        Column("by", String(40), nullable=False),
        Column("what", String(40), nullable=False),
        Column("detail", Text, nullable=False),
    )
