"""Runs the migrations on the connection that `web.store.database` hands over."""

from __future__ import annotations

from alembic import context

from web.store.tables import META

context.configure(connection=context.config.attributes["connection"], target_metadata=META, render_as_batch=True)
with context.begin_transaction():
    context.run_migrations()
