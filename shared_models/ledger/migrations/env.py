"""Run by Alembic inside the transaction that ``schema.upgrade`` has opened.

There is no ini file: the connection and the side come as attributes of the
configuration.  Nothing is committed here; the caller commits all or nothing.
"""

from alembic import context

from shared_models.ledger.tables import metadata_of

attributes = context.config.attributes
context.configure(
    connection=attributes["connection"],
    target_metadata=metadata_of(attributes["side"]),
    render_as_batch=True,
    compare_type=True,
)
with context.begin_transaction():
    context.run_migrations()
