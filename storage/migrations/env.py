"""Run by Alembic: applies migrations on the connection and in the transaction of ``Store.upgrade``."""

from __future__ import annotations

from alembic import context
from sqlalchemy import text

from storage.models import metadata

UPGRADE_LOCK = 7_455_311
"""Any number, the same in every process: two workers that start at once upgrade one after the other."""

connection = context.config.attributes["connection"]
if connection.dialect.name == "postgresql":
    connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": UPGRADE_LOCK})
context.configure(connection=connection, target_metadata=metadata, render_as_batch=True)
with context.begin_transaction():
    context.run_migrations()
