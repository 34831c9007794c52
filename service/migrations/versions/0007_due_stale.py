"""Whether the sort columns of a build are out of date, and what finds those that are."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Adds the column; every build that is there counts as out of date, so that the next lists set it right."""
    with op.batch_alter_table("build") as batch:
        batch.add_column(sa.Column("due_stale", sa.Boolean()))
    build = sa.table("build", sa.column("due_stale", sa.Boolean()))
    op.get_bind().execute(build.update().values(due_stale=True))
    with op.batch_alter_table("build") as batch:
        batch.alter_column("due_stale", existing_type=sa.Boolean(), nullable=False)
    op.create_index(
        "ix_build_stale",
        "build",
        ["workshop_id", "changed_at"],
        sqlite_where=sa.text("due_stale = 1"),
        postgresql_where=sa.text("due_stale"),
    )


def downgrade() -> None:
    """Not offered: the copy made before a migration is the way back."""
    raise NotImplementedError("Put the copy back that was made before this migration.")
