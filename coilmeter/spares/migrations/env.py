"""What alembic runs: the migrations, over the connection that it is handed."""

from __future__ import annotations

from alembic import context

from coilmeter.spares.migrating import VERSION_TABLE

context.configure(
    connection=context.config.attributes["connection"],
    version_table=VERSION_TABLE,
    # Whoever hands the connection has begun a transaction, which holds all of it or nothing.
    transactional_ddl=True,
)
context.run_migrations()
