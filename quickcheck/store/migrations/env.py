"""Alembic runs this file for every command; the connection comes from `quickcheck.store.schema`.

The transaction is the caller's, so that a migration is done as a whole or not at all.
"""

from alembic import context

from quickcheck.store.tables import Row

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Row.metadata,
    render_as_batch=True,  # SQLite can't alter a column in place
    compare_type=True,
)
with context.begin_transaction():
    context.run_migrations()
