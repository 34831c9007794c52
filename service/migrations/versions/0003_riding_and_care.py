"""Rides, odometer readings, maintenance, wear and what is due."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Makes the tables."""
    _odometer_reading()
    _put_off()
    _reminder()
    _ride()
    _service_rule()
    _maintenance_event()
    _event_task()
    _wear_measurement()


def downgrade() -> None:
    """Not offered: the copy made before a migration is the way back."""
    raise NotImplementedError("Put the copy back that was made before this migration.")


def _odometer_reading() -> None:
    op.create_table(
        "odometer_reading",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("build_id", sa.Uuid(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("metres", sa.Integer(), nullable=False),
        sa.Column("restarts", sa.Boolean(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("metres >= 0", name=op.f("ck_odometer_reading_metres_not_negative")),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name=op.f("fk_odometer_reading_build_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_odometer_reading")),
        sa.UniqueConstraint("build_id", "at", name=op.f("uq_odometer_reading_build_id_at")),
    )


def _put_off() -> None:
    op.create_table(
        "put_off",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("build_id", sa.Uuid()),
        sa.Column("part_id", sa.Uuid()),
        sa.Column("task", sa.String(), nullable=False),
        sa.Column("until_on", sa.Date()),
        sa.Column("until_metres", sa.Integer()),
        sa.Column("reason", sa.String(), nullable=False),
        sa.CheckConstraint("(build_id IS NULL) <> (part_id IS NULL)", name=op.f("ck_put_off_one_build_id_or_part_id")),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name=op.f("fk_put_off_build_id"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_put_off_part_id"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_put_off")),
    )
    op.create_index(
        "once_put_off_build",
        "put_off",
        ["build_id", "task"],
        unique=True,
        sqlite_where=sa.text("build_id IS NOT NULL"),
        postgresql_where=sa.text("build_id IS NOT NULL"),
    )
    op.create_index(
        "once_put_off_part",
        "put_off",
        ["part_id", "task"],
        unique=True,
        sqlite_where=sa.text("part_id IS NOT NULL"),
        postgresql_where=sa.text("part_id IS NOT NULL"),
    )


def _reminder() -> None:
    op.create_table(
        "reminder",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("channel_id", sa.Uuid(), nullable=False),
        sa.Column("build_id", sa.Uuid()),
        sa.Column("part_id", sa.Uuid()),
        sa.Column("task", sa.String(), nullable=False),
        sa.Column("cycle", sa.String(), nullable=False),
        sa.Column("leased_until", sa.DateTime(timezone=True)),
        sa.Column("sent_at", sa.DateTime(timezone=True)),
        sa.Column("message_id", sa.String(), nullable=False),
        sa.CheckConstraint("(build_id IS NULL) <> (part_id IS NULL)", name=op.f("ck_reminder_one_build_id_or_part_id")),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name=op.f("fk_reminder_build_id"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(
            ["channel_id"], ["channel.id"], name=op.f("fk_reminder_channel_id"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_reminder_part_id"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reminder")),
    )
    op.create_index(
        "once_reminder_build",
        "reminder",
        ["channel_id", "build_id", "task", "cycle"],
        unique=True,
        sqlite_where=sa.text("build_id IS NOT NULL"),
        postgresql_where=sa.text("build_id IS NOT NULL"),
    )
    op.create_index(
        "once_reminder_part",
        "reminder",
        ["channel_id", "part_id", "task", "cycle"],
        unique=True,
        sqlite_where=sa.text("part_id IS NOT NULL"),
        postgresql_where=sa.text("part_id IS NOT NULL"),
    )


def _ride() -> None:
    op.create_table(
        "ride",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("build_id", sa.Uuid(), nullable=False),
        sa.Column("person_id", sa.Uuid()),
        sa.Column("started_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("metres", sa.Integer(), nullable=False),
        sa.Column("moving_s", sa.Integer()),
        sa.Column("climb_m", sa.Integer()),
        sa.Column(
            "conditions",
            sa.Enum(
                "dry",
                "dusty",
                "wet",
                "gritty",
                "salted",
                "indoor",
                "roller",
                name="conditions",
                native_enum=False,
                create_constraint=True,
                length=24,
            ),
            nullable=False,
        ),
        sa.Column("loaded", sa.Boolean(), nullable=False),
        sa.Column("descents", sa.Boolean(), nullable=False),
        sa.Column(
            "source",
            sa.Enum(
                "hand", "gpx", "csv", "import", name="source", native_enum=False, create_constraint=True, length=24
            ),
            nullable=False,
        ),
        sa.Column("file_hash", sa.String()),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.CheckConstraint("metres > 0", name=op.f("ck_ride_metres_positive")),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name=op.f("fk_ride_build_id")),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_ride_person_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ride")),
    )
    op.create_index("ix_ride_span", "ride", ["build_id", "started_at", "metres", "conditions", "loaded", "descents"])
    op.create_index(
        "once_ride_file",
        "ride",
        ["build_id", "file_hash"],
        unique=True,
        sqlite_where=sa.text("file_hash IS NOT NULL"),
        postgresql_where=sa.text("file_hash IS NOT NULL"),
    )


def _service_rule() -> None:
    op.create_table(
        "service_rule",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("build_id", sa.Uuid()),
        sa.Column("part_id", sa.Uuid()),
        sa.Column("task", sa.String(), nullable=False),
        sa.Column("off", sa.Boolean(), nullable=False),
        sa.Column("metres", sa.Integer()),
        sa.Column("days", sa.Integer()),
        sa.Column("hours", sa.Float()),
        sa.Column("limit_reading", sa.Float()),
        sa.Column("reason", sa.String(), nullable=False),
        sa.CheckConstraint(
            "(build_id IS NULL) <> (part_id IS NULL)", name=op.f("ck_service_rule_one_build_id_or_part_id")
        ),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name=op.f("fk_service_rule_build_id"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_service_rule_part_id"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_service_rule")),
    )
    op.create_index(
        "once_service_rule_build",
        "service_rule",
        ["build_id", "task"],
        unique=True,
        sqlite_where=sa.text("build_id IS NOT NULL"),
        postgresql_where=sa.text("build_id IS NOT NULL"),
    )
    op.create_index(
        "once_service_rule_part",
        "service_rule",
        ["part_id", "task"],
        unique=True,
        sqlite_where=sa.text("part_id IS NOT NULL"),
        postgresql_where=sa.text("part_id IS NOT NULL"),
    )


def _maintenance_event() -> None:
    op.create_table(
        "maintenance_event",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("part_id", sa.Uuid()),
        sa.Column("build_id", sa.Uuid()),
        sa.Column(
            "kind",
            sa.Enum(
                "inspected",
                "adjusted",
                "tightened",
                "cleaned",
                "lubricated",
                "renewed",
                "trued",
                "overhauled",
                "repaired",
                "crashed",
                "put away",
                "woken",
                "travelled",
                name="kind",
                native_enum=False,
                create_constraint=True,
                length=24,
            ),
            nullable=False,
        ),
        sa.Column(
            "found",
            sa.Enum("fine", "worn", "damaged", name="found", native_enum=False, create_constraint=True, length=24),
        ),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("by_id", sa.Uuid()),
        sa.Column("by_shop", sa.Boolean(), nullable=False),
        sa.Column("checklist_id", sa.Uuid()),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.CheckConstraint(
            "kind NOT IN ('crashed', 'put away', 'woken', 'travelled') OR (build_id IS NOT NULL AND part_id IS NULL)",
            name=op.f("ck_maintenance_event_only_a_build"),
        ),
        sa.CheckConstraint(
            "part_id IS NOT NULL OR build_id IS NOT NULL", name=op.f("ck_maintenance_event_about_something")
        ),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name=op.f("fk_maintenance_event_build_id")),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_maintenance_event_by_id")),
        sa.ForeignKeyConstraint(["checklist_id"], ["checklist.id"], name=op.f("fk_maintenance_event_checklist_id")),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_maintenance_event_part_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_maintenance_event")),
    )
    op.create_index("ix_maintenance_event_build", "maintenance_event", ["build_id", "at"])
    op.create_index(op.f("ix_maintenance_event_checklist_id"), "maintenance_event", ["checklist_id"])
    op.create_index("ix_maintenance_event_part", "maintenance_event", ["part_id", "at"])


def _event_task() -> None:
    op.create_table(
        "event_task",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("event_id", sa.Uuid(), nullable=False),
        sa.Column("build_id", sa.Uuid()),
        sa.Column("part_id", sa.Uuid()),
        sa.Column("task", sa.String(), nullable=False),
        sa.CheckConstraint(
            "(build_id IS NULL) <> (part_id IS NULL)", name=op.f("ck_event_task_one_build_id_or_part_id")
        ),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name=op.f("fk_event_task_build_id")),
        sa.ForeignKeyConstraint(
            ["event_id"], ["maintenance_event.id"], name=op.f("fk_event_task_event_id"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_event_task_part_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_event_task")),
    )
    op.create_index(op.f("ix_event_task_build_id"), "event_task", ["build_id"])
    op.create_index(op.f("ix_event_task_event_id"), "event_task", ["event_id"])
    op.create_index(op.f("ix_event_task_part_id"), "event_task", ["part_id"])
    op.create_index(
        "once_event_task_build",
        "event_task",
        ["event_id", "build_id", "task"],
        unique=True,
        sqlite_where=sa.text("build_id IS NOT NULL"),
        postgresql_where=sa.text("build_id IS NOT NULL"),
    )
    op.create_index(
        "once_event_task_part",
        "event_task",
        ["event_id", "part_id", "task"],
        unique=True,
        sqlite_where=sa.text("part_id IS NOT NULL"),
        postgresql_where=sa.text("part_id IS NOT NULL"),
    )


def _wear_measurement() -> None:
    op.create_table(
        "wear_measurement",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("part_id", sa.Uuid(), nullable=False),
        sa.Column("dimension", sa.String(), nullable=False),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("low", sa.Float(), nullable=False),
        sa.Column("high", sa.Float()),
        sa.Column("tool", sa.String()),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("event_id", sa.Uuid()),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.CheckConstraint("high IS NULL OR low <= high", name=op.f("ck_wear_measurement_low_to_high")),
        sa.ForeignKeyConstraint(
            ["event_id"], ["maintenance_event.id"], name=op.f("fk_wear_measurement_event_id"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_wear_measurement_part_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_wear_measurement")),
    )
    op.create_index(op.f("ix_wear_measurement_event_id"), "wear_measurement", ["event_id"])
    op.create_index("ix_wear_measurement_part", "wear_measurement", ["part_id", "dimension", "at"])
