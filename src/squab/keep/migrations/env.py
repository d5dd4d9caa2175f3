"""Run by Alembic: migrations within the transaction that the caller has begun."""

from alembic import context

context.configure(connection=context.config.attributes["connection"], transactional_ddl=True)
context.run_migrations()
