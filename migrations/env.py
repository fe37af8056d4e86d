"""Runs the revisions on the connection it is handed; see app/store/migrating.py."""

from alembic import context

import app.store.models  # noqa: F401 - makes every table known for comparing
from app.store.base import Base

connection = context.config.attributes["connection"]
context.configure(
    connection=connection,
    target_metadata=Base.metadata,
    render_as_batch=True,
    transactional_ddl=False,  # the caller holds the one transaction
    compare_type=True,
)
context.run_migrations()
