"""Runs the steps on the connection, and in the transaction, of whoever opened the ledger."""

from __future__ import annotations

from alembic import context

context.configure(
    connection=context.config.attributes["connection"],
    transactional_ddl=True,  # SQLite can, where the driver leaves BEGIN to us
)
context.run_migrations()
