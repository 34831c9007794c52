"""Runs the migrations on the connection that it is handed, in its transaction; used by `Database.migrate` alone."""

from typing import Any, Literal

from alembic import context
from alembic.autogenerate.api import AutogenContext
from sqlalchemy.types import TypeDecorator
from sqlmodel import SQLModel

import service.tables

# A rebuilt table keeps the names of its constraints only where they follow this convention from the first migration on.
TARGET = SQLModel.metadata


def plain_type(kind: str, item: Any, _context: AutogenContext) -> str | Literal[False]:
    """Writes SQLAlchemy's own types, so that no migration needs the tables or SQLModel of another day."""
    if kind != "type" or not isinstance(item, TypeDecorator):
        return False
    return "sa." + repr(item.impl)


def run() -> None:
    """Upgrades or compares on the connection of the configuration."""
    context.configure(
        connection=context.config.attributes["connection"],
        target_metadata=TARGET,
        render_as_batch=True,
        render_item=plain_type,
        transactional_ddl=True,
        compare_type=True,
    )
    with context.begin_transaction():
        context.run_migrations()


assert service.tables.__all__  # noqa: S101 - importing them is what fills TARGET
run()
