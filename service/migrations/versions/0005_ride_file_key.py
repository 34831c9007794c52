"""A secret of each workshop, with which the hashes of its ride files are made."""

import secrets

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Adds the column; every workshop that is there gets a secret of its own."""
    with op.batch_alter_table("workshop") as batch:
        batch.add_column(sa.Column("file_key", sa.String()))
    workshop = sa.table("workshop", sa.column("id"), sa.column("file_key"))
    connection = op.get_bind()
    for (row_id,) in connection.execute(sa.select(workshop.c.id)).all():
        change = workshop.update().where(workshop.c.id == row_id).values(file_key=secrets.token_hex(32))
        connection.execute(change)
    with op.batch_alter_table("workshop") as batch:
        batch.alter_column("file_key", existing_type=sa.String(), nullable=False)


def downgrade() -> None:
    """Not offered: the copy made before a migration is the way back."""
    raise NotImplementedError("Put the copy back that was made before this migration.")
