"""Started jobs, their ticks, what was written down and which torques were used."""

from datetime import datetime
from uuid import UUID

from sqlalchemy import ForeignKeyConstraint, Index
from sqlmodel import Field, SQLModel

from service.tables.columns import choice, key, may_refer, once, refers, rule

JOBS = ("assemble", "replace", "service", "strip", "check")
_MARK = ["mark.checklist_id", "mark.step_id", "mark.fingerprint"]


class Checklist(SQLModel, table=True):
    """A started job on a build."""

    __table_args__ = (
        once("checklist_assemble", "build_id", where="job = 'assemble' AND finished_at IS NULL"),
        Index("ix_checklist_build", "build_id", "started_at"),
    )

    id: UUID = key()
    build_id: UUID = refers("build", cascade=True)
    job: str = Field(sa_type=choice("job", *JOBS))
    about_part_id: UUID | None = may_refer("part", index=True)
    task: str | None = None
    started_at: datetime
    finished_at: datetime | None = None
    by_id: UUID | None = may_refer("person")


class Mark(SQLModel, table=True):
    """A tick or a skip of one step, for exactly these parts; no row where the step is open."""

    checklist_id: UUID = refers("checklist", cascade=True, primary=True)
    step_id: str = Field(primary_key=True)
    fingerprint: str = Field(primary_key=True)
    state: str = Field(sa_type=choice("state", "done", "skipped"))
    at: datetime
    by_id: UUID | None = may_refer("person")
    step_hash: str
    note: str = ""


class StepRecord(SQLModel, table=True):
    """What a step asked to write down and no other table keeps."""

    __tablename__ = "step_record"
    __table_args__ = (
        ForeignKeyConstraint(["checklist_id", "step_id", "fingerprint"], _MARK, ondelete="CASCADE"),
        rule("something_written", "number IS NOT NULL OR words IS NOT NULL"),
    )

    checklist_id: UUID = Field(primary_key=True)
    step_id: str = Field(primary_key=True)
    fingerprint: str = Field(primary_key=True)
    key: str = Field(primary_key=True)
    number: float | None = None
    words: str | None = None


class TorqueReading(SQLModel, table=True):
    """A torque used at one bolt, N·m."""

    __tablename__ = "torque_reading"
    __table_args__ = (
        ForeignKeyConstraint(["checklist_id", "step_id", "fingerprint"], _MARK, ondelete="CASCADE"),
        rule("nm_positive", "nm > 0"),
    )

    checklist_id: UUID = Field(primary_key=True)
    step_id: str = Field(primary_key=True)
    fingerprint: str = Field(primary_key=True)
    fastening: str = Field(primary_key=True)
    bolt: int = Field(primary_key=True)
    nm: float
    wrench_id: UUID | None = may_refer("wrench")
