"""How Alembic runs the steps: on the connection it is given, inside the transaction already begun there."""

from alembic import context
from sqlmodel import SQLModel

from intake.records import tables  # noqa: F401  (fills SQLModel.metadata)

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=SQLModel.metadata,
    render_as_batch=True,
)
context.run_migrations()
