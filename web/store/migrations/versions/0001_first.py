"""The first tables.

Written out by name rather than by column: until a second revision exists they are what `tables.py` says.
"""

from __future__ import annotations

from alembic import op

from web.store.tables import META

revision = "0001"
down_revision = None

FIRST = (
    *("scenarios", "plans", "in_force", "jobs", "entries", "uploads"),
    *("answers", "people", "sessions", "guesses", "deeds"),
)


def upgrade() -> None:
    """Make them."""
    META.create_all(op.get_bind(), tables=[META.tables[name] for name in FIRST])
