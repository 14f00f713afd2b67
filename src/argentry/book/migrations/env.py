"""Run the steps on the connection that `argentry.book.forms` is given, inside its transaction."""

from __future__ import annotations

from alembic import context

context.configure(connection=context.config.attributes["connection"])
context.run_migrations()
