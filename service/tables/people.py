"""Workshop, people, who may do what, devices and sign-in links."""

from datetime import date, datetime
from uuid import UUID

from sqlmodel import Field, SQLModel

from service.ids import new_secret
from service.tables.columns import choice, key, refers

MAY = ("read", "work", "own")


class Workshop(SQLModel, table=True):
    """The people, builds, parts and tools that belong together.

    `file_key` makes the hashes of ride files: without it, a hash proves nothing to somebody who holds a file.
    """

    id: UUID = key()
    name: str
    time_zone: str
    currency: str
    version: int = 1
    file_key: str = Field(default_factory=new_secret)


class Person(SQLModel, table=True):
    """Somebody who works or rides; the name goes when they leave, the id stays."""

    id: UUID = key()
    name: str
    weekly_metres: int | None = None
    left_at: datetime | None = None
    version: int = 1

    @property
    def weekly_km(self) -> float | None:
        """What they say they ride in a week, km."""
        return None if self.weekly_metres is None else self.weekly_metres / 1000


class Member(SQLModel, table=True):
    """A person in a workshop."""

    workshop_id: UUID = refers("workshop", primary=True)
    person_id: UUID = refers("person", primary=True, index=True)
    may: str = Field(sa_type=choice("may", *MAY))


class Share(SQLModel, table=True):
    """One build shown to somebody outside its workshop."""

    build_id: UUID = refers("build", cascade=True, primary=True)
    person_id: UUID = refers("person", primary=True, index=True)
    may: str = Field(sa_type=choice("may", "read", "work"))
    since: datetime


class Device(SQLModel, table=True):
    """A browser, a token or a calendar that may ask; only the hash of its secret is kept."""

    id: UUID = key()
    person_id: UUID = refers("person", index=True)
    title: str
    kind: str = Field(sa_type=choice("kind", "browser", "token", "calendar"))
    may: str = Field(sa_type=choice("may", *MAY))
    secret_hash: str = Field(unique=True)
    made_at: datetime
    seen_on: date | None = None
    expires_at: datetime | None = None
    revoked_at: datetime | None = None


class SignIn(SQLModel, table=True):
    """A link that signs one device in, once."""

    __tablename__ = "sign_in"

    id: UUID = key()
    person_id: UUID = refers("person", index=True)
    secret_hash: str = Field(unique=True)
    expires_at: datetime
    used_at: datetime | None = None


class Channel(SQLModel, table=True):
    """Where reminders go."""

    id: UUID = key()
    person_id: UUID = refers("person", cascade=True, index=True)
    kind: str = Field(sa_type=choice("kind", "mail", "webhook"))
    address: str
    signing_key: str | None = None
    weekly_on: int
    """The day of the week of the digest, Monday is 0."""
    planned_on: date | None = None
    """The workshop's day for which the last digest was planned: no day is planned twice."""
    made_at: datetime
    off_at: datetime | None = None
    failing_since: datetime | None = None
    last_error: str | None = None
    sent_at: datetime | None = None
    version: int = 1


__all__ = ["MAY", "Channel", "Device", "Member", "Person", "Share", "SignIn", "Workshop"]
