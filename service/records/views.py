"""Answers that are computed from a whole bicycle, and the ETag that says whether they could have changed."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from sqlalchemy import func, select
from sqlmodel import Session, col

from service.domain.joins import Finding, findings
from service.domain.missing import missing_parts
from service.domain.procedure import Library
from service.errors import NotFound
from service.records.bicycle import load
from service.records.care import due_now
from service.records.people import Who
from service.schemas.builds import BuildShown
from service.schemas.showing import show_build
from service.tables import Build, Journal

WORST_FIRST = ("conflicts", "needs care", "not measured yet", "meets")


def build_shown(session: Session, who: Who, build_id: UUID, *, library: Library, now: datetime) -> BuildShown:
    """A build as a client is shown it. Raises NotFound."""
    session.expire_all()
    bicycle = load(session, who, build_id, library)
    return show_build(
        bicycle,
        missing=missing_parts(bicycle, library),
        findings=findings(bicycle, library),
        dues=due_now(bicycle, library, who, now),
        now=now,
    )


def findings_of(session: Session, who: Who, build_id: UUID, library: Library) -> Sequence[Finding]:
    """How the joins of a build stand, conflicts first. Raises NotFound."""
    found = findings(load(session, who, build_id, library), library)
    return sorted(found, key=lambda each: (WORST_FIRST.index(each.answer), each.join))


def tag_of_build(session: Session, who: Who, build_id: UUID, *, library: Library, now: datetime) -> str:
    """The ETag of a computed answer about a build; `version` alone is its first word, which If-Match takes.

    A part may have come from another build, whose rides count for it: so the workshop's last change is in it too.
    Raises NotFound.
    """
    version = session.execute(
        select(col(Build.version)).where(col(Build.id) == build_id, col(Build.workshop_id) == who.workshop_id)
    ).scalar_one_or_none()
    if version is None:
        raise NotFound("build", build_id)
    return tag_of(session, who, version, library=library, now=now)


def tag_of(session: Session, who: Who, version: int, *, library: Library, now: datetime) -> str:
    """The ETag of a computed answer: it changes with the row, the workshop, the library, the day, what one may."""
    last = session.execute(
        select(func.max(col(Journal.id))).where(col(Journal.workshop_id) == who.workshop_id)
    ).scalar()
    return f'"{version}.{last or 0}.{library.digest[:8]}.{who.today(now).isoformat()}.{who.may[0]}"'
