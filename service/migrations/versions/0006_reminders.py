"""What is sent as a reminder: messages in an outbox, the things they say, and how a channel is doing."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

KINDS = ("weekly", "at once", "trial")


def upgrade() -> None:
    """Nothing was ever sent before: the table of reminders is made anew, beside the messages that hold them."""
    op.drop_table("reminder")
    with op.batch_alter_table("channel") as batch:
        batch.add_column(sa.Column("planned_on", sa.Date()))
        batch.add_column(sa.Column("made_at", sa.DateTime(timezone=True)))
        batch.add_column(sa.Column("last_error", sa.String()))
        batch.add_column(sa.Column("sent_at", sa.DateTime(timezone=True)))
        batch.add_column(sa.Column("version", sa.Integer(), server_default="1"))
    op.execute("UPDATE channel SET made_at = CURRENT_TIMESTAMP, version = 1")
    with op.batch_alter_table("channel") as batch:
        batch.alter_column("made_at", existing_type=sa.DateTime(timezone=True), nullable=False)
        batch.alter_column("version", existing_type=sa.Integer(), nullable=False, server_default=None)
    _message()
    _reminder()


def _kind() -> sa.Column[str]:
    kinds = sa.Enum(*KINDS, name="kind", native_enum=False, create_constraint=True, length=24)
    return sa.Column("kind", kinds, nullable=False)


def _message() -> None:
    waiting = sa.text("sent_at IS NULL")
    op.create_table(
        "message",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("channel_id", sa.Uuid(), nullable=False),
        _kind(),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("text", sa.String(), nullable=False),
        sa.Column("body", sa.String(), nullable=False),
        sa.Column("claim", sa.Uuid()),
        sa.Column("leased_until", sa.DateTime(timezone=True)),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("next_try_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("last_error", sa.String()),
        sa.Column("sent_at", sa.DateTime(timezone=True)),
        sa.ForeignKeyConstraint(["channel_id"], ["channel.id"], name=op.f("fk_message_channel_id"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_message")),
    )
    op.create_index(op.f("ix_message_channel_id"), "message", ["channel_id"])
    op.create_index("ix_message_waiting", "message", ["next_try_at"], sqlite_where=waiting, postgresql_where=waiting)


def _reminder() -> None:
    op.create_table(
        "reminder",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("channel_id", sa.Uuid(), nullable=False),
        sa.Column("message_id", sa.Uuid(), nullable=False),
        sa.Column("build_id", sa.Uuid()),
        sa.Column("part_id", sa.Uuid()),
        sa.Column("task", sa.String(), nullable=False),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("cycle", sa.String(), nullable=False),
        _kind(),
        sa.CheckConstraint("(build_id IS NULL) <> (part_id IS NULL)", name=op.f("ck_reminder_one_build_id_or_part_id")),
        *(
            sa.ForeignKeyConstraint(
                [f"{table}_id"], [f"{table}.id"], name=op.f(f"fk_reminder_{table}_id"), ondelete="CASCADE"
            )
            for table in ("build", "channel", "message", "part")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reminder")),
    )
    op.create_index(op.f("ix_reminder_message_id"), "reminder", ["message_id"])
    for subject in ("build", "part"):
        where = sa.text(f"{subject}_id IS NOT NULL")
        op.create_index(
            f"once_reminder_{subject}",
            "reminder",
            ["channel_id", "kind", "task", "place", "cycle", f"{subject}_id"],
            unique=True,
            sqlite_where=where,
            postgresql_where=where,
        )


def downgrade() -> None:
    """Not offered: the copy made before a migration is the way back."""
    raise NotImplementedError("Put the copy back that was made before this migration.")
