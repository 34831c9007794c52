"""What builds and parts are called, for pages that name them by the way."""

from collections.abc import Iterable
from uuid import UUID

from sqlalchemy import select
from sqlmodel import Session, col

from service.records.people import Who
from service.tables import Build


def build_names(session: Session, who: Who, build_ids: Iterable[UUID]) -> dict[UUID, str]:
    """The names of those of these builds that belong to this workshop."""
    mine = (col(Build.id).in_(list(build_ids)), col(Build.workshop_id) == who.workshop_id)
    return {row[0]: row[1] for row in session.execute(select(col(Build.id), col(Build.name)).where(*mine))}
