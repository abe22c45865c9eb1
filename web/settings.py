"""What a server is told when it starts."""

from __future__ import annotations

import ipaddress
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

DATABASE = "kitchen.sqlite3"
MOST_BODY_BYTES = 6_000_000
"""A request larger than this is refused unread."""


def utc_now() -> datetime:
    """The clock on the wall."""
    return datetime.now(UTC)


def practice_clock(start: datetime) -> Callable[[], datetime]:
    """A clock that shows `start` now and runs on from there, to practise a weekend that is not today's."""
    began = utc_now()

    def now() -> datetime:
        return start.astimezone(UTC) + (utc_now() - began)

    return now


def is_loopback(host: str) -> bool:
    """True for addresses that only this machine can reach."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


@dataclass(frozen=True)
class Settings:
    """One server."""

    folder: Path
    """The scenario folder; the database lies beside its files."""
    database: str = ""
    """An SQLAlchemy address; empty for the SQLite file in the folder."""
    host: str = "127.0.0.1"
    port: int = 8765
    names: tuple[str, ...] = ()
    """Further host names by which phones call it."""
    now: Callable[[], datetime] = utc_now
    practice: bool = False
    """True if the clock is not the wall's."""
    idle: timedelta = field(default=timedelta(hours=20))
    """A session that was silent for so long has ended."""

    @property
    def open_door(self) -> bool:
        """True if nobody has to sign in, because only this machine can reach the server."""
        return is_loopback(self.host)

    @property
    def address(self) -> str:
        """Where the data are kept."""
        return self.database or f"sqlite:///{(self.folder / DATABASE).resolve()}"
