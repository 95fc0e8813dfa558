"""Alembic's entry: runs the steps on the connection that the store hands over."""

from alembic import context

from reader.catalogue.db.schema import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    transactional_ddl=True,  # SQLite can; a step that fails leaves the old version whole
)
context.run_migrations()  # the store's own transaction holds it
