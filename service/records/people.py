"""People and what signs them in: the workshop and its owner, sign-in links, browsers and tokens."""

import hashlib
import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, Literal, cast
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import case, column, or_, select, table, update
from sqlmodel import Session, col

from service.errors import Conflict, Forbidden, LinkSpent, NotFound, Stale
from service.ids import new_id
from service.tables import Build, Device, Expense, Member, Part, Person, SignIn, Workshop

May = Literal["read", "work", "own"]
ORDER: tuple[May, ...] = ("read", "work", "own")
LINK_LIFE = timedelta(minutes=15)
BROWSER_LIFE = timedelta(days=90)


@dataclass(frozen=True, slots=True)
class Who:
    """Who asks: a person in a workshop, by which device, and what both together may.

    `weekly_metres`: what they say they ride, for as long as a bicycle's rides do not tell.
    """

    person_id: UUID
    workshop_id: UUID
    device_id: UUID | None
    may: May
    time_zone: str = "UTC"
    currency: str = "EUR"
    weekly_metres: int | None = None

    def check_may(self, least: May) -> None:
        """Raises Forbidden where less is allowed than `least`: read, then work, then own."""
        if ORDER.index(self.may) < ORDER.index(least):
            raise Forbidden(f"This needs the right to {least}; you may {self.may}. Ask an owner of the workshop.")

    def today(self, now: datetime) -> date:
        """The workshop's day at this instant."""
        return now.astimezone(ZoneInfo(self.time_zone)).date()


def open_workshop(
    session: Session, *, time_zone: str, currency: str, name: str = "Workshop", owner: str = "Owner"
) -> Who:
    """The owner of the workshop; makes both where there are none yet."""
    # Two processes started at once must not both find nothing: PostgreSQL lets the second wait at this row.
    session.execute(select(column("version_num")).select_from(table("alembic_version")).with_for_update())
    found = first_owner(session)
    if found is not None:
        return found
    workshop = Workshop(id=new_id(), name=name, time_zone=time_zone, currency=currency)
    person = Person(id=new_id(), name=owner)
    session.add_all([workshop, person, Member(workshop_id=workshop.id, person_id=person.id, may="own")])
    session.flush()
    return Who(person.id, workshop.id, None, "own", time_zone, currency)


def first_owner(session: Session) -> Who | None:
    """Whoever has owned a workshop here longest, or None on an empty database."""
    row = session.execute(_members().where(col(Member.may) == "own").order_by(col(Person.id)).limit(1)).first()
    return _who(row) if row else None


def who_is(session: Session, name: str) -> Who:
    """The member of this name. Raises NotFound where nobody has it, Conflict where several have."""
    rows = session.execute(_members().where(col(Person.name) == name).limit(2)).all()
    if not rows:
        raise NotFound("person called", name)
    if len(rows) > 1:
        raise Conflict(f"Several people are called {name}; give one of them another name first.")
    return _who(rows[0])


def _members() -> Any:
    return (
        select(
            *(col(Person.id), col(Member.workshop_id), col(Member.may), col(Workshop.time_zone)),
            *(col(Workshop.currency), col(Person.weekly_metres)),
        )
        .join(Member, col(Member.person_id) == col(Person.id))
        .join(Workshop, col(Workshop.id) == col(Member.workshop_id))
        .where(col(Person.left_at).is_(None))
    )


def _who(row: Any) -> Who:
    return Who(row[0], row[1], None, row[2], row[3], row[4], row[5])


def make_link(session: Session, person_id: UUID, now: datetime) -> str:
    """The secret of a new sign-in link: 256 bits, once, for 15 minutes."""
    secret = secrets.token_urlsafe(32)
    session.add(SignIn(id=new_id(), person_id=person_id, secret_hash=_hash(secret), expires_at=now + LINK_LIFE))
    session.flush()
    return secret


def check_link(session: Session, secret: str, now: datetime) -> None:
    """Raises LinkSpent unless this link would sign somebody in now; spends nothing."""
    if session.scalar(select(col(SignIn.id)).where(*_live(secret, now))) is None:
        raise LinkSpent


def spend_link(session: Session, secret: str, title: str, now: datetime) -> str:
    """Signs a browser in for 90 days from its last day of use; answers its secret.

    One statement decides, so that of two at once one is signed in. Raises LinkSpent for the other.
    """
    spent = update(SignIn).where(*_live(secret, now)).values(used_at=now).returning(col(SignIn.person_id))
    person_id = session.execute(spent.execution_options(synchronize_session=False)).scalar_one_or_none()
    if person_id is None:
        raise LinkSpent
    return add_device(session, person_id, title=title, kind="browser", now=now, life=BROWSER_LIFE)


def _live(secret: str, now: datetime) -> tuple[Any, ...]:
    return col(SignIn.secret_hash) == _hash(secret), col(SignIn.used_at).is_(None), col(SignIn.expires_at) > now


