"""Workshop, people, devices, journal, bench and parts."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Makes the tables."""
    _journal()
    _person()
    _workshop()
    _channel()
    _device()
    _member()
    _owned_tool()
    _part()
    _sign_in()
    _wrench()
    _spec()
    _torque_figure()


def downgrade() -> None:
    """Not offered: the copy made before a migration is the way back."""
    raise NotImplementedError("Put the copy back that was made before this migration.")


def _journal() -> None:
    op.create_table(
        "journal",
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("workshop_id", sa.Uuid()),
        sa.Column("by_id", sa.Uuid()),
        sa.Column("device_id", sa.Uuid()),
        sa.Column("request_id", sa.String(), nullable=False),
        sa.Column(
            "verb",
            sa.Enum("added", "changed", "removed", name="verb", native_enum=False, create_constraint=True, length=24),
            nullable=False,
        ),
        sa.Column("noun", sa.String(), nullable=False),
        sa.Column("row_id", sa.String(), nullable=False),
        sa.Column("before", sa.JSON(none_as_null=True)),
        sa.Column("after", sa.JSON(none_as_null=True)),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_journal")),
    )
    op.create_index("ix_journal_request", "journal", ["request_id"])
    op.create_index("ix_journal_row", "journal", ["noun", "row_id", "id"])
    op.create_index("ix_journal_workshop", "journal", ["workshop_id", "id"])


def _person() -> None:
    op.create_table(
        "person",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("weekly_metres", sa.Integer()),
        sa.Column("left_at", sa.DateTime(timezone=True)),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_person")),
    )


def _workshop() -> None:
    op.create_table(
        "workshop",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("time_zone", sa.String(), nullable=False),
        sa.Column("currency", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_workshop")),
    )


def _channel() -> None:
    op.create_table(
        "channel",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("person_id", sa.Uuid(), nullable=False),
        sa.Column(
            "kind",
            sa.Enum("mail", "webhook", name="kind", native_enum=False, create_constraint=True, length=24),
            nullable=False,
        ),
        sa.Column("address", sa.String(), nullable=False),
        sa.Column("signing_key", sa.String()),
        sa.Column("weekly_on", sa.Integer(), nullable=False),
        sa.Column("off_at", sa.DateTime(timezone=True)),
        sa.Column("failing_since", sa.DateTime(timezone=True)),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_channel_person_id"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_channel")),
    )
    op.create_index(op.f("ix_channel_person_id"), "channel", ["person_id"])


