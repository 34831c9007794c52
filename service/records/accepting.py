"""Findings accepted with a reason, and taken back."""

from datetime import datetime
from uuid import UUID

from sqlalchemy import select
from sqlmodel import Session, col

from service.domain.accepting import finding_named, to_accept
from service.domain.joins import Finding, findings
from service.domain.procedure import Library
from service.errors import NotFound
from service.records.bicycle import load
from service.records.lock import take_build
from service.records.people import Who
from service.schemas.builds import AcceptanceSent
from service.tables import Acceptance


def accept(
    session: Session, who: Who, build_id: UUID, join: str, sent: AcceptanceSent, *, library: Library, now: datetime
) -> Finding:
    """Accepts a conflict for the parts and facts that the client saw; again with another reason replaces the reason.

    Raises NotFound, PartsChanged, Conflict as `domain.accepting.to_accept`.
    """
    take_build(session, who, build_id)
    found = to_accept(findings(load(session, who, build_id, library, with_log=False), library), join, sent.fingerprint)
    row = session.get(Acceptance, (build_id, join, found.fingerprint), populate_existing=True)
    if row is None:
        row = Acceptance(
            build_id=build_id, join=join, fingerprint=found.fingerprint, finding=found.say, reason=sent.reason, at=now
        )
        session.add(row)
    if row.reason != sent.reason:
        row.at = now
    row.reason, row.finding, row.by_id = sent.reason, found.say, who.person_id
    session.flush()
    return finding_named(findings(load(session, who, build_id, library, with_log=False), library), join)


def take_back(session: Session, who: Who, build_id: UUID, join: str) -> None:
    """The conflict stands again, whatever parts and facts it was accepted for. Raises NotFound."""
    take_build(session, who, build_id)
    mine = (col(Acceptance.build_id) == build_id) & (col(Acceptance.join) == join)
    rows = session.execute(select(Acceptance).where(mine)).scalars().all()
    if not rows:
        raise NotFound("acceptance of", join)
    for row in rows:
        session.delete(row)
    session.flush()