def add_device(
    session: Session,
    person_id: UUID,
    *,
    title: str,
    kind: Literal["browser", "token", "calendar"],
    now: datetime,
    life: timedelta | None = None,
) -> str:
    """A new browser or token of this person; answers its secret, of which only the hash is kept."""
    secret = secrets.token_urlsafe(32)
    session.add(
        Device(
            id=new_id(),
            person_id=person_id,
            title=title,
            kind=kind,
            may="read" if kind == "calendar" else "own",
            secret_hash=_hash(secret),
            made_at=now,
            expires_at=now + life if life else None,
        )
    )
    session.flush()
    return secret


def _hash(secret: str) -> str:
    """SHA-256 is enough: the secret has 256 bits of chance, nothing about it can be guessed slowly or fast."""
    return hashlib.sha256(secret.encode()).hexdigest()


def who_asks(
    session: Session, secret: str, kind: Literal["browser", "token", "calendar"], now: datetime
) -> tuple[Who, bool] | None:
    """Who holds this secret, and whether the device was not yet seen today; None where it opens nothing."""
    row = session.execute(
        _members()
        .add_columns(col(Device.id), col(Device.may), col(Device.seen_on))
        .join(Device, col(Device.person_id) == col(Person.id))
        .where(
            col(Device.secret_hash) == _hash(secret),
            col(Device.kind) == kind,
            col(Device.revoked_at).is_(None),
            or_(col(Device.expires_at).is_(None), col(Device.expires_at) > now),
        )
        .order_by(col(Member.workshop_id))
        .limit(1)
    ).first()
    if row is None:
        return None
    may = cast(May, min(row[2], row[7], key=ORDER.index))
    who = Who(row[0], row[1], row[6], may, row[3], row[4], row[5])
    return who, row[8] != now.date()


def see_device(session: Session, device_id: UUID, now: datetime) -> None:
    """Notes the day of use, and lets a browser's 90 days begin anew: at most one write a day for each device."""
    slid = case((col(Device.kind) == "browser", now + BROWSER_LIFE), else_=col(Device.expires_at))
    seen = update(Device).where(col(Device.id) == device_id, col(Device.revoked_at).is_(None))
    session.execute(seen.values(seen_on=now.date(), expires_at=slid).execution_options(synchronize_session=False))


def workshop_of(session: Session, who: Who) -> Workshop:
    """The workshop that `who` asks in."""
    return session.get_one(Workshop, who.workshop_id)


def person_of(session: Session, who: Who) -> Person:
    """The person who asks."""
    return session.get_one(Person, who.person_id)


def change_me(session: Session, who: Who, weekly_metres: int | None) -> Person:
    """Sets what the person who asks says they ride in a week, whole metres; None takes it back."""
    person = session.get_one(Person, who.person_id, with_for_update=True)
    person.weekly_metres = weekly_metres
    person.version += 1
    session.flush()
    return person


def change_workshop(session: Session, who: Who, changes: Mapping[str, Any], version: int | None) -> Workshop:
    """Sets name, zone or currency. Raises Forbidden unless `who` owns the workshop, Stale for an old version.

    The currency stays once a price is entered: stored amounts would mean other money.
    """
    who.check_may("own")
    workshop = session.get_one(Workshop, who.workshop_id, with_for_update=True)
    if version is not None and version != workshop.version:
        raise Stale(
            f"The workshop was changed since you read version {version}; it is at {workshop.version} now.",
            current={"version": workshop.version},
        )
    if changes.get("currency", workshop.currency) != workshop.currency and _has_prices(session, who):
        raise Conflict(
            f"Prices are entered in {workshop.currency} already; the currency stays.",
            errors=[("/currency", f"should stay {workshop.currency}")],
        )
    workshop.sqlmodel_update(dict(changes))
    workshop.version += 1
    session.flush()
    return workshop


def _has_prices(session: Session, who: Who) -> bool:
    priced = or_(col(Part.price_minor).is_not(None), col(Part.price_new_minor).is_not(None))
    mine = select(col(Part.id)).where(col(Part.workshop_id) == who.workshop_id, priced).limit(1)
    spent = select(col(Expense.id)).join(Build, col(Build.id) == col(Expense.build_id))
    spent = spent.where(col(Build.workshop_id) == who.workshop_id).limit(1)
    return session.scalar(mine) is not None or session.scalar(spent) is not None


def list_devices(session: Session, who: Who) -> Sequence[Device]:
    """What this person is signed in with, oldest first: browsers and tokens that were not revoked."""
    mine = select(Device).where(col(Device.person_id) == who.person_id, col(Device.revoked_at).is_(None))
    return session.scalars(mine.order_by(col(Device.made_at), col(Device.id))).all()


def revoke_device(session: Session, who: Who, device_id: UUID, now: datetime) -> None:
    """Ends a device of this person at once; ending it twice is once. Raises NotFound for anybody else's."""
    device = session.get(Device, device_id)
    if device is None or device.person_id != who.person_id:
        raise NotFound("device", device_id)
    device.revoked_at = device.revoked_at or now
    session.flush()