def _device() -> None:
    op.create_table(
        "device",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("person_id", sa.Uuid(), nullable=False),
        sa.Column("title", sa.String(), nullable=False),
        sa.Column(
            "kind",
            sa.Enum("browser", "token", "calendar", name="kind", native_enum=False, create_constraint=True, length=24),
            nullable=False,
        ),
        sa.Column(
            "may",
            sa.Enum("read", "work", "own", name="may", native_enum=False, create_constraint=True, length=24),
            nullable=False,
        ),
        sa.Column("secret_hash", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("seen_on", sa.Date()),
        sa.Column("expires_at", sa.DateTime(timezone=True)),
        sa.Column("revoked_at", sa.DateTime(timezone=True)),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_device_person_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_device")),
        sa.UniqueConstraint("secret_hash", name=op.f("uq_device_secret_hash")),
    )
    op.create_index(op.f("ix_device_person_id"), "device", ["person_id"])


def _member() -> None:
    op.create_table(
        "member",
        sa.Column("workshop_id", sa.Uuid(), nullable=False),
        sa.Column("person_id", sa.Uuid(), nullable=False),
        sa.Column(
            "may",
            sa.Enum("read", "work", "own", name="may", native_enum=False, create_constraint=True, length=24),
            nullable=False,
        ),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_member_person_id")),
        sa.ForeignKeyConstraint(["workshop_id"], ["workshop.id"], name=op.f("fk_member_workshop_id")),
        sa.PrimaryKeyConstraint("workshop_id", "person_id", name=op.f("pk_member")),
    )
    op.create_index(op.f("ix_member_person_id"), "member", ["person_id"])


def _owned_tool() -> None:
    op.create_table(
        "owned_tool",
        sa.Column("workshop_id", sa.Uuid(), nullable=False),
        sa.Column("tool", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["workshop_id"], ["workshop.id"], name=op.f("fk_owned_tool_workshop_id")),
        sa.PrimaryKeyConstraint("workshop_id", "tool", name=op.f("pk_owned_tool")),
    )


def _part() -> None:
    op.create_table(
        "part",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("workshop_id", sa.Uuid(), nullable=False),
        sa.Column("category", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("tag", sa.String()),
        sa.Column(
            "origin",
            sa.Enum(
                "new",
                "second-hand",
                "owned",
                "came fitted",
                name="origin",
                native_enum=False,
                create_constraint=True,
                length=24,
            ),
            nullable=False,
        ),
        sa.Column(
            "state",
            sa.Enum(
                "planned",
                "ordered",
                "in hand",
                "gone",
                name="state",
                native_enum=False,
                create_constraint=True,
                length=24,
            ),
            nullable=False,
        ),
        sa.Column("expected_on", sa.Date()),
        sa.Column("gone_on", sa.Date()),
        sa.Column("gone_how", sa.String()),
        sa.Column("pieces", sa.Integer(), nullable=False),
        sa.Column("metres_before", sa.Integer()),
        sa.Column("made_on", sa.Date()),
        sa.Column("price_minor", sa.Integer()),
        sa.Column("price_new_minor", sa.Integer()),
        sa.Column("mass_claimed_g", sa.Float()),
        sa.Column("mass_weighed_g", sa.Float()),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("changed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.CheckConstraint("(state = 'gone') = (gone_on IS NOT NULL)", name=op.f("ck_part_gone_has_a_day")),
        sa.CheckConstraint("pieces >= 1", name=op.f("ck_part_pieces_at_least_one")),
        sa.ForeignKeyConstraint(["workshop_id"], ["workshop.id"], name=op.f("fk_part_workshop_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_part")),
    )
    op.create_index("ix_part_category", "part", ["workshop_id", "category", "state", "id"])
    op.create_index(
        "once_part_tag",
        "part",
        ["workshop_id", "tag"],
        unique=True,
        sqlite_where=sa.text("tag IS NOT NULL"),
        postgresql_where=sa.text("tag IS NOT NULL"),
    )


def _sign_in() -> None:
    op.create_table(
        "sign_in",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("person_id", sa.Uuid(), nullable=False),
        sa.Column("secret_hash", sa.String(), nullable=False),
        sa.Column("expires_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("used_at", sa.DateTime(timezone=True)),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_sign_in_person_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sign_in")),
        sa.UniqueConstraint("secret_hash", name=op.f("uq_sign_in_secret_hash")),
    )
    op.create_index(op.f("ix_sign_in_person_id"), "sign_in", ["person_id"])


def _wrench() -> None:
    op.create_table(
        "wrench",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("workshop_id", sa.Uuid(), nullable=False),
        sa.Column("title", sa.String(), nullable=False),
        sa.Column("low_nm", sa.Float(), nullable=False),
        sa.Column("high_nm", sa.Float(), nullable=False),
        sa.Column("tolerance_percent", sa.Float(), nullable=False),
        sa.Column("checked_on", sa.Date()),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("0 < low_nm AND low_nm < high_nm", name=op.f("ck_wrench_low_to_high")),
        sa.ForeignKeyConstraint(["workshop_id"], ["workshop.id"], name=op.f("fk_wrench_workshop_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_wrench")),
    )
    op.create_index(op.f("ix_wrench_workshop_id"), "wrench", ["workshop_id"])


def _spec() -> None:
    op.create_table(
        "spec",
        sa.Column("part_id", sa.Uuid(), nullable=False),
        sa.Column("field", sa.String(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("number", sa.Float()),
        sa.Column("words", sa.String()),
        sa.Column(
            "known_by",
            sa.Enum(
                "measured",
                "printed",
                "maker",
                "guessed",
                name="known_by",
                native_enum=False,
                create_constraint=True,
                length=24,
            ),
            nullable=False,
        ),
        sa.Column("note", sa.String(), nullable=False),
        sa.CheckConstraint("(number IS NULL) <> (words IS NULL)", name=op.f("ck_spec_one_number_or_words")),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_spec_part_id"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("part_id", "field", "position", name=op.f("pk_spec")),
    )
    op.create_index("ix_spec_number", "spec", ["field", "number"])
    op.create_index("ix_spec_words", "spec", ["field", "words"])


def _torque_figure() -> None:
    op.create_table(
        "torque_figure",
        sa.Column("part_id", sa.Uuid(), nullable=False),
        sa.Column("fastening", sa.String(), nullable=False),
        sa.Column("low_nm", sa.Float()),
        sa.Column("high_nm", sa.Float(), nullable=False),
        sa.Column("as_printed", sa.String(), nullable=False),
        sa.Column("dressing", sa.String()),
        sa.CheckConstraint(
            "high_nm > 0 AND (low_nm IS NULL OR (low_nm > 0 AND low_nm <= high_nm))",
            name=op.f("ck_torque_figure_low_to_high"),
        ),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_torque_figure_part_id"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("part_id", "fastening", name=op.f("pk_torque_figure")),
    )
