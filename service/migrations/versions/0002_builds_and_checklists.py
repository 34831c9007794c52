"""Builds, plans, fittings, checklists and their marks."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Makes the tables."""
    _build()
    _acceptance()
    _checklist()
    _expense()
    _fitting()
    _plan()
    _set_up()
    _share()
    _mark()
    _step_record()
    _torque_reading()


def downgrade() -> None:
    """Not offered: the copy made before a migration is the way back."""
    raise NotImplementedError("Put the copy back that was made before this migration.")


def _build() -> None:
    op.create_table(
        "build",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("workshop_id", sa.Uuid(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column(
            "state",
            sa.Enum(
                "planned",
                "assembling",
                "in service",
                "laid up",
                "retired",
                name="state",
                native_enum=False,
                create_constraint=True,
                length=24,
            ),
            nullable=False,
        ),
        sa.Column(
            "use",
            sa.Enum(
                "road race",
                "road",
                "mixed",
                "off-road",
                "town",
                "touring",
                name="use",
                native_enum=False,
                create_constraint=True,
                length=24,
            ),
            nullable=False,
        ),
        sa.Column("motor", sa.Boolean(), nullable=False),
        sa.Column("rider_mass_g", sa.Integer()),
        sa.Column("load_g", sa.Integer()),
        sa.Column(
            "front_brake_hand",
            sa.Enum("left", "right", name="front_brake_hand", native_enum=False, create_constraint=True, length=24),
        ),
        sa.Column("metres_before", sa.Integer(), nullable=False),
        sa.Column("mass_weighed_g", sa.Integer()),
        sa.Column("compare_price_minor", sa.Integer()),
        sa.Column("due_rank", sa.Integer(), nullable=False),
        sa.Column("due_on", sa.Date()),
        sa.Column("due_what", sa.String()),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("changed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["workshop_id"], ["workshop.id"], name=op.f("fk_build_workshop_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_build")),
    )
    op.create_index("ix_build_due", "build", ["workshop_id", "due_rank", "due_on", "id"])
    op.create_index("ix_build_state", "build", ["workshop_id", "state", "name", "id"])


def _acceptance() -> None:
    op.create_table(
        "acceptance",
        sa.Column("build_id", sa.Uuid(), nullable=False),
        sa.Column("join", sa.String(), nullable=False),
        sa.Column("fingerprint", sa.String(), nullable=False),
        sa.Column("finding", sa.String(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("by_id", sa.Uuid()),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name=op.f("fk_acceptance_build_id"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_acceptance_by_id")),
        sa.PrimaryKeyConstraint("build_id", "join", "fingerprint", name=op.f("pk_acceptance")),
    )


def _checklist() -> None:
    op.create_table(
        "checklist",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("build_id", sa.Uuid(), nullable=False),
        sa.Column(
            "job",
            sa.Enum(
                "assemble",
                "replace",
                "service",
                "strip",
                "check",
                name="job",
                native_enum=False,
                create_constraint=True,
                length=24,
            ),
            nullable=False,
        ),
        sa.Column("about_part_id", sa.Uuid()),
        sa.Column("task", sa.String()),
        sa.Column("started_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("finished_at", sa.DateTime(timezone=True)),
        sa.Column("by_id", sa.Uuid()),
        sa.ForeignKeyConstraint(["about_part_id"], ["part.id"], name=op.f("fk_checklist_about_part_id")),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name=op.f("fk_checklist_build_id"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_checklist_by_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_checklist")),
    )
    op.create_index(op.f("ix_checklist_about_part_id"), "checklist", ["about_part_id"])
    op.create_index("ix_checklist_build", "checklist", ["build_id", "started_at"])
    op.create_index(
        "once_checklist_assemble",
        "checklist",
        ["build_id"],
        unique=True,
        sqlite_where=sa.text("job = 'assemble' AND finished_at IS NULL"),
        postgresql_where=sa.text("job = 'assemble' AND finished_at IS NULL"),
    )


def _expense() -> None:
    op.create_table(
        "expense",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("build_id", sa.Uuid(), nullable=False),
        sa.Column(
            "kind",
            sa.Enum(
                "shop",
                "tool",
                "consumable",
                "carriage",
                name="kind",
                native_enum=False,
                create_constraint=True,
                length=24,
            ),
            nullable=False,
        ),
        sa.Column("amount_minor", sa.Integer(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name=op.f("fk_expense_build_id"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_expense")),
    )
    op.create_index(op.f("ix_expense_build_id"), "expense", ["build_id"])


def _fitting() -> None:
    op.create_table(
        "fitting",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("part_id", sa.Uuid(), nullable=False),
        sa.Column("build_id", sa.Uuid()),
        sa.Column("into_part_id", sa.Uuid()),
        sa.Column("slot", sa.String(), nullable=False),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("from_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("to_at", sa.DateTime(timezone=True)),
        sa.Column("why_removed", sa.String()),
        sa.CheckConstraint(
            "(build_id IS NULL) <> (into_part_id IS NULL)", name=op.f("ck_fitting_one_build_id_or_into_part_id")
        ),
        sa.CheckConstraint("into_part_id IS NULL OR into_part_id <> part_id", name=op.f("ck_fitting_not_into_itself")),
        sa.CheckConstraint("to_at IS NULL OR to_at > from_at", name=op.f("ck_fitting_to_after_from")),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name=op.f("fk_fitting_build_id")),
        sa.ForeignKeyConstraint(["into_part_id"], ["part.id"], name=op.f("fk_fitting_into_part_id")),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_fitting_part_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_fitting")),
    )
    op.create_index("ix_fitting_build", "fitting", ["build_id", "from_at"])
    op.create_index("ix_fitting_into", "fitting", ["into_part_id", "from_at"])
    op.create_index("ix_fitting_part", "fitting", ["part_id", "from_at"])
    op.create_index(
        "once_fitting_in_part",
        "fitting",
        ["into_part_id", "slot", "place"],
        unique=True,
        sqlite_where=sa.text("to_at IS NULL AND into_part_id IS NOT NULL"),
        postgresql_where=sa.text("to_at IS NULL AND into_part_id IS NOT NULL"),
    )
    op.create_index(
        "once_fitting_of_part",
        "fitting",
        ["part_id"],
        unique=True,
        sqlite_where=sa.text("to_at IS NULL"),
        postgresql_where=sa.text("to_at IS NULL"),
    )
    op.create_index(
        "once_fitting_on_build",
        "fitting",
        ["build_id", "slot", "place"],
        unique=True,
        sqlite_where=sa.text("to_at IS NULL AND build_id IS NOT NULL"),
        postgresql_where=sa.text("to_at IS NULL AND build_id IS NOT NULL"),
    )


def _plan() -> None:
    op.create_table(
        "plan",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("build_id", sa.Uuid(), nullable=False),
        sa.Column("part_id", sa.Uuid(), nullable=False),
        sa.Column("into_part_id", sa.Uuid()),
        sa.Column("slot", sa.String(), nullable=False),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("chosen", sa.Boolean(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name=op.f("fk_plan_build_id"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["into_part_id"], ["part.id"], name=op.f("fk_plan_into_part_id"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_plan_part_id"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_plan")),
        sa.UniqueConstraint("build_id", "part_id", name=op.f("uq_plan_build_id_part_id")),
    )
    op.create_index(op.f("ix_plan_into_part_id"), "plan", ["into_part_id"])
    op.create_index(op.f("ix_plan_part_id"), "plan", ["part_id"])
    op.create_index(
        "once_plan_in_part",
        "plan",
        ["build_id", "into_part_id", "slot", "place"],
        unique=True,
        sqlite_where=sa.text("chosen AND into_part_id IS NOT NULL"),
        postgresql_where=sa.text("chosen AND into_part_id IS NOT NULL"),
    )
    op.create_index(
        "once_plan_on_build",
        "plan",
        ["build_id", "slot", "place"],
        unique=True,
        sqlite_where=sa.text("chosen AND into_part_id IS NULL"),
        postgresql_where=sa.text("chosen AND into_part_id IS NULL"),
    )


def _set_up() -> None:
    op.create_table(
        "set_up",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("build_id", sa.Uuid(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("front_kpa", sa.Float()),
        sa.Column("rear_kpa", sa.Float()),
        sa.Column("saddle_height_mm", sa.Float()),
        sa.Column("saddle_setback_mm", sa.Float()),
        sa.Column("bar_reach_mm", sa.Float()),
        sa.Column("bar_drop_mm", sa.Float()),
        sa.Column("note", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name=op.f("fk_set_up_build_id"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_set_up")),
    )
    op.create_index("ix_set_up_build", "set_up", ["build_id", "at"])


def _share() -> None:
    op.create_table(
        "share",
        sa.Column("build_id", sa.Uuid(), nullable=False),
        sa.Column("person_id", sa.Uuid(), nullable=False),
        sa.Column(
            "may",
            sa.Enum("read", "work", name="may", native_enum=False, create_constraint=True, length=24),
            nullable=False,
        ),
        sa.Column("since", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name=op.f("fk_share_build_id"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_share_person_id")),
        sa.PrimaryKeyConstraint("build_id", "person_id", name=op.f("pk_share")),
    )
    op.create_index(op.f("ix_share_person_id"), "share", ["person_id"])


def _mark() -> None:
    op.create_table(
        "mark",
        sa.Column("checklist_id", sa.Uuid(), nullable=False),
        sa.Column("step_id", sa.String(), nullable=False),
        sa.Column("fingerprint", sa.String(), nullable=False),
        sa.Column(
            "state",
            sa.Enum("done", "skipped", name="state", native_enum=False, create_constraint=True, length=24),
            nullable=False,
        ),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by_id", sa.Uuid()),
        sa.Column("step_hash", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_mark_by_id")),
        sa.ForeignKeyConstraint(
            ["checklist_id"], ["checklist.id"], name=op.f("fk_mark_checklist_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("checklist_id", "step_id", "fingerprint", name=op.f("pk_mark")),
    )


def _step_record() -> None:
    op.create_table(
        "step_record",
        sa.Column("checklist_id", sa.Uuid(), nullable=False),
        sa.Column("step_id", sa.String(), nullable=False),
        sa.Column("fingerprint", sa.String(), nullable=False),
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("number", sa.Float()),
        sa.Column("words", sa.String()),
        sa.CheckConstraint("number IS NOT NULL OR words IS NOT NULL", name=op.f("ck_step_record_something_written")),
        sa.ForeignKeyConstraint(
            ["checklist_id", "step_id", "fingerprint"],
            ["mark.checklist_id", "mark.step_id", "mark.fingerprint"],
            name=op.f("fk_step_record_checklist_id_step_id_fingerprint"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("checklist_id", "step_id", "fingerprint", "key", name=op.f("pk_step_record")),
    )


def _torque_reading() -> None:
    op.create_table(
        "torque_reading",
        sa.Column("checklist_id", sa.Uuid(), nullable=False),
        sa.Column("step_id", sa.String(), nullable=False),
        sa.Column("fingerprint", sa.String(), nullable=False),
        sa.Column("fastening", sa.String(), nullable=False),
        sa.Column("bolt", sa.Integer(), nullable=False),
        sa.Column("nm", sa.Float(), nullable=False),
        sa.Column("wrench_id", sa.Uuid()),
        sa.CheckConstraint("nm > 0", name=op.f("ck_torque_reading_nm_positive")),
        sa.ForeignKeyConstraint(
            ["checklist_id", "step_id", "fingerprint"],
            ["mark.checklist_id", "mark.step_id", "mark.fingerprint"],
            name=op.f("fk_torque_reading_checklist_id_step_id_fingerprint"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(["wrench_id"], ["wrench.id"], name=op.f("fk_torque_reading_wrench_id")),
        sa.PrimaryKeyConstraint(
            "checklist_id", "step_id", "fingerprint", "fastening", "bolt", name=op.f("pk_torque_reading")
        ),
    )
