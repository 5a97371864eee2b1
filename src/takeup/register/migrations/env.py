"""Alembic's environment: migrates over the connection that the store hands it."""

from alembic import context

from takeup.register.schema import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    render_as_batch=True,
    compare_type=True,
)
with context.begin_transaction():
    context.run_migrations()
