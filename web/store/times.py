"""Moments as they stand in the database."""

from __future__ import annotations

from datetime import UTC, datetime


def put(moment: datetime) -> str:
    """A moment as text."""
    return moment.astimezone(UTC).isoformat(timespec="milliseconds")


def got(text: str) -> datetime:
    """The moment in a text."""
    return datetime.fromisoformat(text)
